"""The bundle: all that a tablet needs to lead one entry without a network, as plain JSON. docs/reference/bundle.md.

Written for size: steps, worn sets, contaminated sets and strokes of the figure stand once each, in lists; whoever uses
them names their place. No margins, no counts, no routes: the tablet has no use for them, and they read as permission.
"""

from __future__ import annotations

import hashlib
from typing import Any, Literal

import rfc8785

from vestry.sequence.plan import PlanStep
from vestry.trade.first_hour import ListItem
from vestry.trade.values import Certainty, Id, Value

LARGEST = 4_000_000
"""Bytes of canonical JSON. A tablet's storage and a ward's network are both small."""


class BundleTooLarge(ValueError):
    """A bundle over the limit. The plain pages lead such an entry."""


class Approval(Value):
    """What was approved, by whom, on which facts and model."""

    title: str
    version: int
    approved_by: str
    at: str
    review_on: str
    facts: str
    model: str


class BundleScene(Value):
    """One step of a course: its place in `steps`, and in `outfits`, `sets` and `views` what goes with it.

    view    None where the figure cannot be drawn: the words are enough then
    slips   events that the step knows
    """

    step: int
    worn: int
    contaminated: int
    view: int | None
    slips: tuple[str, ...] = ()


class BundleCourse(Value):
    """The plan, an approved answer, or somebody's own way out: its steps as they are led. Of an answer what it assumes.

    role     of an own way out: whose
    happened, assumed, exposed, clean   as in a recovery; `assumed` and `exposed` are surfaces
    """

    name: Id
    worn: tuple[Id, ...]
    scenes: tuple[BundleScene, ...]
    at: str | None = None
    happened: tuple[str, ...] = ()
    assumed: tuple[str, ...] = ()
    exposed: tuple[str, ...] = ()
    clean: bool = True
    role: Literal["observer", "assistant"] | None = None


class BundleLine(Value):
    """A step in words."""

    say: str
    watch: str
    short: str
    waste: str = ""


class BundleStop(Value):
    """A spoken stop."""

    name: str
    say: str


class BundleWords(Value):
    """All that is said, in one language. `lines` are those of `steps`; `digest` is that of the words they come from."""

    language: str
    direction: Literal["ltr", "rtl"]
    digest: str
    lines: tuple[BundleLine, ...]
    events: dict[str, str]
    surfaces: dict[str, str]
    items: dict[str, str]
    stops: dict[str, BundleStop]
    cautions: tuple[str, ...]


class BundleView(Value):
    """One picture: strokes, as places in `pieces`. What may be contaminated is drawn in it whole, to be shown or not.

    grasp, avoid    surfaces that are ringed and crossed
    """

    side: Literal["front", "back"]
    pose: str
    grasp: tuple[str, ...]
    avoid: tuple[str, ...]
    parts: tuple[int, ...]


class Carried(Value):
    """What a bundle carries of an approved procedure: the same for every entry along it."""

    plan: str
    approval: Approval
    steps: tuple[PlanStep, ...]
    courses: tuple[BundleCourse, ...]
    outfits: tuple[tuple[Id, ...], ...]
    sets: tuple[tuple[str, ...], ...]
    program: dict[str, Any]
    items: tuple[Id, ...]
    words: BundleWords
    pieces: tuple[str, ...]
    views: tuple[BundleView, ...]


class Pin(Value):
    """A slow hash of a PIN that the tablet can check alone: PBKDF2 with SHA-256. `salt` and `hash` are hexadecimal."""

    salt: str
    rounds: int
    hash: str


class BundlePerson(Value):
    """Someone of this entry. `badge` and `pin` only for those who may lead it."""

    sign_in: str
    name: str
    given: str
    part: Literal["wearer", "observer", "assistant", "relief"]
    badge: str | None = None
    pin: Pin | None = None


