"""The report of `vestry prove`: margins per endpoint, weak steps, cases without a clean order, cases without a plan."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from typing import Literal

from vestry.contact.check import SEVERITY
from vestry.sequence.assurance import MODEL_VERSION, EndpointClass, Route
from vestry.sequence.assuring import ORDER
from vestry.sequence.proving import Beside, Gathered, Outcome, When
from vestry.trade.values import Role, Value


class Margin(Value):
    """How many cases and programs have this margin; `errors` None: more than the order searched."""

    endpoint: EndpointClass
    latent: bool
    when: When
    errors: int | None
    cases: int
    programs: int


class WeakStep(Value):
    """One error that suffices somewhere: in how many cases and programs, and the worst endpoint that it reaches."""

    event: str
    worst: EndpointClass
    cases: int
    programs: int


class Unclean(Value):
    """A program with a route as taught, though no order under the rules in force is better, and its cases."""

    program: str
    routes: tuple[Route, ...]
    cases: tuple[str, ...]


class NoPlanFor(Value):
    """Cases without a plan, and why."""

    why: str
    open_sites: tuple[str, ...]
    cases: tuple[str, ...]


class TeamUnclean(Value):
    """A role whose own way out has a route as taught, though no order is better; the routes, and the cases."""

    role: Role
    routes: tuple[Route, ...]
    cases: tuple[str, ...]


class Proved(Value):
    """What the contact model says of every case that was looked at. No times in it: the same facts, the same report.

    cases      cases looked at; `of` names the choice (`all`, or what --only and --sample say)
    works      ways out that were planned
    programs   distinct compiled programs among them
    """

    format_version: Literal[1] = 1
    facts: str
    model_version: str
    order: int
    of: str
    cases: int
    planned: int
    works: int
    programs: int
    clean: int
    margins: tuple[Margin, ...]
    weak: tuple[WeakStep, ...]
    unclean: tuple[Unclean, ...]
    without_plan: tuple[NoPlanFor, ...]
    team_unclean: tuple[TeamUnclean, ...]
    gaps: tuple[tuple[str, int], ...]


def report(gathered: Gathered, outcomes: Mapping[str, Outcome], facts: str, of: str = "all") -> Proved:
    """The report on these works; an outcome is there for each."""
    every = [(work, outcomes[work.key]) for work in gathered.works]
    done = [(work, outcome) for work, outcome in every if outcome.program is not None]
    cases_of: Counter[str] = Counter()
    by_program: dict[str, Outcome] = {}
    names: dict[str, list[str]] = {}
    for work, outcome in done:
        assert outcome.program is not None
        cases_of[outcome.program] += len(work.cases)
        by_program[outcome.program] = outcome
        names.setdefault(outcome.program, []).extend(work.cases)
    gaps = Counter[str]()
    team: dict[Beside, list[str]] = {}
    for work, outcome in done:
        gaps.update(dict.fromkeys(outcome.gaps, len(work.cases)))
        for one in outcome.team:
            team.setdefault(one, []).extend(work.cases)
    return Proved(
        facts=facts,
        model_version=MODEL_VERSION,
        order=ORDER,
        of=of,
        cases=gathered.cases,
        planned=sum(cases_of.values()),
        works=len(gathered.works),
        programs=len(by_program),
        clean=sum(cases_of[name] for name, outcome in by_program.items() if outcome.clean),
        margins=_margins(by_program, cases_of),
        weak=_weak(by_program, cases_of),
        unclean=tuple(
            Unclean(program=name, routes=outcome.routes, cases=tuple(sorted(names[name])))
            for name, outcome in sorted(by_program.items())
            if not outcome.clean
        ),
        without_plan=_without(gathered, outcomes),
        team_unclean=tuple(
            TeamUnclean(role=one.role, routes=one.routes, cases=tuple(sorted(cases)))
            for one, cases in sorted(team.items(), key=lambda pair: (pair[0].role, pair[1]))
        ),
        gaps=tuple(sorted(gaps.items(), key=lambda one: (-one[1], one[0]))),
    )


def _margins(by_program: Mapping[str, Outcome], cases_of: Mapping[str, int]) -> tuple[Margin, ...]:
    found: dict[tuple[EndpointClass, bool, When, int | None], list[int]] = {}
    for name, outcome in by_program.items():
        for one in outcome.least:
            tally = found.setdefault((one.endpoint, one.latent, one.when, one.errors), [0, 0])
            tally[0] += cases_of[name]
            tally[1] += 1
    ordered = sorted(
        found.items(), key=lambda one: (one[0][1], one[0][2], SEVERITY.index(one[0][0]), one[0][3] is None, one[0][3])
    )
    return tuple(
        Margin(endpoint=kind, latent=latent, when=when, errors=errors, cases=tally[0], programs=tally[1])
        for (kind, latent, when, errors), tally in ordered
    )


def _weak(by_program: Mapping[str, Outcome], cases_of: Mapping[str, int]) -> tuple[WeakStep, ...]:
    cases, programs = Counter[str](), Counter[str]()
    worst: dict[str, EndpointClass] = {}
    for name, outcome in by_program.items():
        for one in outcome.weak:
            cases[one.event] += cases_of[name]
            programs[one.event] += 1
            worst[one.event] = min(worst.get(one.event, one.endpoint), one.endpoint, key=SEVERITY.index)
    steps = [WeakStep(event=event, worst=worst[event], cases=cases[event], programs=programs[event]) for event in cases]
    return tuple(sorted(steps, key=lambda one: (-one.cases, SEVERITY.index(one.worst), one.event)))


def _without(gathered: Gathered, outcomes: Mapping[str, Outcome]) -> tuple[NoPlanFor, ...]:
    found: dict[tuple[str, tuple[str, ...]], list[str]] = {}
    for one in gathered.without:
        found.setdefault((one.why, one.open_sites), []).extend(one.cases)
    for work in gathered.works:
        if outcomes[work.key].program is None:
            found.setdefault((outcomes[work.key].why, ()), []).extend(work.cases)
    return tuple(
        NoPlanFor(why=why, open_sites=sites, cases=tuple(sorted(names)))
        for (why, sites), names in sorted(found.items())
    )
