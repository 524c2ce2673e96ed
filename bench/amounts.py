"""Amounts against two ways of drawing them with NumPy, in the same run, and against the random numbers alone.

    .venv/bin/python -m bench amounts           as a page, with the floors
    .venv/bin/python -m bench.amounts --json    the numbers alone, about two minutes

The plan is a whole published undressing of a full gown ensemble, on the shipped evidence; 200,000 draws, every
parameter draw included, one thread each. The peers (`bench.amounts_peers`) answer the same question with a NumPy
Generator: `beta`, each parameter by `Generator.beta`; `tables`, each from the engine's own inverse tables. Floor: ten
times the first. Times are processor seconds, the best of two, run in turn, so that a busy machine is as unkind to one
as to the other.
"""

from __future__ import annotations

import argparse
import json
import subprocess
import sys
import time
from collections.abc import Callable
from dataclasses import replace
from functools import partial
from typing import Any

import numpy as np

from bench import amounts_peers as peers
from bench.measured import Floor, Measured, Resources, Table, times
from bench.size import Size
from vestry.contact.amounts import Model, stream, warm
from vestry.contact.amounts.engine import engine
from vestry.sequence import Case, Policy, plan_case, recoveries, subject_of_order, subject_of_plan
from vestry.sequence.amounts import Asked, context_of
from vestry.sequence.amounts import amounts as everything
from vestry.trade import load_catalogue, load_evidence, read_order
from vestry.trade.orders import packaged_orders

NAME = "amounts"
ORDER = "cdc-vhf-unstable-n95-gown-doff-2015--with-apron"
DRAWS, SEED, LEVEL, BEST_OF = 200_000, 1, 10.0, 2
FLOOR = 10.0
PANEL_DRAWS, PANEL_MOST = 20_000, 1.5
Answer = tuple[np.ndarray, np.ndarray]


def run(draws: int = DRAWS, best_of: int = BEST_OF) -> dict[str, Any]:
    """All results, as plain JSON."""
    engine_name = warm()
    asked = asked_of(draws)
    model = asked.bound.model
    ways: dict[str, Callable[[], Answer]] = {
        "engine": lambda: _engine(model, draws, "auto"),
        "beta": lambda: _peer(model, draws, partial(peers.beta_draws, model, asked.evidence)),
        "beta-joined": lambda: _peer(model, draws, partial(peers.beta_draws, model, asked.evidence, joined=True)),
        "tables": lambda: _peer(model, draws, partial(peers.table_draws, model)),
        "reference": lambda: _engine(model, draws, "numpy"),
    }
    ways["engine"]()  # compiled once, on the shapes that it will meet
    seconds, answers = timed(ways, best_of)
    numbers = random_numbers(model, draws)
    stream_alone = min(_stream_alone(numbers) for _ in range(best_of + 1))
    return {
        "name": NAME,
        "plan": ORDER,
        "engine": engine_name,
        "draws": draws,
        "operations": len(model.verb),
        "events": len(model.events),
        "surfaces": len(model.surfaces),
        "seconds": seconds,
        "draws-per-second": {name: draws / spent for name, spent in seconds.items()},
        "times-beta": seconds["beta"] / seconds["engine"],
        "times-beta-joined": seconds["beta-joined"] / seconds["engine"],
        "times-tables": seconds["tables"] / seconds["engine"],
        "floor": FLOOR,
        "over-the-floor": seconds["beta"] / seconds["engine"] >= FLOOR,
        "random-numbers": numbers,
        "random-numbers-seconds": stream_alone,
        "random-numbers-share": stream_alone / seconds["engine"],
        "furthest-apart": {
            name: float(np.abs(answers[name][1] - answers["engine"][1]).max()) for name in ("tables", "reference")
        },
        "memory": [{"draws": count, "megabytes": _memory(count)} for count in (draws, 10 * draws)],
    }


