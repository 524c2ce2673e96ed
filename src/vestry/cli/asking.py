"""What `amounts` and `whatif` are both asked: a sequence, draws, and the circumstances."""

from __future__ import annotations

import argparse
from dataclasses import replace
from typing import Annotated

from pydantic import Field

from vestry.cli import files, output
from vestry.cli.commands.evidence import evidence_argument, evidence_of
from vestry.cli.sequences import WHAT, read_subject
from vestry.contact.amounts import Context
from vestry.sequence import Recovery, Subject, recoveries
from vestry.sequence.amounts import DRAWS, SEED, Asked, context_of
from vestry.trade import BadFacts, Problem
from vestry.trade.values import Value
from vestry.trade.words import load_words

MOST_DRAWS = 2_000_000
Count = Annotated[int, Field(ge=0)]


class CountsFile(Value):
    """What the unit recorded: slip, omission, or `act:item:technique:slip`, to deviations and occasions."""

    format_version: int = Field(ge=1, le=1)
    counts: dict[str, tuple[Count, Count]]


def arguments(parser: argparse.ArgumentParser) -> None:
    """The options of both commands."""
    parser.add_argument("sequence", metavar="SEQUENCE", help=WHAT)
    parser.add_argument("--presentation", choices=("dry", "wet"), help="judge an order for this presentation")
    parser.add_argument("--draws", type=int, default=DRAWS, help=f"simulated runs ({DRAWS})")
    parser.add_argument("--seed", type=int, default=SEED, help="the same seed gives the same numbers (1)")
    parser.add_argument("--observer", choices=("yes", "no"), help="somebody watches (as the plan or order says)")
    parser.add_argument("--read-aloud", choices=("yes", "no"), help="each step is read aloud (as the observer)")
    parser.add_argument("--untrained", action="store_true", help="routine practice instead of taught and checked")
    parser.add_argument("--months", type=float, default=0.0, help="since this was last practised (0)")
    parser.add_argument("--minutes", type=float, default=0.0, help="in the ensemble when doffing begins (0)")
    parser.add_argument("--climate", choices=("hot", "cool"))
    parser.add_argument("--soil", choices=("none", "blood"), default="none", help="visible blood on gloves")
    parser.add_argument("--counts", metavar="FILE", help="the unit's own deviations (docs/reference/amounts.md)")
    parser.add_argument("--no-recoveries", action="store_true", help="a seen deviation changes nothing")
    files.facts_argument(parser)
    evidence_argument(parser)
    parser.add_argument("--json", action="store_true")


def asked(options: argparse.Namespace) -> Asked:
    """The question; BadFacts with every problem."""
    _check(options)
    catalogue, words = files.facts_of(options).catalogue, load_words("en")
    subject = read_subject(options.sequence, catalogue, words, options.presentation)
    evidence = evidence_of(options.evidence, catalogue)
    return Asked(
        subject=subject,
        evidence=evidence,
        context=_context(options, subject),
        recoveries=recoveries_of(options, subject),
        draws=options.draws,
        seed=options.seed,
        threads=2,
    )


def _check(options: argparse.Namespace) -> None:
    problems = []
    if not 100 <= options.draws <= MOST_DRAWS:
        problems.append(Problem("amounts", 0, "draws", f"from 100 to {MOST_DRAWS}"))
    if not 0 <= options.seed < 2**63:
        problems.append(Problem("amounts", 0, "seed", "a whole number from 0 to 2^63 - 1"))
    for name in ("months", "minutes"):
        if not 0 <= getattr(options, name) < 10_000:
            problems.append(Problem("amounts", 0, name, "a number from 0 to 9999"))
    if problems:
        raise BadFacts(problems)


def _context(options: argparse.Namespace, subject: Subject) -> Context:
    context = context_of(
        subject,
        trained=not options.untrained,
        months=options.months,
        minutes=options.minutes,
        climate=options.climate,
        soil=options.soil,
        counts=_counts(options.counts, subject) if options.counts else {},
    )
    if options.observer:
        watched = options.observer == "yes"
        context = replace(context, observer=watched, read_aloud=watched)
    if options.read_aloud:
        context = replace(context, read_aloud=options.read_aloud == "yes")
    return context


def _counts(name: str, subject: Subject) -> dict[str, tuple[int, int]]:
    found, lines = files.read_model(CountsFile, name)
    known = {event.id.partition("@")[0] for event in subject.program.events} | {"slip", "omission"}
    problems = []
    for key, (deviations, occasions) in found.counts.items():
        line = lines.get(("counts", key), 0)
        if key not in known:
            problems.append(Problem(name, line, f"counts.{key}", "no event of this sequence is called so"))
        if deviations > occasions:
            problems.append(Problem(name, line, f"counts.{key}", f"{deviations} deviations on {occasions} occasions"))
    if problems:
        raise BadFacts(problems)
    return found.counts


def recoveries_of(options: argparse.Namespace, subject: Subject) -> tuple[Recovery, ...]:
    """Searched for a plan; what an approved procedure would hold."""
    if options.no_recoveries or subject.plan is None:
        return ()
    return recoveries(subject.plan, subject.catalogue, lambda done, total: output.progress("recoveries", done))
