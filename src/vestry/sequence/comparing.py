"""Compare two sequences: counts endpoint by endpoint, routes gained and lost, steps side by side, minutes.

Which is better is told of each endpoint; nobody is told to change anything.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from vestry.contact.check import SEVERITY, routes_of
from vestry.contact.cutsets import CutSets, cut_sets
from vestry.sequence.aligning import Pair, align
from vestry.sequence.assurance import Assurance, EndpointCounts, Route
from vestry.sequence.assuring import ORDER
from vestry.sequence.comparing_team import same_team, team_compared, turnaround_compared
from vestry.sequence.comparison import (
    Better,
    ComparedStep,
    Comparison,
    Counted,
    CountedTable,
    Row,
    Seconds,
    Side,
    Weaker,
    Which,
    WhyNot,
)
from vestry.sequence.routes import route
from vestry.sequence.subject import Subject
from vestry.sequence.timing import total

MOST_ROUTES = 3


def compare(a: Subject, b: Subject) -> Comparison:
    """The comparison of two sequences on one catalogue."""
    whole = a.plan is not None and b.plan is not None
    pairs = align([a.steps[n].id for n in _places(a, whole)], [b.steps[n].id for n in _places(b, whole)])
    differ = _why_not(a, b)
    same = _Same(a, b, pairs, whole)
    reached = (_keyed(a.assurance.reached), _keyed(b.assurance.reached))
    weak = (same.of_a(a.assurance.weak), same.of_b(b.assurance.weak))
    return Comparison(
        facts=a.catalogue.digest,
        order=a.assurance.order,
        a=_side(a, whole),
        b=_side(b, whole),
        equal=_equal(a, b),
        comparable=not differ,
        why_not=differ,
        dropped=tuple(item for item in _all_worn(a) if item not in b.ensemble),
        added=tuple(item for item in _all_worn(b) if item not in a.ensemble),
        tables=() if differ else _tables(a.assurance, b.assurance),
        weaker=() if differ else tuple(_weaker(a, b, same)),
        reached_gained=_only(reached[1], reached[0]),
        reached_lost=_only(reached[0], reached[1]),
        weak_gained=_only(weak[1], weak[0]),
        weak_lost=_only(weak[0], weak[1]),
        steps=tuple(_rows(a, b, pairs, whole)),
        team=team_compared(a.plan, b.plan, a.catalogue) if a.plan and b.plan else (),
        turnaround=turnaround_compared(a.plan, b.plan) if a.plan and b.plan else (),
    )


def _places(subject: Subject, whole: bool) -> list[int]:
    """Places of the steps that are laid side by side: all of two plans; else a plan's way out alone."""
    if whole or subject.plan is None:
        return list(range(len(subject.steps)))
    return [place for place, step in enumerate(subject.steps) if step.phase == "doffing"]


def _all_worn(subject: Subject) -> list[str]:
    """The ensemble: what is worn on arrival, in donning order, then what is put on."""
    on_arrival = [item for item in subject.order.worn if item in subject.ensemble]
    return [*on_arrival, *sorted(subject.ensemble - set(on_arrival))]


def _why_not(a: Subject, b: Subject) -> tuple[WhyNot, ...]:
    found: list[WhyNot] = []
    if a.ensemble != b.ensemble or set(a.order.worn) != set(b.order.worn):
        found.append("ensemble")
    start_a, start_b = ((one.setting, one.order.loads, one.order.lane) for one in (a, b))
    if start_a != start_b:
        found.append("case")
    if a.catalogue.digest != b.catalogue.digest:
        found.append("facts")
    return tuple(found)


def _equal(a: Subject, b: Subject) -> bool:
    """The same program from the same steps; of two plans, the same steps before and after the way out as well, the
    same team and the same lane."""
    same = a.program.as_json() == b.program.as_json() and a.spans == b.spans
    if a.plan is not None and b.plan is not None:
        return same and a.steps == b.steps and same_team(a.plan, b.plan)
    return same and (a.sort != b.sort or a.steps == b.steps)


def _side(one: Subject, whole: bool) -> Side:
    found = one.assurance
    span = total(one.spans[place] for place in _places(one, whole))
    fewest = [step.further for step in found.steps if step.further is not None]
    return Side(
        name=one.name,
        title=one.title,
        sort=one.sort,
        plan=one.plan.hash if one.plan else None,
        presentation=one.order.case.presentation,
        verdict=found.verdict,
        clean=found.clean,
        worn=tuple(_all_worn(one)),
        steps=len(_places(one, whole)),
        time=Seconds(seconds=span.seconds, least=span.least, most=span.most),
        fewest=min(fewest, default=None),
        watch=sum(step.watch for step in found.steps),
    )


# ---- counts ----


def _tables(a: Assurance, b: Assurance) -> tuple[CountedTable, ...]:
    return tuple(
        CountedTable(
            loads=one.loads,
            latent=one.latent,
            endpoints=tuple(counted(x, y) for x, y in zip(one.endpoints, other.endpoints, strict=True)),
        )
        for one, other in zip(a.tables, b.tables, strict=True)
    )


def counted(x: EndpointCounts, y: EndpointCounts) -> Counted:
    """Two rows of counts as one."""
    mine, theirs = (*x.ever, *x.at_end), (*y.ever, *y.at_end)
    better: Better = "equal" if mine == theirs else "a" if mine < theirs else "b"
    low, high = (mine, theirs) if better == "a" else (theirs, mine)
    return Counted(
        endpoint=x.endpoint,
        a_ever=x.ever,
        b_ever=y.ever,
        a_at_end=x.at_end,
        b_at_end=y.at_end,
        better=better,
        throughout=better != "equal" and all(few <= many for few, many in zip(low, high, strict=True)),
    )


