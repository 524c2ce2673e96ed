"""The contract `Comparison`: two sequences, endpoint by endpoint and step by step. Ids and numbers; no words.

Counts compare only within one ensemble, one setting and one digest of facts. Where they do not, `tables` and `weaker`
are empty and `why-not` says what differs; verdict, routes, steps, time and further errors at each step always stand.
"""

from __future__ import annotations

from typing import Any, Literal

from vestry.sequence.aligning import Change
from vestry.sequence.assurance import MODEL_VERSION, EndpointClass, Route
from vestry.trade.values import Act, Id, Presentation, Role, Value, Who, Zone

Which = Literal["a", "b"]
Better = Literal["a", "b", "equal"]
WhyNot = Literal["ensemble", "case", "facts"]


class Seconds(Value):
    """An estimate: central, everything brisk, everything slow."""

    seconds: int
    least: int
    most: int


class Side(Value):
    """One of the two.

    fewest    the fewest further errors before exposure at any step; null: more than the order searched
    watch     at how many steps one error suffices
    """

    name: str
    title: str
    sort: Literal["order", "plan"]
    plan: str | None
    presentation: Presentation
    verdict: Literal["clean", "reached", "not-for-this-case"]
    clean: bool
    worn: tuple[Id, ...]
    steps: int
    time: Seconds
    fewest: int | None
    watch: int


class Counted(Value):
    """One endpoint class in one table: counts by number of errors, from none up to the order searched.

    better       whose count is the smaller at the first number of errors where they differ, ever before at the end
    throughout   the better one is nowhere worse, at any number of errors, ever or at the end
    """

    endpoint: EndpointClass
    a_ever: tuple[int, ...]
    b_ever: tuple[int, ...]
    a_at_end: tuple[int, ...]
    b_at_end: tuple[int, ...]
    better: Better
    throughout: bool


class CountedTable(Value):
    """Counts from one set of loads, with hidden faults or without."""

    loads: Literal["all", "high"]
    latent: bool
    endpoints: tuple[Counted, ...]


class Weaker(Value):
    """Where one is weaker than the other: on which endpoint, at how many errors, by which routes.

    Counts are of all contaminated faces, without hidden faults. `routes`: some of those that the other has not.
    """

    side: Which
    endpoint: EndpointClass
    when: Literal["ever", "at-end"]
    errors: int
    count: int
    other: int
    throughout: bool
    routes: tuple[Route, ...]


class ComparedStep(Value):
    """A step on one side. `further` and `with-fault`: further errors before exposure, null: more than was searched.

    judged    the contact model judged this step (the steps of a plan before its way out are not)
    """

    id: str
    number: int
    act: Act
    items: tuple[Id, ...]
    technique: Id | None
    who: Who
    agent: Id | None
    to: Zone | None
    topic: Id | None
    seconds: int
    judged: bool
    further: int | None
    with_fault: int | None
    watch: bool


class Row(Value):
    """One row of the alignment; a moved step stands where the second sequence has it."""

    change: Change
    a: ComparedStep | None
    b: ComparedStep | None


class MemberCompared(Value):
    """Observer or assistant of two plans: what they wear themselves, and their own dressing and undressing.

    only      the one plan that has this member; null: both have
    dropped   worn in a and not in b; `added` the reverse
    steps     side by side, numbered in their own list; the contact model's errors per step are the wearer's alone
    """

    role: Role
    only: Which | None
    dropped: tuple[Id, ...]
    added: tuple[Id, ...]
    steps: tuple[Row, ...]


class TurnaroundRow(Value):
    """One thing done to the lane between two exits (Catalogue.turnarounds), with its place in each plan."""

    change: Change
    id: Id
    a: int | None
    b: int | None


class Comparison(Value):
    """Everything that is told of two sequences.

    equal              the same in worn, case and steps, of two plans also in team and turnaround
    comparable         counts compare; else `why-not`
    reached-gained     routes as taught that b has and a has not; `reached-lost` the reverse
    weak-gained        routes of one error that b has and a has not; `weak-lost` the reverse
    team, turnaround   of two plans; empty in what was written before they were compared, and where one is an order
    """

    format_version: Literal[1] = 1
    model_version: str = MODEL_VERSION
    facts: str
    order: int
    a: Side
    b: Side
    equal: bool
    comparable: bool
    why_not: tuple[WhyNot, ...]
    dropped: tuple[Id, ...]
    added: tuple[Id, ...]
    tables: tuple[CountedTable, ...]
    weaker: tuple[Weaker, ...]
    reached_gained: tuple[Route, ...]
    reached_lost: tuple[Route, ...]
    weak_gained: tuple[Route, ...]
    weak_lost: tuple[Route, ...]
    steps: tuple[Row, ...]
    team: tuple[MemberCompared, ...] = ()
    turnaround: tuple[TurnaroundRow, ...] = ()

    def as_json(self) -> dict[str, Any]:
        """Plain JSON, kebab-case keys."""
        return dict(self.model_dump(mode="json", by_alias=True))
