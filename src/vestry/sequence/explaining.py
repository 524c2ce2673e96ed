"""Explain a verdict: the routes as taught touch by touch with their sources; and what would have to go wrong.

1. Why: the routes as taught. About one step: the routes that an error at that step opens.
2. Why not: for each endpoint that decides the verdict (mucosa and helpers ever, skin at the end) and is not reached,
   the smallest sets of errors that together reach it.
"""

from __future__ import annotations

from collections.abc import Iterable
from difflib import get_close_matches

from vestry.contact.check import SEVERITY, routes_of
from vestry.contact.cutsets import CutSets, cut_sets
from vestry.sequence.assurance import Link, Route
from vestry.sequence.assuring import ORDER
from vestry.sequence.explanation import Cited, ExplainedRoute, Explanation, Touch, When, WouldTake
from vestry.sequence.routes import route
from vestry.sequence.states import technique_of
from vestry.sequence.subject import Subject
from vestry.trade import BadFacts, Catalogue, Problem

DECIDING = ("mucosa", "skin", "helper")
MOST_SETS = 4
MOST_OF_A_STEP = 8


def explain(subject: Subject, surface: str | None = None, step: str | None = None) -> Explanation:
    """Why the verdict is what it is; about one endpoint surface or one step where they are named.

    BadFacts when the model knows no such endpoint or judged no such step.
    """
    _check(subject, surface, step)
    found = subject.assurance
    explainer = _Explainer(subject)
    if step is None:
        routes = [one for one in found.reached if surface in (None, one.surface)]
    else:
        routes = list(explainer.of_step(step, surface))
    return Explanation(
        facts=found.facts,
        order=found.order,
        name=subject.name,
        title=subject.title,
        sort=subject.sort,
        plan=subject.plan.hash if subject.plan else None,
        verdict=found.verdict,
        clean=found.clean,
        surface=surface,
        step=step,
        routes=tuple(explainer.explained(one) for one in routes),
        would_take=() if step is not None else tuple(explainer.would_take(surface)),
    )


def _check(subject: Subject, surface: str | None, step: str | None) -> None:
    problems = []
    endpoints = {subject.program.surfaces[number] for number, _ in subject.program.endpoints}
    if surface is not None and surface not in endpoints:
        problems.append(_unknown("surface", surface, endpoints, "endpoint"))
    if step is not None and step not in subject.program.steps:
        if any(one.id == step for one in subject.steps):
            problems.append(
                Problem(
                    "explain", 0, "step", f"{step} is no step of the way out, which is what the contact model judges"
                )
            )
        else:
            problems.append(_unknown("step", step, subject.program.steps, "step"))
    if problems:
        raise BadFacts(problems)


def _unknown(field: str, word: str, known: Iterable[str], sort: str) -> Problem:
    names = sorted(known)
    near = get_close_matches(word, names, 1)
    hint = f"; did you mean {near[0]}?" if near else f"; there are {', '.join(names[:8])} and others"
    return Problem("explain", 0, field, f"no {sort} is called {word}{hint}")


def cited(source: str, catalogue: Catalogue) -> Cited:
    """A source with what is known of it; a kind of knowledge (judgement, common practice) is its own certainty."""
    record = catalogue.sources.get(source)
    if record is None:
        return Cited(id=source, certainty=source, publisher=None, title=None, year=None, url=None)  # type: ignore[arg-type]
    return Cited(
        id=source,
        certainty=record.read_as,
        publisher=record.publisher,
        title=record.title,
        year=None if record.year == "unknown" else record.year,
        url=record.url,
    )