def asked_of(draws: int = DRAWS) -> Asked:
    """The question: the whole order, watched and read aloud, on the shipped facts and evidence."""
    catalogue = load_catalogue()
    subject = subject_of_order(read_order(packaged_orders()[ORDER], ORDER), ORDER, catalogue)
    return Asked(subject, load_evidence(), context_of(subject), draws=draws)


def timed(ways: dict[str, Callable[[], Answer]], best_of: int) -> tuple[dict[str, float], dict[str, Answer]]:
    """The best time of each, run in turn, and what each answers."""
    seconds: dict[str, float] = {}
    answers: dict[str, Answer] = {}
    for _ in range(best_of):
        for name, way in ways.items():
            start = time.process_time()
            answers[name] = way()
            spent = time.process_time() - start
            seconds[name] = min(spent, seconds.get(name, spent))
    return seconds, answers


def _engine(model: Model, draws: int, choice: Any) -> Answer:
    rows = len(model.reported)
    total, reached = np.zeros(rows), np.zeros(rows)
    for outcome in stream(model, draws, SEED, choice=choice):
        total += outcome.end.sum(axis=1)
        reached += (outcome.peak >= LEVEL).sum(axis=1)
    return total / draws, reached / draws


def _peer(model: Model, draws: int, draw: Callable[[np.random.Generator], peers.Draw]) -> Answer:
    rng = np.random.default_rng(SEED)
    found = peers.run(model, draws, rng, draw(rng), LEVEL)
    return found.end, found.reached


def random_numbers(model: Model, draws: int) -> int:
    """How many 64-bit numbers of the stream the engine takes for so many draws; for touches of events, as it came."""
    few = 20_000
    always = int(np.isin(model.verb, (0, 1, 2)).sum() - ((model.event >= 0) & (model.verb != 2)).sum())
    fixed = always + len(model.events) + len(model.quantities) + len(model.chance_ids) + len(model.start) + 2
    touches = np.bincount(model.event[(model.event >= 0) & (model.verb != 2)], minlength=len(model.events))
    hanging = (
        sum(float((touches[:, None] * (outcome.happened != 0)).sum()) for outcome in stream(model, few, SEED)) / few
    )
    return int(draws * (fixed + hanging))


def _stream_alone(numbers: int) -> float:
    """Seconds for so many numbers of the engine's own stream and nothing else, in blocks as the engine takes them."""
    chosen = engine("auto", 10**9)
    steps = np.arange(chosen.lanes, dtype=np.uint64)
    rows = 512
    starts, out = np.arange(rows, dtype=np.uint64), np.empty((rows, chosen.lanes), dtype=np.uint32)
    start = time.process_time()
    for _ in range(max(1, round(numbers / (rows * chosen.lanes)))):
        chosen.common(starts, steps, out)
    return time.process_time() - start


def _memory(draws: int) -> float:
    """The most that a process of its own held while it answered, in megabytes."""
    code = f"""
import resource
from dataclasses import replace
from bench.amounts import asked_of
from vestry.contact.amounts.answers import whole
whole(replace(asked_of({draws}).question, threads=2))
print(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024)
"""
    said = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    return float(said.stdout)


def panel_seconds(rounds: int = 3, draws: int = PANEL_DRAWS) -> dict[str, float]:
    """The desk's panel on a computed plan with its recoveries, warm: best wall-clock and processor seconds."""
    catalogue = load_catalogue()
    plan = plan_case(Case(code="bench", hazard="suspected-hcid", presentation="wet"), Policy(), catalogue)
    subject = subject_of_plan(plan, plan.hash, "bench", catalogue)
    context = context_of(subject)
    asked = Asked(subject, load_evidence(), context, recoveries(plan, catalogue), draws=draws, threads=2)
    best = {"wall": float("inf"), "processor": float("inf")}
    for number in range(rounds + 1):
        wall, processor = time.perf_counter(), time.process_time()
        everything(replace(asked))  # bound anew each time, as for a question that nobody asked before
        if number:  # the first round warms up
            best["wall"] = min(best["wall"], time.perf_counter() - wall)
            best["processor"] = min(best["processor"], time.process_time() - processor)
    return best


