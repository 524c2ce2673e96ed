"""Appending to the record and reading it back as values. The one way in.

1. What a device sends is taken whole or not at all: one bad event, and none of the upload is stored.
2. An event that is already there is not stored again. The same id with another content is refused.
3. All of it happens in one transaction, with the writer's lock.
4. Nothing is refused for breaking a rule of the entry: what happened is recorded, and the fold flags it.
5. What was said on a page is counted and chained here, under the lock, for the browser that said it (`page_chain`).
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any

from django.db import transaction
from django.db.models import Count, Q

from vestry.entry import BadEvent, EntryState, Led, contradictions, fold
from vestry.entry import Event as EventValue
from vestry.entry.chains import FIRST
from vestry.entry.removing import REMOVED, STILL_SAYS
from vestry.hospital.ids import uuid7
from vestry.hospital.record import chain, kept
from vestry.hospital.record.closing import tell
from vestry.hospital.record.mapper import led_of, to_row, to_value
from vestry.hospital.record.models import Entry, Event, remover_of
from vestry.hospital.record.page_chain import PageChains, next_counter, unchained
from vestry.hospital.writing import writing

WENT_OTHERWISE = ("deviation", "tear", "soiling", "zone-crossed")
"""Kinds that count as deviations; of those whose content was removed, that there were so many is left."""
CACHE = (
    "stage",
    "position",
    "events_folded",
    "entered_at",
    "left_at",
    "deviations",
    "exposures",
    "contradictions",
    "late",
)


@dataclass(frozen=True)
class Stored:
    """Which events were new, and which the record had already."""

    new: tuple[str, ...]
    known: tuple[str, ...]


def append(entry: Entry, events: Sequence[EventValue], now: datetime, *, from_a_page: bool = False) -> Stored:
    """Store these events of an entry. BadEvent when one says otherwise than the record under the same id.

    from_a_page  said on a page of the server's own: it counts them and keeps the device's chain
    """
    stored = _store(entry, events, now, from_a_page)
    if stored.new:
        tell(entry)
    return stored


def _store(entry: Entry, events: Sequence[EventValue], now: datetime, from_a_page: bool) -> Stored:
    led = led_of(entry.version)
    with writing():
        there = {str(row.client_id): row for row in Event.objects.filter(client_id__in=[one.id for one in events])}
        rows: list[Event] = []
        last = Event.objects.order_by("-sequence").first()
        sequence, previous = (last.sequence, last.hash) if last else (0, FIRST)
        chains = PageChains(entry)
        for event in events:
            if event.id in there:
                # Content that was removed is not compared, and does not come back: a tablet may send it again.
                known = to_value(there[event.id])
                same = (unchained(known, event) if from_a_page else known) == event
                if there[event.id].salt is not None and not same:
                    raise BadEvent([("id", f"{event.id} says something else already")])
                continue
            sequence += 1
            said = chains.next(event) if from_a_page else event
            row = to_row(said, entry, sequence, previous, now.astimezone(UTC).isoformat(timespec="milliseconds"))
            previous = chain.seal(row)
            chains.sealed(row)
            there[event.id] = row
            rows.append(row)
        if rows:
            Event.objects.bulk_create(rows)
            _keep(entry, led, tuple(map(to_value, rows)))
    new = tuple(str(row.client_id) for row in rows)
    return Stored(new, tuple(event.id for event in events if event.id not in new))


def say(
    entry: Entry, actor: str, device: str, said: Sequence[tuple[str, Mapping[str, Any], datetime]], now: datetime
) -> Stored:
    """Store what was said on a page: kind, payload and when of each. The server gives ids, and counts for the device.

    It counts under the writer's lock, so that two presses at once do not get the same number.
    """
    with writing():
        events = [
            EventValue(
                id=str(uuid7()),
                entry=str(entry.pk),
                kind=kind,
                payload=payload,
                actor=actor,
                device=device,
                clock=at.astimezone(UTC).isoformat(timespec="milliseconds"),
                counter=number,  # counted when it is stored
                plan=entry.version.plan_hash,
            )
            for number, (kind, payload, at) in enumerate(said)
        ]
        stored = _store(entry, events, now, from_a_page=True)
    if stored.new:
        tell(entry)
    return stored


def say_removed(entry: Entry, payload: Mapping[str, Any], now: datetime) -> None:
    """Append that content of this entry was removed. Nobody is told that more was said: nothing was of the entry."""
    device = remover_of(entry)
    event = EventValue(
        id=str(uuid7()),
        entry=str(entry.pk),
        kind=REMOVED,
        payload=payload,
        actor="",
        device=device,
        clock=now.astimezone(UTC).isoformat(timespec="milliseconds"),
        counter=next_counter(device),
        plan=entry.version.plan_hash,
    )
    _store(entry, [event], now, from_a_page=False)


def events_of(entry: Entry) -> tuple[EventValue, ...]:
    """The events of an entry, as values, in the server's order. Of those whose content was removed, what is left."""
    return tuple(to_value(row) for row in Event.objects.filter(entry=entry).order_by("sequence"))


