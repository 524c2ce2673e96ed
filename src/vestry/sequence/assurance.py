"""Assurance: what the contact model says of a plan or an order. A function of plan, facts and model version.

Counts are of minimal cut sets by size: the first number is zero-slip reaches. `ever` and `at_end` are kept apart: a
bare hand
that is cleaned later was still touched.
"""

from __future__ import annotations

from typing import Any, Literal

from vestry.trade.order import Step
from vestry.trade.values import Value

MODEL_VERSION = "contact-1"
EndpointClass = Literal["mucosa", "skin", "clothing", "helper", "place"]


class Link(Value):
    """One touch of a route: at which step, what it went from and to, by which operation, from which source."""

    step: str | None
    verb: str
    from_surface: str
    to_surface: str
    event: str | None
    source: str


class Route(Value):
    """How contamination gets to a surface: the events it needs and its shortest chain of touches."""

    surface: str
    endpoint: EndpointClass
    when: Literal["ever", "at-end"]
    events: tuple[str, ...]
    chain: tuple[Link, ...]


class EndpointCounts(Value):
    """Counts of cut sets by size, from 0 up to the order, for one endpoint class."""

    endpoint: EndpointClass
    ever: tuple[int, ...]
    at_end: tuple[int, ...]
    margin: int | None


class Table(Value):
    """One set of counts: from which loads, with latent faults or without."""

    loads: Literal["all", "high"]
    latent: bool
    endpoints: tuple[EndpointCounts, ...]


class StepFurther(Value):
    """Further errors before exposure at one step (exposure: mucosa or skin).

    further       errors it takes, one of them at this step, when no glove has a hidden hole; None: more than the
                  order searched
    with_fault    the same when hidden faults are there
    endpoint      the worst endpoint class that the fewest errors reach
    watch         one error at this step suffices
    """

    step: str
    number: int
    further: int | None
    with_fault: int | None
    endpoint: EndpointClass | None
    watch: bool


class MemberFound(Value):
    """What the model says of the own way out of observer or assistant.

    clean     as for a plan, with what their work and the lane are taken to have put on them
    assumed   faces taken as contaminated at its start, of what they wear and of the place
    beyond    faces of this helper that a wearer's way out reaches and that the assumption does not stand for
    """

    role: Literal["assistant", "observer"]
    clean: bool
    assumed: tuple[str, ...]
    beyond: tuple[str, ...]
    reached: tuple[Route, ...]
    weak: tuple[Route, ...]
    endpoints: tuple[EndpointCounts, ...]


class LaneFound(Value):
    """What one wearer leaves for the next, when all come out through one lane by the same plan.

    In these routes a step, surface or event of one exit is named `1/...`, `2/...`; `turnaround:1:...` stands between.

    left                  of the place and the helpers, after the first exit, every step as taught
    left_after            the same after the turnaround
    clean                 no exit adds a route as taught that its wearer alone would not have
    added                 those routes
    added_unturned        the same if the lane is not turned around at all
    weak                  one error, at another's exit or in the turnaround, reaches a wearer
    """

    wearers: int
    left: tuple[str, ...]
    left_after: tuple[str, ...]
    clean: bool
    added: tuple[Route, ...]
    added_unturned: tuple[Route, ...]
    weak: tuple[Route, ...]


class Note(Value):
    """Something to know of a step that is no verdict: an item drawn out from beneath what holds it (`what`: what holds
    it), or a touch of something that is not worn there (`what`: the reference), which so touches nothing."""

    kind: Literal["drawn-from-beneath", "touches-nothing"]
    step: str
    number: int
    what: str


class Assurance(Value):
    """Everything the model says of one sequence.

    clean      no zero-slip reach to mucosa, to a helper's skin or clothing, or to skin that is not cleaned at the end
    reached    zero-slip routes, worst first; those to skin cleaned later and to work clothing are here too
    weak       one error suffices: routes with a single event, worst first
    """

    format_version: Literal[1] = 1
    model_version: str = MODEL_VERSION
    plan: str | None
    facts: str
    order: int
    clean: bool
    verdict: Literal["clean", "reached", "not-for-this-case"]
    reached: tuple[Route, ...]
    weak: tuple[Route, ...]
    tables: tuple[Table, ...]
    steps: tuple[StepFurther, ...]
    gaps: tuple[str, ...]
    conventions: tuple[str, ...]
    flips: tuple[str, ...] = ()
    surfaces: int
    events: int
    notes: tuple[Note, ...] = ()
    team: tuple[MemberFound, ...] = ()
    lane: LaneFound | None = None

    def as_json(self) -> dict[str, Any]:
        """Plain JSON, kebab-case keys."""
        return dict(self.model_dump(mode="json", by_alias=True))


class Recovery(Value):
    """A computed continuation after something went wrong at a step; approved with the procedure, replayed before shown.

    at         the step at which it happened
    happened   event ids forced, `soiled:SURFACE`, or `envelope` for whatever may have happened at this step
    worn       what is worn at its start, in donning order
    assumed    what may be contaminated at its start
    exposed    mucosa, skin or a helper reached already: an exposure that no continuation undoes
    steps      the continuation, as step contents (act, item or items, technique, who, agent, to)
    clean      the continuation adds no zero-slip reach to what is exposed already
    """

    at: str
    happened: tuple[str, ...]
    worn: tuple[str, ...]
    assumed: tuple[str, ...]
    zone: str
    exposed: tuple[str, ...]
    steps: tuple[Step, ...]
    clean: bool
    further: tuple[EndpointCounts, ...]