def measure(size: Size) -> Measured:
    """All of it as the page of benchmarks has it."""
    used = Resources()
    found = run(size.draws, min(size.rounds, BEST_OF))
    panel = panel_seconds(size.rounds, min(PANEL_DRAWS, size.draws))
    rate = found["draws-per-second"]
    times_beta = found["times-beta"]
    memory = ", ".join(f"{one['draws']:,} draws {one['megabytes']:.0f} MB" for one in found["memory"])
    said = (
        f"{found['draws']:,} draws of a whole published undressing ({found['plan']}: {found['operations']} operations, "
        f"{found['events']} events, {found['surfaces']} surfaces), every parameter draw included, one thread each, in "
        "processor seconds. The peers answer the same question with a NumPy Generator: each parameter of the evidence "
        "by `Generator.beta` (a touch has two a direction, efficiency and share of the face); the product of the two "
        "as one beta, which spares half the draws; or each from the engine's own inverse tables.",
        f"The random numbers alone, {found['random-numbers']:,} of them from the engine's own stream, take "
        f"{found['random-numbers-share']:.0%} of its time. Most memory that a process of its own held: {memory}.",
        f"The desk's panel of {min(PANEL_DRAWS, size.draws):,} runs on a computed plan with recoveries, bound anew, "
        f"warm, two threads: {panel['wall']:.2f} s of wall clock, {panel['processor']:.2f} s of processor time.",
    )
    flat = found["memory"][-1]["megabytes"] / found["memory"][0]["megabytes"]
    floors = (
        Floor("amounts: draws a second", f"{FLOOR:.0f} times NumPy beta draws", times(times_beta), times_beta >= FLOOR),
        Floor("amounts: memory at ten times the draws", "at most 1.1 times", f"{flat:.2f} times", flat <= 1.1),
        Floor(
            f"amounts: panel of {PANEL_DRAWS:,} runs, warm", f"under {PANEL_MOST} s", f"{panel['wall']:.2f} s",
            panel["wall"] < PANEL_MOST,
        ),
    )  # fmt: skip
    seconds = found["seconds"]
    rows = tuple(
        (name, f"{spent:.3f}", f"{rate[name]:,.0f}", times(spent / seconds["engine"]))
        for name, spent in seconds.items()
    )
    table = Table("Draws", ("way", "processor seconds", "draws a second", "times the engine's time"), rows)
    apart = found["furthest-apart"]["tables"]
    error = 5 * (0.5 / found["draws"]) ** 0.5
    unequal = (f"a chance {apart:.4f} apart from NumPy with the same tables",) if apart > error else ()
    return Measured(NAME, "Amounts: draws a second against NumPy", said, floors, (table,), unequal, used.used())


def lines(found: dict[str, Any]) -> list[str]:
    """The results, to be read."""
    rate, seconds = found["draws-per-second"], found["seconds"]
    said = [
        f"{found['plan']}: {found['operations']} operations, {found['events']} events, {found['surfaces']} surfaces; "
        f"{found['draws']:,} draws, one thread",
        *(f"  {name:<12} {seconds[name]:8.3f} s  {rate[name]:12,.0f} draws/s" for name in seconds),
        f"  {found['times-beta']:.1f} times NumPy beta draws (floor {found['floor']:.0f}); "
        f"{found['times-beta-joined']:.1f} times with half the draws; "
        f"{found['times-tables']:.1f} times NumPy with tables",
        f"  the random numbers alone: {found['random-numbers-seconds']:.3f} s, {found['random-numbers-share']:.0%}",
    ]
    said += [f"  {one['draws']:,} draws: at most {one['megabytes']:.0f} MB" for one in found["memory"]]
    return said


def main() -> int:
    """Run and print; exit status 1 under the floor."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--draws", type=int, default=DRAWS)
    parser.add_argument("--json", action="store_true")
    options = parser.parse_args()
    found = run(options.draws)
    print(json.dumps(found, indent=1) if options.json else "\n".join(lines(found)))
    return 0 if found["over-the-floor"] else 1


if __name__ == "__main__":
    sys.exit(main())
