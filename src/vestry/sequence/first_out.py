"""Who leaves first, and what the first leave in the lane for the next.

1. Who is on the way out has the lane, the one with less still to come off first.
2. Then who may be reached already, more sites first.
3. Then whose gear is not enough: airways, nose, mouth or eyes uncovered where the new case loads them, the more the
   earlier; then other skin; then the number of requirements not met.
4. Then who has no exit that is clean as taught; then whose exit has fewer further errors before exposure at its weakest
   step.
5. Then who has less time left; a time inside that is not known is taken as used up.
6. Then by code, so that the same question always has the same answer.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from vestry.contact.check import as_taught
from vestry.contact.exposure import Setting
from vestry.contact.lane import in_one_lane
from vestry.contact.program import Program
from vestry.contact.reach import reach
from vestry.sequence.assurance import Route
from vestry.sequence.case_change import Because, ChangedLane, Exit, Person, Turn
from vestry.sequence.comparison import Seconds
from vestry.sequence.lane import shared_owners, turnaround
from vestry.sequence.policy import Policy
from vestry.sequence.routes import route
from vestry.sequence.timing import Span
from vestry.trade import Catalogue

WORST = frozenset({"eyes", "nose-mouth", "airways"})
MORE_THAN_SEARCHED = 99
Key = tuple[int | str, ...]

_REASONS: tuple[Because, ...] = (
    "lane-is-theirs",
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
)


def in_order(people: Sequence[Person], exits: Mapping[str, Exit], limit: int) -> tuple[Turn, ...]:
    """The order of leaving, each with what puts them before the next; `limit` is the unit's, in minutes."""
    keys = {person.code: _key(person, exits) for person in people}
    ordered = sorted(people, key=lambda person: keys[person.code])
    turns, wait = [], Span()
    for place, person in enumerate(ordered, 1):
        after = keys[ordered[place].code] if place < len(ordered) else None
        own = exits[person.exit].time if person.exit else Seconds(seconds=0, least=0, most=0)
        turns.append(
            Turn(
                place=place,
                code=person.code,
                must=not person.stays,
                because="last" if after is None else _because(keys[person.code], after),
                wait=Seconds(seconds=wait.seconds, least=wait.least, most=wait.most),
                late=_late(person, wait.seconds + own.seconds),
            )
        )
        wait += Span(own.seconds, own.least, own.most)
    return tuple(turns)


def _key(person: Person, exits: Mapping[str, Exit]) -> Key:
    """What the order is by, each part the smaller the earlier; in the order of `_REASONS`."""
    bare = set(person.uncovered) if not person.enough else set()
    way = exits.get(person.exit or "")
    fewest = _weakest(way) if way else None
    left = person.minutes_left
    return (
        0 if person.out else 1,
        len(person.worn) if person.out else 0,
        -len(way.exposed) if way else 0,
        -len(bare & WORST),
        -len(bare - WORST),
        0 if not person.stays else 1 if not person.enough else 2,
        -len(person.lacks),
        0 if way is None or not _clean(way) else 1,
        MORE_THAN_SEARCHED if fewest is None else fewest,
        0 if left is None else max(left, 0),
        person.code,
    )


def _clean(way: Exit) -> bool:
    """Whether the exit that is taken is clean as taught."""
    return way.clean or way.take is not None


def _weakest(way: Exit) -> int | None:
    """The fewest further errors at any step of the exit that is taken."""
    return next((one.fewest for one in way.practised if one.name == way.take), way.fewest)


def _because(key: Key, after: Key) -> Because:
    return next(reason for reason, mine, theirs in zip(_REASONS, key, after, strict=True) if mine != theirs)


def _late(person: Person, seconds: int) -> bool | None:
    """Whether the unit's limit passes before they are out; None where their time inside is not known."""
    return None if person.minutes_left is None else seconds > person.minutes_left * 60


# ---- the lane ----


def lane_of(programs: Sequence[Program], policy: Policy, catalogue: Catalogue, setting: Setting) -> ChangedLane:
    """All exits through one lane in this order, the unit's turnaround between two."""
    shared = shared_owners(catalogue)
    turned, unturned = (
        in_one_lane(programs, between, shared) for between in (turnaround(policy, catalogue, setting), ())
    )
    owners = {"place", *catalogue.helpers}
    names = {turned.surfaces[number] for number in reach(turned).after[-1]}
    added = _added(turned, programs)
    return ChangedLane(
        clean=not any(one.endpoint in ("mucosa", "skin") for one in added),
        left=tuple(sorted(name for name in names if name.partition(".")[0] in owners)),
        added=added,
        added_unturned=_added(unturned, programs),
    )


def _added(lane: Program, programs: Sequence[Program]) -> tuple[Route, ...]:
    """Routes as taught to a later wearer that their exit alone does not have."""
    alone = [{one.surface for one in as_taught(program)} for program in programs]
    found = []
    for one in as_taught(lane):
        number, _, name = one.surface.rpartition("/")
        if number.isdigit() and int(number) > 1 and name not in alone[int(number) - 1]:
            found.append(route(lane, one))
    return tuple(found)
