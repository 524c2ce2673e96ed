"""The contract `Explanation`: why a verdict is what it is, and what would have to go wrong. No words."""

from __future__ import annotations

from typing import Any, Literal

from vestry.sequence.assurance import MODEL_VERSION, EndpointClass
from vestry.trade.values import Certainty, Id, Value

When = Literal["ever", "at-end"]


class Cited(Value):
    """Where a touch comes from: a source of the catalogue, or the kind of knowledge that it is."""

    id: Id
    certainty: Certainty
    publisher: str | None
    title: str | None
    year: str | None
    url: str | None


class Touch(Value):
    """One touch of a route.

    step, number    the step's id and its place, from 1; null: on arrival
    worn            what is worn at that moment, in donning order
    pose            how the technique stands, for a picture
    """

    step: str | None
    number: int | None
    verb: str
    from_surface: str
    to_surface: str
    event: str | None
    source: Cited
    worn: tuple[Id, ...]
    pose: str


class ExplainedRoute(Value):
    """A route to a surface: the errors that it needs (none: as taught) and every touch with its source."""

    surface: str
    endpoint: EndpointClass
    when: When
    events: tuple[str, ...]
    touches: tuple[Touch, ...]


class WouldTake(Value):
    """What would have to go wrong for a surface to be reached.

    when          skin: at the end, after its cleaning; else ever
    fewest        the smallest number of errors together; null: none within the order searched
    with_fault    the same where hidden faults are there
    count         how many smallest sets there are
    routes        some of them, each a set of errors with its route
    """

    surface: str
    endpoint: EndpointClass
    when: When
    fewest: int | None
    with_fault: int | None
    count: int
    routes: tuple[ExplainedRoute, ...]


class Explanation(Value):
    """The answer to why.

    surface, step    what was asked about; null: the whole verdict
    routes           as taught; where a step was asked about, the routes with an error at that step, fewest errors first
    would_take       for each endpoint that decides the verdict and is not reached as taught: what it would take
    """

    format_version: Literal[1] = 1
    model_version: str = MODEL_VERSION
    facts: str
    order: int
    name: str
    title: str
    sort: Literal["order", "plan"]
    plan: str | None
    verdict: Literal["clean", "reached", "not-for-this-case"]
    clean: bool
    surface: str | None
    step: str | None
    routes: tuple[ExplainedRoute, ...]
    would_take: tuple[WouldTake, ...]

    def as_json(self) -> dict[str, Any]:
        """Plain JSON, kebab-case keys."""
        return dict(self.model_dump(mode="json", by_alias=True))
