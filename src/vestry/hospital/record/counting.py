"""How often the unit's entries went otherwise than taught, from the record: of the unit, never of a person."""

from __future__ import annotations

from functools import lru_cache

from django.db.models import Max

from vestry.entry import Counted, counted
from vestry.hospital.desk.mapper import approved_of
from vestry.hospital.record.models import Entry, Event
from vestry.hospital.record.store import state_of


def counts(*, drills: bool = False) -> Counted:
    """The counts of all entries that are over; of drills instead, where asked. Drills are never mixed with entries.

    Entries whose content was removed tell no steps any more, and are in no count.
    """
    newest = Event.objects.aggregate(newest=Max("sequence"))["newest"] or 0
    return _counts(drills, newest, Event.objects.filter(sequence=newest).values_list("hash", flat=True).first() or "")


@lru_cache(maxsize=8)
def _counts(drills: bool, newest: int, head: str) -> Counted:
    """Until the record grows; its newest event names it."""
    emptied = Event.objects.filter(salt=None).values("entry_id")
    entries = Entry.objects.filter(drill=drills).exclude(pk__in=emptied)
    entries = entries.select_related("version").defer("version__approved")
    return counted(
        (state_of(entry), {scene.step: scene.slips for scene in approved_of(entry.version_id).scenes})
        for entry in entries
    )


def forget() -> None:
    """Keep no counts of before: content was removed from the record."""
    _counts.cache_clear()
