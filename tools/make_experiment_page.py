"""Runs the shipped experiments and writes docs/explanation/experiments.md.

    .venv/bin/python -m tools.make_experiment_page          writes it
    .venv/bin/python -m tools.make_experiment_page --check  says whether it is up to date (exit status 1 when not)

No number in it is typed by hand. What came out the first time stays in experiments/first-run.json, and beside today's.
"""

from __future__ import annotations

import argparse
import json
import sys
import tomllib
from pathlib import Path
from typing import Any

from vestry.cli.commands.validate import found, said, shown, tolerance
from vestry.experiment import Arm, Experiment, Judged, Validated, packaged_experiments, read_experiment, validate
from vestry.trade import Evidence, load_catalogue, load_evidence

PLACE = Path(__file__).parent.parent / "docs" / "explanation"
PAGE = PLACE / "experiments.md"
FROZEN = PLACE / "experiments" / "frozen.json"
FIRST_RUN = PLACE / "experiments" / "first-run.json"
EXPLAINED = PLACE / "experiments" / "explained.toml"
SET = {"r12-glove": "set by hand"}  # the load was set so that this comes out about right; it is no check
RELATIONS = {
    "check": "Nothing was fitted to it.",
    "by-construction": "By construction: the evidence took its figures from this experiment, so that it guards the "
    "code and shows nothing of the model. Fitted: ",
    "arithmetic": "Arithmetic, with the model's own answer beside it; nothing was fitted to it.",
}


def results(draws: int = 20_000, seed: int = 1) -> list[Validated]:
    """Every shipped experiment, run."""
    catalogue, evidence = load_catalogue(), load_evidence()
    return [
        validate(
            read_experiment(text, name, catalogue, evidence), catalogue, evidence, draws=draws, seed=seed, file=name
        )
        for name, text in packaged_experiments().items()
    ]


def page(runs: list[Validated], evidence: Evidence) -> str:
    """The page."""
    frozen = json.loads(FROZEN.read_text("utf-8"))
    explained = tomllib.loads(EXPLAINED.read_text("utf-8"))
    first = first_run()
    parts = [_head(runs, frozen), _summary(runs, first)]
    parts += [_section(one, evidence, first, explained) for one in runs]
    return "\n".join(parts)


def first_run() -> dict[str, dict[str, Any]]:
    """Check id to how it came out the first time."""
    document = json.loads(FIRST_RUN.read_text("utf-8"))
    return {check["id"]: check for one in document["experiments"] for check in one["checks"]}


def _head(runs: list[Validated], frozen: dict[str, Any]) -> str:
    every = [(SET.get(check.check.id, one.experiment.relation), check.met) for one in runs for check in one.judged]
    counts = [
        f"| {relation} | {every.count((relation, True))} | {every.count((relation, False))} |"
        for relation in ("check", "by-construction", "arithmetic", "set by hand")
    ]
    changed = "".join(f"\n- `{name}`: {why}" for name, why in frozen["changed-since"].items())
    return f"""<!-- Made by tools/make_experiment_page.py; not to be edited. -->

# Published experiments, run through the contact model

How close do the amounts come to what laboratories and wards measured? Each experiment is a
[file](../reference/experiment-file.md) with its set-up, what was found, and the tolerance; `vestry validate --shipped`
runs them all.

Inputs, tolerances and [evidence](../reference/evidence.md) were fixed before the first run, at commit
`{frozen["commit"]}`; a test holds the files to it. Nothing is fitted to a check that is
reported as a check. A miss stays, with what is known of it. What was found was read in excerpts, mostly abstracts:
loads, habits and dispensers of the studies had to be assumed, and each file says so.
{f"Changed since, each by a decision:{changed}" if changed else "None of these files has changed since."}

{_model_changes(runs, frozen)}

| | met | missed |
| --- | --- | --- |
{chr(10).join(counts)}

{runs[0].draws} draws for each arm, seed {runs[0].seed}. Evidence `{runs[0].evidence[:12]}`, facts
`{runs[0].facts[:12]}`. *Model*: the answer, and what nine in ten studies of this size would find if the model were
right (where no size is known, or it is large, the answer's own Monte Carlo error). *First run*: how it came out the
first time, where that was another answer. An amount beside a detection limit is no probability of infection.
"""


