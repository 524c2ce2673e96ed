"""From the rows to what the lane is now. A few queries, however many entries there are.

States are folded once for each number of events (record/kept.py): an upload folds, and the board reads what it folded.
"""

from __future__ import annotations

import uuid
from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta

from django.db.models import Q

from vestry.entry import Course, EntryState, fold
from vestry.entry import Event as EventValue
from vestry.entry.lane import Pass, Where, pass_of
from vestry.entry.left_behind import Met, gone_of, met_by_next
from vestry.entry.queue import LaneNow, lane_now
from vestry.hospital.board.of_version import OfVersion, of_version
from vestry.hospital.record.kept import STATES, Folded, folded_of
from vestry.hospital.record.mapper import led_of, to_value
from vestry.hospital.record.models import Entry, Event
from vestry.hospital.rooms.heat_now import minutes_of

OPEN_FOR, OVER_FOR = timedelta(days=3), timedelta(hours=24)
MOST, MOST_OVER, MOST_BEFORE = 200, 40, 6


@dataclass(frozen=True)
class Seen:
    """One entry with its state and what it is for the lane."""

    entry: Entry
    state: EntryState
    of: OfVersion
    passing: Pass

    @property
    def where(self) -> Where:
        return self.passing.where

    @property
    def over(self) -> bool:
        return self.state.over

    @property
    def entry_course(self) -> Course:
        """What is led now."""
        led = led_of(self.entry.version)
        return led.course(self.state.course) or led.plan


@dataclass(frozen=True)
class Looked:
    """The lane, and everybody in it, of live entries or of drills."""

    now: datetime
    drill: bool
    seen: tuple[Seen, ...]
    lane: LaneNow
    turnaround: timedelta

    @property
    def busy(self) -> bool:
        """Whether there is anything to show: somebody under way, or a lane to be cleared."""
        return self.lane.state != "free" or any(not one.over for one in self.seen)

    def of(self, code: str) -> Seen | None:
        return next((one for one in self.seen if one.passing.code == code), None)


def look(now: datetime, turnaround: timedelta | None) -> tuple[Looked, Looked]:
    """Live entries and drills, each with a lane of its own: a drill never changes what is said of those inside.

    turnaround   the unit's own figure; None: reckoned from the facts
    """
    entries = list(_entries(now))
    states = _states(entries)
    seen = [_seen(one, states[one.pk]) for one in entries]
    return _looked(now, seen, False, turnaround), _looked(now, seen, True, turnaround)


def _looked(now: datetime, seen: Iterable[Seen], drill: bool, turnaround: timedelta | None) -> Looked:
    own = tuple(one for one in seen if one.entry.drill == drill)
    slowest = max((one.of.turned_around for one in own), default=timedelta())
    takes = slowest if turnaround is None else turnaround
    # Who went in and whose entry ended early is inside until somebody says that they are out.
    counted = [one.passing for one in own if not one.over or one.where in ("out", "inside", "in-lane")]
    return Looked(now, drill, own, lane_now(counted, now, takes), takes)


def met(looked: Looked, code: str) -> Met | None:
    """What this one meets in the lane when they come next; None where nobody went before."""
    coming = looked.of(code)
    gone = sorted(
        (one for one in looked.seen if one.where == "out" or (one.where == "in-lane" and one is not coming)),
        key=lambda one: (one.passing.out_at is None, one.passing.out_at or looked.now, one.passing.code),
    )
    if coming is None or not gone:
        return None
    before = [gone_of(one.of.program, one.state) for one in gone[-MOST_BEFORE:]]
    between = coming.of.between if looked.lane.state == "free" else ()
    return met_by_next(before, coming.of.program, between, coming.of.shared)


def _entries(now: datetime) -> Iterable[Entry]:
    rows = (
        Entry.objects.select_related("version__procedure", "wearer", "observer", "assistant")
        .defer("version__approved")
        .order_by("-created_at")
    )
    over = Q(stage__in=("closed", "abandoned"))
    yield from rows.exclude(over).filter(created_at__gt=now - OPEN_FOR)[:MOST]
    yield from rows.filter(over, created_at__gt=now - OVER_FOR)[:MOST_OVER]


def _states(entries: Iterable[Entry]) -> dict[uuid.UUID, Folded]:
    """The state of each, as it is kept or from its events: one query for all that are not kept."""
    found = {one.pk: known for one in entries if (known := STATES.get(one.pk, one.events_folded)) is not None}
    fresh = [one for one in entries if one.pk not in found]
    events: dict[uuid.UUID, list[EventValue]] = defaultdict(list)
    if fresh:
        for row in Event.objects.filter(entry__in=[one.pk for one in fresh]).order_by("sequence"):
            events[row.entry_id].append(to_value(row))
    for one in fresh:
        own = tuple(events[one.pk])
        found[one.pk] = folded_of(fold(led_of(one.version), own), own)
        STATES.put(one.pk, len(own), found[one.pk])
    return found


def _seen(entry: Entry, kept: Folded) -> Seen:
    """Its limit is the one it was opened with: the unit's, or less where heat shortened it."""
    of, state = of_version(entry.version_id), kept.state
    limit = timedelta(minutes=minutes_of(kept.opened, int(of.limit.total_seconds() // 60)))
    return Seen(entry, state, of, pass_of(str(entry.pk), led_of(entry.version), state, limit, of.seconds))
