"""The contract `CaseChange`: a case changes while people are inside. Ids and numbers; no words.

It is computed, not approved. Where an exit that the unit practises still stands, it comes first (`take`).
"""

from __future__ import annotations

from typing import Any, Literal

from pydantic import Field

from vestry.sequence.assurance import MODEL_VERSION, Assurance, Route
from vestry.sequence.case import Case
from vestry.sequence.comparison import Comparison, Seconds
from vestry.sequence.plan import Plan
from vestry.trade.values import Certainty, Id, LoadClass, Value, VirusClass, Zone

MOST_INSIDE = 40

Changed = Literal["hazard", "presentation", "tasks", "ruled-out"]
Cover = Literal["sealing", "open", "clothing", "nothing"]
Why = Literal["face-or-head", "under-what-is-worn", "not-at-hand", "policy"]
Because = Literal[
    "lane-is-theirs",
    "may-be-reached",
    "airways-or-eyes-uncovered",
    "skin-uncovered",
    "not-enough",
    "more-unmet",
    "no-clean-exit",
    "fewer-further-errors",
    "less-time-left",
    "by-code",
    "last",
]


class Inside(Value):
    """Someone inside, or on the way out.

    code          the unit's own code for them
    worn          what is worn now, in donning order; None: what the plan wears, at `at` where that is given
    at            the step of the plan's way out that was done last; None: the way out was not begun
    zone          where they are; None: in the room, or where `at` leaves them
    happened      events of the contact model that did happen by then (a deviation); only with `at`
    contaminated  surfaces that may be contaminated besides what the room and the steps put there
    minutes       since they went in; None: not known
    """

    code: Id
    worn: tuple[Id, ...] | None = Field(default=None, max_length=40)
    at: str | None = None
    zone: Zone | None = None
    happened: tuple[str, ...] = ()
    contaminated: tuple[str, ...] = ()
    minutes: int | None = Field(default=None, ge=0, le=1440)


class InsideFile(Value):
    """Who is inside, as a file."""

    format_version: Literal[1] = 1
    inside: tuple[Inside, ...] = Field(max_length=MOST_INSIDE)


class Lack(Value):
    """A requirement of the new case that what is worn does not meet at a site. `would`: what would meet it."""

    requirement: Id
    site: Id
    need: str
    route: str
    source: Id
    certainty: Certainty
    would: tuple[Id, ...]


class Loaded(Value):
    """A face of what is worn on which the new case puts another load than the case before."""

    surface: str
    before: LoadClass
    after: LoadClass


class Stopped(Value):
    """What the new case brings to a body site, and what what is worn leaves of it.

    load      what the room would put on something worn there, uncovered
    by        the outermost face that covers the site
    cover     sealing stops it; open lowers it by one class; clothing: work clothing takes it; nothing covers
    through   the class that is left
    was       the class that was left in the case before
    """

    site: Id
    load: LoadClass
    by: str | None
    cover: Cover
    through: LoadClass
    was: LoadClass


class Adding(Value):
    """A piece that would meet a requirement, and whether it may be put on inside.

    Never face protection or what sits on the head, never what goes under what is worn; what is left is for the unit's
    policy to allow.
    """

    item: Id
    may: bool
    why: Why | None


class Person(Value):
    """What the change means for one of them.

    out           on the way out already: `lacks` is told of what was worn in the room, where that is known
    enough        every requirement of the new case is met
    uncovered     sites that nothing covers although the new case loads them, `airways` where nothing filters
    add           the fewest pieces that may be put on inside and make it enough; empty where there are none
    stays         may stay: enough as it is, or with what is added
    missing       of what the policy would wear for the new case, what they do not and what would meet something
                  that is missing; empty where theirs is enough
    minutes_left  until the unit's limit; None: not known
    exit          name of the exit (Exit.plan); None: none was found, `no_exit` says why
    """

    code: Id
    worn: tuple[Id, ...]
    zone: Zone
    out: bool
    enough: bool
    lacks: tuple[Lack, ...]
    loads: tuple[Loaded, ...]
    sites: tuple[Stopped, ...]
    uncovered: tuple[str, ...]
    adding: tuple[Adding, ...]
    add: tuple[Id, ...]
    stays: bool
    missing: tuple[Id, ...]
    minutes: int | None
    minutes_left: int | None
    exit: str | None
    no_exit: str | None = None