def _model_changes(runs: list[Validated], frozen: dict[str, Any]) -> str:
    """What was changed in the model itself, and every answer before and after."""
    changes = frozen["model-changed-since"]
    if not changes:
        return "The model that runs them has not changed since the first run either."
    first = first_run()
    moved = [
        f"| {check.check.id} | {before['answer']:.4g} | {check.answer:.4g} | "
        f"{'met' if before['met'] else 'missed'} | {'met' if check.met else 'missed'} |"
        for one in runs
        for check in one.judged
        if (before := first.get(check.check.id)) is not None
        and before["answer"] is not None
        and check.answer is not None
        and abs(check.answer - before["answer"]) > 1e-9
    ]
    listed = "".join(f"\n- `{name}`: {why}" for name, why in changes.items())
    table = "\n".join(["| check | first run | now | first run | now |", "| --- | --- | --- | --- | --- |", *moved])
    return f"""The model changed since the first run, by decision
[0012](../decisions/0012-experiments-as-found.md):{listed}

Of all answers, these are other ones than in the first run:

{table if moved else "none."}"""


def _summary(runs: list[Validated], first: dict[str, dict[str, Any]]) -> str:
    lines = ["| check | experiment | found | model | tolerance | |", "| --- | --- | --- | --- | --- | --- |"]
    for one in runs:
        for check in one.judged:
            name = check.check.id
            lines.append(
                f"| [{name}](#{one.experiment.id}) | {one.experiment.title} | {found(check)} | {_model(check)} | "
                f"{tolerance(check)} | {_verdict(check, first.get(name))} |"
            )
    return "\n".join(lines) + "\n"


def _model(check: Judged) -> str:
    pair = f" ({shown(check.interval)})" if check.interval else ""
    return f"{said(check)}{pair}"


def _verdict(check: Judged, first: dict[str, Any] | None) -> str:
    now = "met" if check.met else "**missed**"
    if check.check.id in SET:
        now += f", {SET[check.check.id]}"
    if first is None or first["met"] == check.met:
        return now
    return f"{now} (first run: {'met' if first['met'] else 'missed'})"


def _section(
    one: Validated, evidence: Evidence, first: dict[str, dict[str, Any]], explained: dict[str, dict[str, str]]
) -> str:
    experiment = one.experiment
    fitted = ", ".join(f"`{name}`" for name in experiment.fitted)
    parts = [
        f"## {experiment.id}\n",
        f"{experiment.title}. {RELATIONS[experiment.relation]}{fitted}{'.' if fitted else ''}\n",
        "Read in: "
        + "; ".join(_source(basis.source, basis.certainty, evidence) for basis in experiment.based_on)
        + ".\n",
    ]
    if experiment.reading:
        parts.append(" ".join(experiment.reading.split()) + "\n")
    parts.append("\n".join(f"- *{arm.id}*: {_setup(experiment, arm)}" for arm in experiment.arm) + "\n")
    if one.answers:
        parts += ["| arm | looked at | model |", "| --- | --- | --- |"]
        parts += [
            f"| {answer.arm} | {answer.outcome} | {answer.value:.3g}"
            + (f" ({shown(answer.interval)}) |" if answer.interval else " |")
            for answer in one.answers
        ]
        parts.append("")
    for check in one.judged:
        name = check.check.id
        parts.append(f"**{name}**: {_verdict(check, first.get(name))}. {_told(check, first.get(name))}\n")
        if name in explained:
            parts.append(" ".join(explained[name]["says"].split()) + "\n")
    if one.defaults:
        parts.append("No evidence for: " + ", ".join(one.defaults) + " (the worst was taken).\n")
    return "\n".join(parts)