def emptied_of(entry: Entry) -> frozenset[str]:
    """The ids of this entry's events whose content was removed."""
    return frozenset(
        str(one) for one in Event.objects.filter(entry=entry, salt=None).values_list("client_id", flat=True)
    )


def still_said(entry: Entry) -> tuple[EventValue, ...]:
    """The events that still tell something of the entry: all, but those whose content was removed and whose kind and
    clock alone say nothing."""
    rows = Event.objects.filter(entry=entry).order_by("sequence")
    return tuple(to_value(row) for row in rows if row.salt is not None or row.kind in STILL_SAYS)


def state_of(entry: Entry) -> EntryState:
    """The state of an entry, folded anew from its events."""
    return fold(led_of(entry.version), still_said(entry))


def rebuild() -> int:
    """Fill every entry's cache anew from the events; how many there were."""
    entries = list(Entry.objects.select_related("version"))
    for entry in entries:
        with writing():
            _keep(entry, led_of(entry.version))
    return len(entries)


def _keep(entry: Entry, led: Led, new: tuple[EventValue, ...] = ()) -> None:
    """Write what is listed of the entry, and keep its state once it is committed. `new`: what was just added."""
    own = Event.objects.filter(entry=entry)
    counts = own.aggregate(all=Count("sequence"), emptied=Count("sequence", filter=Q(salt=None)))
    emptied = Counter(own.filter(salt=None).values_list("kind", flat=True)) if counts["emptied"] else Counter[str]()
    events = still_said(entry) if emptied else _all_of(entry, new, counts["all"])
    state = fold(led, events)
    folded = kept.folded_of(state, events)

    def remember() -> None:
        if emptied:
            kept.EVENTS.drop(entry.pk)
            kept.STATES.drop(entry.pk)
            return
        kept.EVENTS.put(entry.pk, len(events), events)
        kept.STATES.put(entry.pk, len(events), folded)

    transaction.on_commit(remember)
    entry.stage, entry.position, entry.events_folded = state.stage, state.position, counts["all"]
    entry.entered_at, entry.left_at = (_moment(at) for at in (state.entered_at, state.left_at))
    entry.deviations = len(state.deviations) + sum(emptied[kind] for kind in WENT_OTHERWISE)
    entry.late = state.transcribed
    entry.exposures = sum(one.kind == "exposure" for one in state.noted) + emptied["exposure"]
    entry.contradictions = len(contradictions(events))
    entry.save(update_fields=CACHE)


def _all_of(entry: Entry, new: tuple[EventValue, ...], count: int) -> tuple[EventValue, ...]:
    """Every event of the entry: those that are kept in memory with the new ones, where these are all that there are."""
    before = kept.EVENTS.get(entry.pk, count - len(new)) if new else None
    return (*before, *new) if before is not None else events_of(entry)


def _moment(at: str | None) -> datetime | None:
    return datetime.fromisoformat(at) if at else None