class HygieneClock(Value):
    """How long a rub usually takes, or a surface keeps wet, in seconds. It informs; it ends nothing.

    own                  the unit's own record, by its product and policy; else what is shipped
    product, since, by   of the unit's own: as it is bought, in force since, who answers for it
    """

    agent: Id
    on: Literal["hands", "gloves", "surfaces"]
    sort: Literal["rub", "contact"]
    seconds: int
    source: Id
    certainty: Certainty
    own: bool = False
    product: str = ""
    since: str = ""
    by: str = ""


class Clocks(Value):
    """Times that inform.

    limit_minutes    how long this entry may last inside: the unit's limit, or less where heat shortened it at opening
    limit_source     where the unit's limit comes from
    policy_minutes   the unit's own limit
    limit_by         what set the minutes: `policy`, `core` (core temperature), `loss-most` (loss of water)
    limit_why        why heat shortened it or not, as in the event `opened`; empty where the entry does not say
    limit_says       the same in words, to be shown beside the clock
    hygiene          usual times of rubs and wipes
    """

    limit_minutes: int
    limit_source: Id
    policy_minutes: int
    limit_by: str
    limit_why: str
    limit_says: str
    hygiene: tuple[HygieneClock, ...] = ()


class Prepared(Value):
    """A short sequence for when there is no time to look for one.

    own                  the unit's own text; else the default, and not the unit's
    version, since, by   of the unit's own text: which version, in force since (UTC), written by
    """

    id: Id
    name: str
    lines: tuple[str, ...]
    own: bool = False
    version: int = 0
    since: str = ""
    by: str = ""


class DoorThing(Value):
    """A sort of thing that crosses the door, and what is asked of it there."""

    id: Id
    name: str
    direction: Literal["in", "out"]
    asks: tuple[Literal["wipe", "label", "receiver"], ...] = ()


class FirstAid(Value):
    """The unit's own words for one kind of breach or exposure; `call`: whom to call. In force since, written by."""

    kind: Id
    text: str
    since: str
    by: str


class BundleCheck(Value):
    """The unit's own list before anyone goes in. `version` 0: common practice, since the unit has written none."""

    version: int
    items: tuple[ListItem, ...]


class Decider(Value):
    """Who may override a rule by name. `badge` and `pin` where they have set one: with it they sign on the tablet."""

    sign_in: str
    name: str
    badge: str | None = None
    pin: Pin | None = None


class Before(Value):
    """What is confirmed before the first step of donning. No health data: of the wearer only may or may not.

    register     what the registers say of the wearer for this procedure, as an observer sees it; `not-known`: the
                 register does not hold them; `overridden`: may not, and a lead overrode it by name for this entry
    outsider     somebody of no register, added for this case: what is known of them, in words
    """

    area: BundleCheck
    person: BundleCheck
    signals: BundleCheck
    register_says: Literal["may", "may-not", "not-known", "overridden"]
    outsider: tuple[str, ...] = ()
    deciders: tuple[Decider, ...] = ()


class Bundle(Value):
    """One entry for one tablet. `digest`: SHA-256 of the canonical JSON of everything else."""

    format_version: Literal[1] = 1
    entry: str
    drill: bool
    unit: str
    invented: bool
    carried: Carried
    people: tuple[BundlePerson, ...]
    clocks: Clocks
    prepared: tuple[Prepared, ...] = ()
    door_things: tuple[DoorThing, ...] = ()
    first_aid: tuple[FirstAid, ...] = ()
    before: Before | None = None

    def as_json(self) -> dict[str, Any]:
        """Plain JSON with its digest. BundleTooLarge."""
        document = dict(self.model_dump(mode="json", by_alias=True))
        canonical = rfc8785.dumps(document)
        if len(canonical) > LARGEST:
            raise BundleTooLarge(f"the bundle is {len(canonical)} bytes; at most {LARGEST} go to a tablet")
        return document | {"digest": hashlib.sha256(canonical).hexdigest()}