def _weaker(a: Subject, b: Subject, same: _Same) -> Iterable[Weaker]:
    """Each endpoint class on which one has more, with routes that the other has not."""
    rows = next(one for one in _tables(a.assurance, b.assurance) if one.loads == "all" and not one.latent)
    found: dict[Which, CutSets] = {"a": cut_sets(a.program, ORDER), "b": cut_sets(b.program, ORDER)}
    for row in rows.endpoints:
        if row.better == "equal":
            continue
        side: Which = "b" if row.better == "a" else "a"
        counts = [(row.a_ever, row.b_ever), (row.a_at_end, row.b_at_end)]
        at_end = row.a_ever == row.b_ever
        ours, theirs = counts[at_end][::-1] if side == "b" else counts[at_end]
        errors = next(size for size, (x, y) in enumerate(zip(ours, theirs, strict=True)) if x != y)
        yield Weaker(
            side=side,
            endpoint=row.endpoint,
            when="at-end" if at_end else "ever",
            errors=errors,
            count=ours[errors],
            other=theirs[errors],
            throughout=row.throughout,
            routes=tuple(same.only_here(side, row.endpoint, errors, at_end, found)),
        )


class _Same:
    """Which event of one sequence is which of the other: the same slip at the same step, wherever the step stands."""

    def __init__(self, a: Subject, b: Subject, pairs: Iterable[Pair], whole: bool) -> None:
        self.subjects: Mapping[Which, Subject] = {"a": a, "b": b}
        of_a, of_b = _places(a, whole), _places(b, whole)
        self.in_a = {
            b.steps[of_b[pair.second]].id: a.steps[of_a[pair.first]].id
            for pair in pairs
            if pair.first is not None and pair.second is not None
        }

    def named(self, event: str, side: Which) -> str:
        """The event as the first sequence names it."""
        act, at, step = event.partition("@")
        if side == "a" or not at:
            return event
        return f"{act}@{self.in_a.get(step, f'{step} of b')}"

    def of_a(self, routes: Iterable[Route]) -> dict[object, Route]:
        return {self._key(one, "a"): one for one in routes}

    def of_b(self, routes: Iterable[Route]) -> dict[object, Route]:
        return {self._key(one, "b"): one for one in routes}

    def _key(self, one: Route, side: Which) -> object:
        return one.surface, one.when, frozenset(self.named(event, side) for event in one.events)

    def only_here(
        self, side: Which, endpoint: str, errors: int, at_end: bool, found: Mapping[Which, CutSets]
    ) -> Iterable[Route]:
        """Routes of so many errors that this side has and the other has not; the first few, in the program's order."""
        other: Which = "a" if side == "b" else "b"
        known = {key for key, _, _ in self._sets(other, endpoint, errors, at_end, found[other])}
        program = self.subjects[side].program
        shown = 0
        for key, number, events in self._sets(side, endpoint, errors, at_end, found[side]):
            if key not in known and shown < MOST_ROUTES:
                shown += 1
                yield route(program, routes_of(program, events, number, "at-end" if at_end else "ever"))

    def _sets(
        self, side: Which, endpoint: str, errors: int, at_end: bool, found: CutSets
    ) -> Iterable[tuple[object, int, tuple[int, ...]]]:
        program = self.subjects[side].program
        values = found.at_end if at_end else found.ever
        for number, kind in program.endpoints:
            for one in values.get(number, ()) if kind == endpoint else ():
                if one.bit_count() == errors:
                    events = tuple(bit for bit in range(one.bit_length()) if one >> bit & 1)
                    names = frozenset(self.named(program.events[event].id, side) for event in events)
                    yield (program.surfaces[number], names), number, events


# ---- routes as taught ----


def _keyed(routes: Iterable[Route]) -> dict[object, Route]:
    return {(one.surface, one.when): one for one in routes}


def _only(mine: Mapping[object, Route], theirs: Mapping[object, Route]) -> tuple[Route, ...]:
    found = [one for key, one in mine.items() if key not in theirs]
    return tuple(sorted(found, key=lambda one: SEVERITY.index(one.endpoint)))


# ---- steps ----


def _rows(a: Subject, b: Subject, pairs: Iterable[Pair], whole: bool) -> Iterable[Row]:
    left, right = _steps(a, whole), _steps(b, whole)
    for pair in pairs:
        yield Row(
            change=pair.change,
            a=None if pair.first is None else left[pair.first],
            b=None if pair.second is None else right[pair.second],
        )


def _steps(one: Subject, whole: bool) -> list[ComparedStep]:
    judged = {step.step: step for step in one.assurance.steps}
    rows = []
    for place in _places(one, whole):
        step, further = one.steps[place], judged.get(one.steps[place].id)
        rows.append(
            ComparedStep(
                id=step.id,
                number=place + 1,
                act=step.act,
                items=step.items,
                technique=step.technique,
                who=step.who,
                agent=step.agent,
                to=step.to,
                topic=step.topic,
                seconds=one.spans[place].seconds,
                judged=further is not None,
                further=further.further if further else None,
                with_fault=further.with_fault if further else None,
                watch=further is not None and further.watch,
            )
        )
    return rows
