"""The state of an entry: what was read, done and seen; what is held; what went otherwise. Folded, never stored.

`as_json()` is its contract (docs/reference/events.md, "State"): the browser's fold gives the very same document.
"""

from __future__ import annotations

from dataclasses import asdict, dataclass, field
from typing import Any, Literal

from vestry.entry.courses import PLAN

Stage = Literal["not-opened", "under-way", "held", "walked", "closed", "abandoned"]


@dataclass(frozen=True)
class StepRecord:
    """One step of a course as it went. Times are the device's, ISO 8601; None: not yet, or never.

    late   done as transcribed from paper afterwards
    """

    course: str
    step: str
    stop_said_at: str | None = None
    read_at: str | None = None
    acknowledged_at: str | None = None
    done_at: str | None = None
    seen: bool | None = None
    prompted: int = 0
    late: bool = False

    @property
    def done(self) -> bool:
        """Whether the act was done, seen or not."""
        return self.done_at is not None


@dataclass(frozen=True)
class Deviation:
    """A departure from a step: when, at which, and what was seen to happen (event ids; empty: not sure).

    touched   the item that tore, or the surface that was soiled, where it was said
    course    what was led then
    """

    at: str
    step: str
    events: tuple[str, ...]
    note: str = ""
    kind: str = "deviation"
    answered_by: str | None = None
    touched: str | None = None
    course: str = PLAN


@dataclass(frozen=True)
class Held:
    """STOP was called at this step of this course. `happened` is set once it was said what.

    trouble   the wearer's own: `unwell`, `lost-air`, or as it was said; None: none was said
    """

    at: str
    course: str
    step: str
    happened: Deviation | None = None
    trouble: str | None = None


@dataclass(frozen=True)
class Crossing:
    """A thing that crossed the door.

    direction   `out` or `in`, as it was said
    wiped       whether it was said to be wiped; None: nothing was said
    """

    at: str
    item: str
    direction: str = ""
    wiped: bool | None = None
    label: str = ""
    receiver: str = ""
    note: str = ""


@dataclass(frozen=True)
class Flag:
    """Something in the record that departs from how an entry is led. It was recorded all the same."""

    at: str
    event: str
    what: str


@dataclass(frozen=True)
class Noted:
    """Something that was said beside the steps: when, its kind, and what about.

    what   the item that crossed, the site of a breach, the seconds of a rub, who took over, what was put in
    note   what was added in words; of a breach its sort, of a rub that ended early `short`
    """

    at: str
    kind: str
    what: str = ""
    step: str | None = None
    note: str = ""


@dataclass(frozen=True)
class Injected:
    """What a trainer put in for a drill: when, what (`tear`, `splash`, or as it was said), at which step.

    surface   where on the figure it is marked, for the drill; None: nowhere
    met_at    when the team answered it: STOP, or a word of what happened; None: not yet
    """

    at: str
    what: str
    step: str | None = None
    surface: str | None = None
    met_at: str | None = None


@dataclass(frozen=True)
class OwnWay:
    """How observer or assistant came out of their own gear in this entry. Times are the device's; None: not yet.

    how       what was said of it: `observed`, or `mirror`
    why_not   why it is not done in this entry, where that was said
    """

    role: str
    begun_at: str | None = None
    how: str = ""
    done_at: str | None = None
    why_not: str = ""

    @property
    def settled(self) -> bool:
        """Whether it was done, or it was said why not."""
        return self.done_at is not None or self.why_not != ""


@dataclass(frozen=True)
class Checked:
    """What was said last of one item of a list before anyone goes in.

    says       `in-order`; `not-in-order`: it holds; `goes-on`: not in order, and overridden by name
    once_not   it was not in order at some time, though it may be now
    """

    at: str
    check: str
    item: str
    says: str
    once_not: bool = False


@dataclass(frozen=True)
class EntryState:
    """Where an entry stands.

    one_press          a step needs one press (done and seen), not first that it was read
    may_go_in          what was said of the person; None: not yet
    checks             items of the lists before anyone goes in, each as it was said last, first said first
    course, position   what is led now, and how many of its steps are behind
    worn               what is worn by whoever is led now, from the items put on and taken off
    dressed_at         when the last step of donning was done
    lane_done          what was done of the turnaround since the wearer left (entry.turnaround), in order
    lane_cleared_at    when the last of it was
    team               those beside the wearer whose own way out belongs to the entry, in the order in which they go
    noted              what was said beside the steps, in order
    coming_out_at      when the way out began
    holds              from when to when the entry was held; None: it still is
    crossings          things that crossed the door
    taken_back         ids of events that were said to be wrong presses
    devices            devices that spoke, in the order of their first word; `leads` is the one that leads
    transcribed        whether something was written down afterwards from paper
    unknown            kinds that were kept without being understood, once each
    """

    stage: Stage = "not-opened"
    wearer: str | None = None
    observer: str | None = None
    assistant: str | None = None
    drill: bool = False
    one_press: bool = False
    opened_at: str | None = None
    dressed_at: str | None = None
    entered_at: str | None = None
    coming_out_at: str | None = None
    left_at: str | None = None
    closed_at: str | None = None
    area_confirmed_at: str | None = None
    signals_checked_at: str | None = None
    may_go_in: bool | None = None
    checks: tuple[Checked, ...] = ()
    course: str = PLAN
    position: int = 0
    worn: tuple[str, ...] = ()
    steps: tuple[StepRecord, ...] = ()
    held: Held | None = None
    holds: tuple[tuple[str, str | None], ...] = ()
    deviations: tuple[Deviation, ...] = ()
    near_misses: tuple[tuple[str, str], ...] = ()
    recoveries: tuple[tuple[str, str], ...] = ()
    flags: tuple[Flag, ...] = ()
    corrections: tuple[str, ...] = ()
    noted: tuple[Noted, ...] = ()
    crossings: tuple[Crossing, ...] = ()
    injected: tuple[Injected, ...] = ()
    lane_done: tuple[str, ...] = ()
    lane_cleared_at: str | None = None
    team: tuple[OwnWay, ...] = ()
    taken_back: tuple[str, ...] = ()
    devices: tuple[str, ...] = ()
    leads: str | None = None
    transcribed: bool = False
    unknown: tuple[str, ...] = field(default=())

    def record(self, step: str, course: str | None = None) -> StepRecord | None:
        """The record of a step in a course (the one led now, if none is named)."""
        wanted = course or self.course
        return next((one for one in self.steps if one.step == step and one.course == wanted), None)

    @property
    def over(self) -> bool:
        """Whether nothing more is led."""
        return self.stage in ("closed", "abandoned")

    def as_json(self) -> dict[str, Any]:
        """Plain JSON, kebab-case keys."""
        return dict(_kebab(asdict(self)))


def _kebab(value: Any) -> Any:
    if isinstance(value, dict):
        return {key.replace("_", "-"): _kebab(one) for key, one in value.items()}
    return [_kebab(one) for one in value] if isinstance(value, list | tuple) else value
