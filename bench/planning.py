"""One plan from case to assurance, in a process that is warm, over the catalogue of cases."""

from __future__ import annotations

import time
from collections.abc import Sequence
from random import Random

from bench.measured import Floor, Measured, Resources, Table, at_share, ms
from bench.size import Size
from vestry.sequence import assure, plan_case, recoveries
from vestry.sequence.proving import Gathered, Work, gather
from vestry.trade import Catalogue, load_catalogue

SEED = 2026
MEDIAN = 0.5  # seconds
MOST = 3.0  # seconds, that 95 in a hundred keep
SHARES = (("median", 0.5), ("9 in 10", 0.9), ("95 in 100", 0.95), ("99 in 100", 0.99), ("slowest", 1.0))


def measure(size: Size) -> Measured:
    """Plan cases drawn with a seed, then distinct ways out; then the recoveries of a few plans."""
    used = Resources()
    catalogue = load_catalogue()
    gathered = gather(catalogue)
    _seconds(gathered.works[0], catalogue)  # the first plan of a process also fills caches
    sample = _sample(gathered, size.cases)
    works = Random(SEED).sample(gathered.works, len(gathered.works))[: size.works]
    of_cases, cpu_of_cases = _all_seconds(sample, catalogue)
    of_works, cpu_of_works = _all_seconds(works, catalogue)
    cases = f"{len(of_cases)} cases of {gathered.cases}"
    distinct = f"{len(of_works)} distinct ways out of {len(gathered.works)}"
    rows = [
        _line(f"{cases}, wall clock", of_cases),
        _line(f"{cases}, processor", cpu_of_cases),
        _line(f"{distinct}, wall clock", of_works),
        _line(f"{distinct}, processor", cpu_of_works),
    ]
    recovered = _recovered(sample[: size.recovered], catalogue)
    said = (
        "From case and policy to plan (ensemble, donning, searched doffing order, team, lane) and assurance (verdict, "
        "cut sets to three errors with and without hidden faults, weak steps, routes, what flips without a "
        "convention), in one process, one thread, nothing kept from the plan before. Drawn with seed "
        f"{SEED}: cases, each as likely as any other, and distinct ways out (cases that are planned alike count once).",
        "Where other work shares the cores the wall clock says more about that; processor time is the plan's own.",
        "Recoveries for every step are made once, when a plan is approved, and are no part of this; their time stands "
        "apart.",
    )
    floors = (
        _floor("one plan, median, over distinct ways out", of_works, 0.5, MEDIAN),
        _floor("one plan, 95 in 100, over distinct ways out", of_works, 0.95, MOST),
        _floor("one plan, median, over cases", of_cases, 0.5, MEDIAN),
        _floor("one plan, 95 in 100, over cases", of_cases, 0.95, MOST),
    )
    tables = (
        Table("Milliseconds for one plan", ("over", *(name for name, _ in SHARES)), tuple(rows)),
        Table("Recoveries of a plan, made beforehand", ("steps", "recoveries", "seconds", "ms each"), recovered),
    )
    return Measured("plan", "One plan from case to assurance, warm", said, floors, tables, (), used.used())


def _all_seconds(works: Sequence[Work], catalogue: Catalogue) -> tuple[list[float], list[float]]:
    both = [_seconds(work, catalogue) for work in works]
    return [wall for wall, _ in both], [cpu for _, cpu in both]


def _seconds(work: Work, catalogue: Catalogue) -> tuple[float, float]:
    """Wall-clock and processor seconds from case and policy to the assurance of the plan."""
    case, wall, cpu = work.first.case(), time.perf_counter(), time.process_time()
    assure(plan_case(case, work.policy, catalogue), catalogue)
    return time.perf_counter() - wall, time.process_time() - cpu


def _sample(gathered: Gathered, count: int) -> list[Work]:
    """Works as often as a case drawn at random would be theirs."""
    weights = [len(work.cases) for work in gathered.works]
    return Random(SEED).choices(gathered.works, weights, k=count)


def _recovered(works: Sequence[Work], catalogue: Catalogue) -> tuple[tuple[str, ...], ...]:
    rows = []
    for work in works:
        plan = plan_case(work.first.case(), work.policy, catalogue)
        begun = time.perf_counter()
        found = recoveries(plan, catalogue)
        seconds = time.perf_counter() - begun
        rows.append((str(len(plan.phase("doffing"))), str(len(found)), f"{seconds:.1f}", ms(seconds / len(found))))
    return tuple(sorted(rows, key=lambda row: float(row[2])))


def _line(what: str, seconds: Sequence[float]) -> tuple[str, ...]:
    ordered = sorted(seconds)
    return what, *(ms(at_share(ordered, share)) for _, share in SHARES)


def _floor(what: str, seconds: Sequence[float], share: float, most: float) -> Floor:
    found = at_share(sorted(seconds), share)
    return Floor(what, f"at most {most * 1000:.0f} ms", f"{ms(found)} ms", found <= most)
