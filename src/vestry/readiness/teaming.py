"""Different people for different duties: the most places of a team that can be filled, nobody twice."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from typing import TypeVar

Name = TypeVar("Name", bound=str)


def matched(able: Mapping[Name, Collection[str]], needs: Mapping[Name, int]) -> int:
    """How many of all places can be filled at once when each person takes one."""
    return len(places(able, needs))


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
