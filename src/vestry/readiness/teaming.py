"""Different people for different duties: the most places of a team that can be filled, nobody twice."""

from __future__ import annotations

import itertools
from collections.abc import Collection, Mapping
from typing import TypeVar

Name = TypeVar("Name", bound=str)


def matched(able: Mapping[Name, Collection[str]], needs: Mapping[Name, int]) -> int:
    """How many of all places can be filled at once when each person takes one.

    A duty that more people can do than there are places in all is filled whatever the others take. Of the rest the
    narrowest choice of duties says it: those who can do one of them, and the places of the others (Hall).
    """
    total = sum(needs.values())
    rest = [duty for duty, count in needs.items() if count > 0 and len(able.get(duty, ())) < total]
    filled = sum(count for duty, count in needs.items() if duty not in rest)
    narrowest = sum(needs[duty] for duty in rest)
    for size in range(1, len(rest) + 1):
        for several in itertools.combinations(rest, size):
            people = frozenset().union(*(able.get(duty, ()) for duty in several))
            others = sum(needs[duty] for duty in rest if duty not in several)
            narrowest = min(narrowest, len(people) + others)
    return filled + narrowest


def places(able: Mapping[Name, Collection[str]], needs: Mapping[Name, int]) -> dict[str, Name]:
    """Who would take which place, as many as can be filled at once. A greatest flow, by OR-Tools; one of several."""
    duties = [duty for duty, count in needs.items() if count > 0]
    people = sorted({person for duty in duties for person in able.get(duty, ())})
    if not people:
        return {}
    from ortools.graph.python.max_flow import SimpleMaxFlow  # takes its time to load

    flow = SimpleMaxFlow()
    source, sink = 0, 1
    node = {person: number for number, person in enumerate(people, 2)}
    arcs: dict[int, tuple[str, Name]] = {}
    for number, duty in enumerate(duties, 2 + len(people)):
        flow.add_arc_with_capacity(number, sink, needs[duty])
        for person in able.get(duty, ()):
            arcs[flow.add_arc_with_capacity(node[person], number, 1)] = (person, duty)
    for number in node.values():
        flow.add_arc_with_capacity(source, number, 1)
    flow.solve(source, sink)
    return dict(pair for arc, pair in arcs.items() if flow.flow(arc))
