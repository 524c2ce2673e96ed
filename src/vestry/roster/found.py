"""The contract `Roster`: who is asked for what, what stays uncovered, and the smallest change that would close it."""

from __future__ import annotations

from datetime import date
from typing import Any, Literal

from vestry.roster.rota import Able, Assigned, Duty
from vestry.trade.values import Id, Value

WhyNot = Literal["away", "other-duty", "rest", "limit"]


class Reasons(Value):
    """Why those who are qualified are not asked, each counted once, by the first that holds.

    away         cannot be asked for this shift
    other_duty   on another duty of this shift
    rest         another shift is too close
    limit        at a limit of days, shifts or hours
    """

    qualified: int
    away: int
    other_duty: int
    rest: int
    limit: int


class Gap(Value):
    """Places of a duty that stay empty. `needed` of them there are, `there` are filled."""

    day: date
    shift: Id
    duty: Duty
    needed: int
    there: int
    reasons: Reasons


class Change(Value):
    """One change to what is given.

    qualify       somebody learns a duty
    one-more      somebody works one shift more than a limit allows
    one-person    somebody joins who may do these duties (`duties`)
    """

    kind: Literal["qualify", "one-more", "one-person"]
    person: str | None = None
    duty: Able | None = None
    duties: tuple[Able, ...] = ()


class Closing(Value):
    """The fewest changes after which nothing is uncovered.

    found      changes: here they are; none-needed; too-many: more than were searched for; not-settled: no proof in time
    fewest     whether no smaller set does
    """

    found: Literal["changes", "none-needed", "too-many", "not-settled"]
    changes: tuple[Change, ...] = ()
    fewest: bool = False


class Load(Value):
    """What one person is asked for, in shifts and hours; `inside`: shifts inside or as relief."""

    person: str
    shifts: int
    hours: int
    inside: int


class Needed(Value):
    """People that one shift of one day needs for a duty, and who is asked."""

    day: date
    shift: Id
    duty: Duty
    needed: int
    people: tuple[str, ...]

    @property
    def empty(self) -> int:
        """Places that nobody fills."""
        return self.needed - len(self.people)


class Roster(Value):
    """A proposal, to take or to leave; or a grid as it stands.

    proposed     false: only what was fixed, looked at
    uncovered    places that stay empty
    fewest       no roster under these rules leaves fewer empty
    only         of all such rosters this is the one by which ties are settled; false: that was not shown
    """

    format_version: Literal[1] = 1
    title: str
    starts: date
    days: int
    proposed: bool
    uncovered: int
    fewest: bool
    only: bool
    assigned: tuple[Assigned, ...]
    grid: tuple[Needed, ...]
    gaps: tuple[Gap, ...]
    closing: Closing
    loads: tuple[Load, ...]

    def as_json(self) -> dict[str, Any]:
        """Plain JSON, kebab-case keys."""
        return dict(self.model_dump(mode="json", by_alias=True))
