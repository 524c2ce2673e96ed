"""Different people for different duties: the most places of a team that can be filled, nobody twice."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from typing import TypeVar

Name = TypeVar("Name", bound=str)


def matched(able: Mapping[Name, Collection[str]], needs: Mapping[Name, int]) -> int:
    """How many of all places can be filled at once when each person takes one. A greatest flow, by OR-Tools."""
    places = [duty for duty, count in needs.items() if count > 0]
    people = sorted({person for duty in places for person in able.get(duty, ())})
    if not people:
        return 0
    from ortools.graph.python.max_flow import SimpleMaxFlow  # takes its time to load

    flow = SimpleMaxFlow()
    source, sink = 0, 1
    node = {person: number for number, person in enumerate(people, 2)}
    for number, duty in enumerate(places, 2 + len(people)):
        flow.add_arc_with_capacity(number, sink, needs[duty])
        for person in able.get(duty, ()):
            flow.add_arc_with_capacity(node[person], number, 1)
    for number in node.values():
        flow.add_arc_with_capacity(source, number, 1)
    flow.solve(source, sink)
    return int(flow.optimal_flow())
