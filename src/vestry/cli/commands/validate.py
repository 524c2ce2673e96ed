"""Run experiments through the contact model, and hold what it says against what was found.

Each file is a published experiment as a set-up (docs/reference/experiment-file.md). Exit status: 0 every check is met;
1 some are missed; 2 wrong use or a bad file.
"""

from __future__ import annotations

import argparse
from typing import Any

from vestry.cli import files, output
from vestry.cli.commands.evidence import evidence_argument, evidence_of
from vestry.experiment import Experiment, Judged, Validated, packaged_experiments, read_experiment, validate
from vestry.trade import BadFacts, Catalogue, Evidence, Problem

MOST_DRAWS = 2_000_000


def arguments(parser: argparse.ArgumentParser) -> None:
    """The options of the command."""
    parser.add_argument(
        "files", nargs="*", metavar="FILE", help="experiment files, TOML or JSON (- for standard input)"
    )
    parser.add_argument("--shipped", action="store_true", help="the shipped experiments too")
    parser.add_argument("--draws", type=int, default=20_000, help="draws for each arm (20000)")
    parser.add_argument("--seed", type=int, default=1, help="the same seed gives the same numbers (1)")
    files.facts_argument(parser)
    evidence_argument(parser)
    parser.add_argument("--json", action="store_true")


def run(options: argparse.Namespace) -> int:
    """Read all, then run all, then print."""
    if not options.files and not options.shipped:
        raise BadFacts([Problem("validate", 0, "FILE", "name a file, or give --shipped")])
    if not 100 <= options.draws <= MOST_DRAWS:
        raise BadFacts([Problem("validate", 0, "draws", f"from 100 to {MOST_DRAWS}")])
    if not 0 <= options.seed < 2**63:
        raise BadFacts([Problem("validate", 0, "seed", "a whole number from 0 to 2^63 - 1")])
    catalogue = files.facts_of(options).catalogue
    evidence = evidence_of(options.evidence, catalogue)
    found = []
    for name, experiment in _read(options, catalogue, evidence):
        output.progress(experiment.id, 0)
        found.append(validate(experiment, catalogue, evidence, draws=options.draws, seed=options.seed, file=name))
    if options.json:
        output.print_json(describe(found))
    else:
        for one in found:
            print("\n".join(lines(one)), end="\n\n")
        checks = [check for one in found for check in one.judged]
        print(f"{sum(check.met for check in checks)} of {len(checks)} checks met, in {len(found)} experiments.")
    return 0 if all(one.met for one in found) else 1


def _read(options: argparse.Namespace, catalogue: Catalogue, evidence: Evidence) -> list[tuple[str, Experiment]]:
    """Every file, or every problem of every file."""
    problems: list[Problem] = []
    found: list[tuple[str, Experiment]] = []
    texts = [(name, packaged_experiments()[name]) for name in packaged_experiments() if options.shipped]
    for name in options.files:
        try:
            texts.append((name, files.read_text(name)))
        except BadFacts as bad:
            problems.extend(bad.problems)
    for name, text in texts:
        try:
            found.append((name, read_experiment(text, name, catalogue, evidence)))
        except BadFacts as bad:
            problems.extend(bad.problems)
    if problems:
        raise BadFacts(problems)
    return found


def describe(found: list[Validated]) -> dict[str, Any]:
    """All of it as plain JSON; docs/reference/experiment-file.md."""
    return {
        "format-version": 1,
        "met": all(one.met for one in found),
        "experiments": [one.as_json() for one in found],
    }


def lines(one: Validated) -> list[str]:
    """One experiment, to be read."""
    experiment = one.experiment
    head = [experiment.title, f"  {experiment.relation}; {one.draws} draws, seed {one.seed}"]
    rows = [
        (
            check.check.id,
            "met" if check.met else "MISSED",
            said(check),
            shown(check.interval),
            found(check),
            tolerance(check),
        )
        for check in one.judged
    ]
    table = output.table(rows, ("check", "", "model", "its interval", "found", "tolerance"))
    return [*head, *(f"  {line}" for line in table.splitlines())]


def said(one: Judged) -> str:
    """The model's answer in short."""
    if one.check.compare == "order":
        return ", ".join(f"{name} {value:.3g}" for name, value in one.detail)
    if one.check.compare == "top":
        return ", ".join(f"{name} {value:.3g}" for name, value in one.detail[: one.check.of_first])
    if one.answer is None or one.answer != one.answer:
        return "no number: nothing in the other arm"
    return f"{one.answer:.3g}"


def shown(pair: tuple[float, float] | None) -> str:
    """An interval in short."""
    return "" if pair is None else f"{pair[0]:.3g} to {pair[1]:.3g}"


def found(one: Judged) -> str:
    """What was published, in short."""
    check = one.check
    if check.observed is None:
        return check.found or ""
    return f"{check.observed:g}" + (f" ({shown(check.interval)})" if check.interval else "")


def tolerance(one: Judged) -> str:
    """What meets the check."""
    check = one.check
    if check.compare == "order":
        return "in this order"
    if check.compare == "top":
        return f"{check.at_least} of {len(check.order)} among the first {check.of_first}"
    limits = check.tolerance
    if limits is None:
        return ""
    parts = [f"above {limits.above:g}"] if limits.above is not None else []
    if limits.low is not None and limits.high is not None:
        return f"{limits.low:g} to {limits.high:g}"
    parts += [f"at least {limits.low:g}"] if limits.low is not None else []
    parts += [f"at most {limits.high:g}"] if limits.high is not None else []
    return ", ".join(parts)
