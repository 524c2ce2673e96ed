"""Entries led part of the way straight into the record, at times that a test chooses."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime, timedelta
from typing import Any

from django.utils import timezone

from vestry.entry import Event
from vestry.hospital.desk.mapper import approved_of
from vestry.hospital.ids import uuid7
from vestry.hospital.record.models import Entry
from vestry.hospital.record.page_chain import next_counter
from vestry.hospital.record.store import append

DEVICE = "0d5c1a52-5d43-4f0a-9b1a-2f6e5b7c8d90"
TOPICS = {"area-confirmed": "area-confirmed", "signals-agreed": "signal-checked"}
Said = tuple[str, dict[str, Any]]


def open_entry(version: Any, wearer: Any, observer: Any, assistant: Any = None, *, drill: bool = False) -> Entry:
    return Entry.objects.create(
        version=version, wearer=wearer, observer=observer, assistant=assistant, drill=drill, created_at=timezone.now()
    )


def say(entry: Entry, said: Iterable[Said], at: datetime, every: timedelta = timedelta()) -> None:
    """Append these, the first at this time."""
    start, events = next_counter(DEVICE), []
    for number, (kind, payload) in enumerate(said):
        clock = (at + number * every).isoformat(timespec="milliseconds")
        events.append(
            Event(
                str(uuid7()), str(entry.pk), kind, payload, entry.observer.sign_in, DEVICE, clock, start + number,
                entry.version.plan_hash,
            )
        )  # fmt: skip
    append(entry, events, timezone.now())


def steps(entry: Entry, *phases: str, count: int | None = None) -> list[Said]:
    """Steps of these phases, done and seen, with what goes with them."""
    plan = approved_of(entry.version_id).plan
    found: list[Said] = []
    for step in [one for one in plan.steps if one.phase in phases][:count]:
        found += [("read", {"step": step.id}), ("done-seen", {"step": step.id})]
        if step.topic in TOPICS:
            found.append((TOPICS[step.topic], {}))
        elif step.act == "move" and step.to in ("room", "clean-side"):
            found.append(("entered" if step.to == "room" else "left", {}))
    return found


def opened(entry: Entry) -> Said:
    people = {"wearer": entry.wearer.sign_in, "observer": entry.observer.sign_in}
    return "opened", people | {"drill": entry.drill}


def into_the_room(entry: Entry, ago: int) -> None:
    """Opened, dressed, inside since so many minutes."""
    now = timezone.now()
    say(entry, [opened(entry), *steps(entry, "before", "donning")], now - timedelta(minutes=ago + 20))
    say(entry, steps(entry, "entry", count=2), now - timedelta(minutes=ago))


def into_the_lane(entry: Entry, ago: int, count: int = 4) -> None:
    """Inside since so many minutes, on the way out now."""
    into_the_room(entry, ago)
    now = timezone.now()
    rest = steps(entry, "entry")[len(steps(entry, "entry", count=2)) :]
    say(entry, [*rest, *steps(entry, "doffing", count=count)], now - timedelta(minutes=5))


def dressed(entry: Entry, ago: int) -> None:
    say(entry, [opened(entry), *steps(entry, "before", "donning")], timezone.now() - timedelta(minutes=ago))


def out(entry: Entry, ago: int) -> None:
    """The whole way, out since so many minutes."""
    into_the_room(entry, ago + 40)
    rest = steps(entry, "entry")[len(steps(entry, "entry", count=2)) :]
    say(entry, [*rest, *steps(entry, "doffing", "after")], timezone.now() - timedelta(minutes=ago))