def _told(check: Judged, first: dict[str, Any] | None) -> str:
    before = ""
    if first is not None and first["answer"] is not None and f"{first['answer']:.3g}" != f"{check.answer:.3g}":
        before = f" First run: {first['answer']:.3g}."
    return f"Found: {found(check)}. Model: {_model(check)}. Tolerance: {tolerance(check)}.{before}"


def _source(source: str, certainty: str, evidence: Evidence) -> str:
    known = evidence.sources.get(source)
    if known is None:
        return f"{source} ({certainty})"
    return f"{known.title} ({f'[{source}]({known.url})' if known.url else source}, {certainty})"


def _setup(experiment: Experiment, arm: Arm) -> str:
    """An arm in one line: what was worn, done, loaded, and under what circumstances."""
    whole = experiment.whole(arm.id)
    said_: list[str] = []
    if whole.edge is not None:
        edge = whole.edge
        said_.append(f"{edge.donor} touched by {edge.recipient}, {edge.wetness}, {edge.touches} time(s)")
    if whole.cleaning is not None:
        cleaning = whole.cleaning
        time = f", {cleaning.seconds:g} s" if cleaning.seconds is not None else ", as taught"
        said_.append(f"{cleaning.agent} on {cleaning.layer}, {cleaning.virus_class}{time}")
    if whole.decay is not None:
        said_.append(f"{whole.decay.minutes:g} minutes")
    if whole.implied is not None:
        said_.append(f"{whole.implied.faultless:g} faultless, {whole.implied.steps} steps")
    if whole.protocol is not None:
        said_.append(f"order `{whole.protocol}`")
    if whole.steps is not None:
        said_.append("worn " + ", ".join(whole.worn or ()))
        said_.append(
            "steps " + ", ".join(" ".join(filter(None, (s.act, *s.handled, s.technique, s.agent))) for s in whole.steps)
        )
    if whole.loads is not None:
        said_.append("loads " + ", ".join(f"{name} {_amount(value)}" for name, value in whole.loads.items()))
    if whole.amounts is not None:
        said_.append(
            "loads by class: " + ", ".join(f"{name} {_amount(value)}" for name, value in whole.amounts.items())
        )
    if whole.marker is not None:
        said_.append(
            f"marker {whole.marker}{f' in {whole.unit}' if whole.unit else ''}, {whole.virus_class or 'by hazard'}"
        )
    if whole.steps is not None or whole.protocol is not None:
        said_.append(_circumstances(experiment, arm))
    return "; ".join(said_)


def _circumstances(experiment: Experiment, arm: Arm) -> str:
    whole = experiment.whole(arm.id)
    context = whole.context
    words = ["lapses " + (whole.lapses or "drawn")]
    words += [f"forced {', '.join(whole.forced)}"] if whole.forced else []
    if context is not None:
        words.append("trained" if context.trained else "untrained")
        words.append("watched" if context.observer else "not watched")
        words.append("read aloud" if context.read_aloud else "not read aloud")
    if whole.agent is not None:
        words.append(f"agent {whole.agent}")
    if whole.limit is not None:
        words.append(f"limit {_amount(whole.limit)}")
    return ", ".join(words)


def _amount(value: Any) -> str:
    if hasattr(value, "parameters"):
        return f"{value.kind} ({', '.join(f'{name} {number:g}' for name, number in value.parameters().items())})"
    return value if isinstance(value, str) else f"{value:g}"


def run() -> int:
    """Write, or check."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--check", action="store_true")
    options = parser.parse_args()
    text = page(results(), load_evidence())
    same = PAGE.exists() and PAGE.read_text("utf-8") == text
    if not options.check:
        PAGE.write_text(text, "utf-8")
    print("up to date" if same else PAGE.name, file=sys.stderr)
    return 1 if options.check and not same else 0


if __name__ == "__main__":
    sys.exit(run())