class PractisedExit(Value):
    """The exit of a plan that wears the same, from the same start, judged for the new case.

    own       the plan that they were dressed by
    approved  approved by the unit; else only what they were dressed by
    stands    clean as taught for the new case, and no rule in force is broken
    fewest    as of the computed exit
    same      the same steps as the computed exit
    """

    name: str
    title: str
    plan: str
    own: bool
    approved: bool
    stands: bool
    clean: bool
    rules_broken: tuple[Id, ...]
    reached: tuple[Route, ...]
    fewest: int | None
    same: bool


class Exit(Value):
    """The way out from what is worn now, under the new case; replayed by the checker from its stated start.

    exposed      mucosa, skin or a helper that may be reached already: no exit undoes it
    clean        as taught it reaches nothing further of these
    fewest       the fewest further errors before exposure at any step; None: more than the order searched
    rules_left   order rules in force that no order of removals can keep here
    people       who a rule asks for and the policy leaves away; None: nobody
    practised    exits of plans that wear the same, best first; `take` names the first that stands
    comparison   a: the practised exit that stands, else the one they were dressed for; b: this one
    """

    plan: Plan
    assurance: Assurance
    exposed: tuple[str, ...]
    clean: bool
    fewest: int | None
    rules_left: tuple[Id, ...]
    people: str | None
    practised: tuple[PractisedExit, ...]
    take: str | None
    comparison: Comparison | None
    time: Seconds


class Turn(Value):
    """Who leaves at which place, if all leave. `because`: what puts them before the next.

    wait   until the lane is theirs, without the turnarounds; `late`: their limit passes before they are out
    """

    place: int
    code: Id
    must: bool
    because: Because
    wait: Seconds
    late: bool | None


class ChangedLane(Value):
    """What those who leave first leave for the next, in this order, through one lane. Names as in `LaneFound`."""

    clean: bool
    left: tuple[str, ...]
    added: tuple[Route, ...]
    added_unturned: tuple[Route, ...]


class AgentFound(Value):
    """A hygiene agent of the policy, and whether it counts as cleaning there."""

    agent: Id
    on: Literal["gloves", "hands", "surfaces"]
    before: bool
    after: bool


class Followed(Value):
    """What a hazard means for those who were inside: days of monitoring, threshold, where waste goes.

    days, celsius_tenths   None: not known; `days_default` is then the cautious default, marked judgement
    """

    hazard: Id
    days: int | None
    days_default: int | None
    days_source: Id
    days_certainty: Certainty
    celsius_tenths: int | None
    celsius_source: Id
    celsius_certainty: Certainty
    waste: Id
    virus_class: VirusClass


class NextIn(Value):
    """What who goes in next would wear; or which sites the gear at hand leaves open."""

    worn: tuple[Id, ...]
    open: tuple[Lack, ...]
    why: str | None = None


class CaseChange(Value):
    """Everything that a change of case means for those inside.

    after        None: ruled out, and no other hazard is named
    changed      what differs; empty: the case is the same
    gained, lost requirements that hold only in the new case, or only in the case before
    enough       everybody's gear is enough as it is worn
    """

    format_version: Literal[1] = 1
    model_version: str = MODEL_VERSION
    facts: str
    plan: str
    before: Case
    after: Case | None
    ruled_out: Id | None
    changed: tuple[Changed, ...]
    gained: tuple[Id, ...]
    lost: tuple[Id, ...]
    agents: tuple[AgentFound, ...]
    followed_before: Followed
    followed_after: Followed | None
    next_in: NextIn | None
    people: tuple[Person, ...]
    exits: tuple[Exit, ...]
    order: tuple[Turn, ...]
    lane: ChangedLane | None
    enough: bool
    approved: Literal[False] = False

    def as_json(self) -> dict[str, Any]:
        """Plain JSON, kebab-case keys. A plan in it leaves out what says nothing, as it does by itself."""
        document = dict(self.model_dump(mode="json", by_alias=True))
        for told, one in zip(document["exits"], self.exits, strict=True):
            told["plan"] = one.plan.as_json()
        return document

    def exit_of(self, person: Person) -> Exit | None:
        """The exit that a person takes."""
        return next((one for one in self.exits if one.plan.hash == person.exit), None)
