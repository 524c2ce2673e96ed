"""Check: what the contact model says of one compiled sequence."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

from vestry.contact import cutsets
from vestry.contact.cutsets import Antichain, CutSets, cut_sets
from vestry.contact.program import Program
from vestry.contact.reach import Link, chain, reach

Loads = Literal["all", "high"]
SEVERITY = ("mucosa", "skin", "helper", "clothing", "place")
EXPOSURE = frozenset({"mucosa", "skin"})


@dataclass(frozen=True)
class Reached:
    """A route to an endpoint: the events it needs (none: as taught), and its shortest chain of touches."""

    surface: str
    endpoint: str
    when: Literal["ever", "at-end"]
    events: tuple[str, ...]
    links: tuple[Link, ...]


@dataclass(frozen=True)
class Counts:
    """Cut sets of one endpoint class by size, over what was ever reached and what is at the end."""

    endpoint: str
    ever: tuple[int, ...]
    at_end: tuple[int, ...]

    @property
    def margin(self) -> int | None:
        """Size of the smallest set; None when none is within the order."""
        return next((size for size, count in enumerate(self.ever) if count), None)


@dataclass(frozen=True)
class Further:
    """Further errors before exposure at one step; None: more than the order searched."""

    step: int
    further: int | None
    with_fault: int | None
    endpoint: str | None


@dataclass(frozen=True)
class Verdict:
    """The whole answer. `clean`: as taught, nothing reaches mucosa, a helper, or skin not cleaned at the end."""

    program: Program
    order: int
    clean: bool
    reached: tuple[Reached, ...]
    weak: tuple[Reached, ...]
    tables: tuple[tuple[Loads, bool, tuple[Counts, ...]], ...]
    further: tuple[Further, ...]

    def counts(self, loads: Loads = "all", latent: bool = False) -> dict[str, Counts]:
        """The counts of one table, by endpoint class."""
        return next(
            {c.endpoint: c for c in rows}
            for where, with_latent, rows in self.tables
            if where == loads and with_latent == latent
        )

    def vector(self, loads: Loads = "all", latent: bool = False) -> tuple[int, ...]:
        """The count vector that orders are compared by: over ever, order by order, within an order by severity."""
        rows = self.counts(loads, latent)
        return tuple(rows[kind].ever[size] for size in range(self.order + 1) for kind in SEVERITY)


def check(program: Program, order: int = 3) -> Verdict:
    """The verdict on a program, cut sets truncated at `order` events."""
    every: tuple[Loads, ...] = ("all", "high")
    sets = {(loads, latent): cut_sets(program, order, latent, loads) for loads in every for latent in (False, True)}
    plain = sets[("all", False)]
    tables = tuple((loads, latent, _counts(program, found, order)) for (loads, latent), found in sets.items())
    reached = as_taught(program)
    return Verdict(
        program=program,
        order=order,
        clean=not any(
            one.endpoint in ("mucosa", "helper") or (one.endpoint == "skin" and one.when == "at-end") for one in reached
        ),
        reached=reached,
        weak=_weak(program, plain),
        tables=tables,
        further=_further(program, plain, sets[("all", True)], order),
    )


def as_taught(program: Program) -> tuple[Reached, ...]:
    """Zero-slip routes to endpoints, worst first; skin that is clean again at the end is marked `ever`."""
    found = reach(program)
    routes = []
    for number, kind in program.endpoints:
        if number in found.ever:
            when: Literal["ever", "at-end"] = "at-end" if number in found.at_end else "ever"
            link = found.at_end.get(number, found.ever[number])
            routes.append(Reached(program.surfaces[number], kind, when, (), tuple(chain(link))))
    return tuple(sorted(routes, key=_worst_first))


def routes_of(program: Program, events: Iterable[int], surface: int, when: Literal["ever", "at-end"]) -> Reached:
    """The route to a surface when exactly these events happen."""
    found = reach(program, tuple(events))
    link = (found.ever if when == "ever" else found.at_end)[surface]
    names = tuple(program.events[event].id for event in events)
    return Reached(program.surfaces[surface], dict(program.endpoints)[surface], when, names, tuple(chain(link)))


def _worst_first(route: Reached) -> tuple[int, int, int, str]:
    return (SEVERITY.index(route.endpoint), 0 if route.when == "at-end" else 1, len(route.links), route.surface)


def _counts(program: Program, found: CutSets, order: int) -> tuple[Counts, ...]:
    """Counts by class are sums over its surfaces: two sites that one slip reaches count twice."""
    return tuple(
        Counts(
            kind,
            count_class(program.endpoints, found.ever, kind, order),
            count_class(program.endpoints, found.at_end, kind, order),
        )
        for kind in SEVERITY
    )


def count_class(
    endpoints: Iterable[tuple[int, str]], values: dict[int, Antichain], kind: str, order: int
) -> tuple[int, ...]:
    """How many cut sets of each size the surfaces of one endpoint class have together."""
    total = [0] * (order + 1)
    for number, name in endpoints:
        if name == kind:
            for size, count in enumerate(cutsets.counts(values.get(number, cutsets.NEVER), order)):
                total[size] += count
    return tuple(total)


def _weak(program: Program, found: CutSets) -> tuple[Reached, ...]:
    routes = []
    for number, _ in program.endpoints:
        for one in found.ever.get(number, ()):
            if one.bit_count() == 1:
                at_end = any(other & one == other for other in found.at_end.get(number, ()))
                events = (one.bit_length() - 1,)
                routes.append(routes_of(program, events, number, "at-end" if at_end else "ever"))
    return tuple(sorted(routes, key=lambda r: (SEVERITY.index(r.endpoint), r.events, r.surface)))


def _further(program: Program, plain: CutSets, faulty: CutSets, order: int) -> tuple[Further, ...]:
    latent = sum(1 << n for n, event in enumerate(program.events) if event.sort == "latent")
    cleaned_skin = {n for n, kind in program.endpoints if kind == "skin"}
    rows = []
    for step in range(len(program.steps)):
        here = sum(1 << n for n, event in enumerate(program.events) if event.step == step)
        best: tuple[int, int] | None = None
        worst_fault: int | None = None
        for number, kind in program.endpoints:
            if kind not in EXPOSURE:
                continue
            values = plain.at_end if number in cleaned_skin else plain.ever
            with_fault = faulty.at_end if number in cleaned_skin else faulty.ever
            sizes = [one.bit_count() for one in values.get(number, ()) if one & here]
            if sizes:
                candidate = (min(sizes), SEVERITY.index(kind))
                best = candidate if best is None else min(best, candidate)
            slips = [(one & ~latent).bit_count() for one in with_fault.get(number, ()) if one & here]
            if slips:
                worst_fault = min(slips) if worst_fault is None else min(worst_fault, *slips)
        rows.append(Further(step, best[0] if best else None, worst_fault, SEVERITY[best[1]] if best else None))
    return tuple(rows)