class _Explainer:
    def __init__(self, subject: Subject) -> None:
        self.subject, self.program = subject, subject.program
        self.plain = cut_sets(self.program, ORDER)
        self.faulty = cut_sets(self.program, ORDER, latent=True)
        self.latent = sum(1 << n for n, event in enumerate(self.program.events) if event.sort == "latent")
        self.places = {step: number for number, step in enumerate(self.program.steps)}
        self.steps = {step.id: step for step in subject.steps}

    # ---- what it would take ----

    def would_take(self, surface: str | None) -> Iterable[WouldTake]:
        """For each deciding endpoint that is not reached as taught, worst first; or for the one asked about."""
        wanted = [
            (number, kind)
            for number, kind in self.program.endpoints
            if (kind in DECIDING if surface is None else self.program.surfaces[number] == surface)
        ]
        for number, kind in sorted(wanted, key=lambda one: SEVERITY.index(one[1])):
            when: When = "at-end" if kind == "skin" else "ever"
            sets = self._values(self.plain, when).get(number, ())
            if 0 not in sets:
                yield self._take(number, kind, when, sets)

    def _take(self, number: int, kind: str, when: When, sets: tuple[int, ...]) -> WouldTake:
        fewest = min((one.bit_count() for one in sets), default=None)
        smallest = [one for one in sets if one.bit_count() == fewest]
        faulty = [(one & ~self.latent).bit_count() for one in self._values(self.faulty, when).get(number, ())]
        return WouldTake(
            surface=self.program.surfaces[number],
            endpoint=kind,  # type: ignore[arg-type]
            when=when,
            fewest=fewest,
            with_fault=min(faulty, default=None),
            count=len(smallest),
            routes=tuple(self.explained(self._route(one, number, when)) for one in smallest[:MOST_SETS]),
        )

    @staticmethod
    def _values(found: CutSets, when: When) -> dict[int, tuple[int, ...]]:
        return found.at_end if when == "at-end" else found.ever

    def _route(self, events: int, number: int, when: When) -> Route:
        return route(self.program, routes_of(self.program, _bits(events), number, when))

    # ---- a step ----

    def of_step(self, step: str, surface: str | None) -> Iterable[Route]:
        """Routes to mucosa or skin that an error at this step opens, fewest errors first, worst endpoint first."""
        here = sum(1 << n for n, event in enumerate(self.program.events) if event.step == self.places[step])
        found = []
        for number, kind in self.program.endpoints:
            if kind in DECIDING if surface is None else self.program.surfaces[number] == surface:
                when: When = "at-end" if kind == "skin" else "ever"
                found += [
                    (one.bit_count(), SEVERITY.index(kind), number, one, when)
                    for one in self._values(self.plain, when).get(number, ())
                    if one & here
                ]
        for _, _, number, events, when in sorted(found)[:MOST_OF_A_STEP]:
            yield self._route(events, number, when)

    # ---- touches ----

    def explained(self, one: Route) -> ExplainedRoute:
        """A route with its touches, each with its step, its source and what is worn."""
        return ExplainedRoute(
            surface=one.surface,
            endpoint=one.endpoint,
            when=one.when,
            events=one.events,
            touches=tuple(self._touch(link) for link in one.chain),
        )

    def _touch(self, link: Link) -> Touch:
        step = self.steps[link.step] if link.step is not None else None
        technique = technique_of(step, self.subject.catalogue) if step else None
        return Touch(
            step=link.step,
            number=self.subject.numbers[link.step] if link.step is not None else None,
            verb=link.verb,
            from_surface=link.from_surface,
            to_surface=link.to_surface,
            event=link.event,
            source=cited(link.source, self.subject.catalogue),
            worn=self._worn(link.step),
            pose=technique.pose if technique else "standing",
        )

    def _worn(self, step: str | None) -> tuple[str, ...]:
        """What is worn when the touch happens: before the step, with what the step puts on."""
        if step is None:
            return self.program.worn[0]
        place = self.places[step]
        before, after = self.program.worn[place], self.program.worn[place + 1]
        return after if len(after) > len(before) else before


def _bits(events: int) -> tuple[int, ...]:
    return tuple(bit for bit in range(events.bit_length()) if events >> bit & 1)
