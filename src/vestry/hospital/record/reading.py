"""Which records someone may read, and the one door to an entry."""

from __future__ import annotations

import uuid

from django.db.models import Q, QuerySet
from django.shortcuts import get_object_or_404
from django.utils import timezone

from vestry.hospital.access.models import User
from vestry.hospital.language import speak_for
from vestry.hospital.record.models import Entry, RecordRead
from vestry.hospital.writing import writing

SEES_ALL = frozenset({"programme-lead", "shift-lead", "occupational-health", "auditor"})


def note_read(person: User, what: str, entry: Entry | None = None) -> None:
    """Write down that someone read or took away a part of the record."""
    with writing():
        RecordRead.objects.create(entry=entry, what=what, by=person, at=timezone.now())


def _with_people() -> QuerySet[Entry]:
    return Entry.objects.select_related(
        "version__procedure",
        "version__approved_by",
        "wearer",
        "observer",
        "assistant",
    ).defer("version__approved")


def records_for(person: User) -> QuerySet[Entry]:
    """All records for those who answer for the programme; their own for everyone else."""
    entries = _with_people()
    if person.roles & SEES_ALL:
        return entries
    return entries.filter(Q(observer=person) | Q(wearer=person) | Q(assistant=person))


def record_for(person: User, key: uuid.UUID) -> Entry:
    """A record that this person may read; for all others it does not exist."""
    return get_object_or_404(records_for(person), pk=key)


def entry_led_by(person: User, key: uuid.UUID) -> Entry:
    """An entry that this person leads: its observer, or a shift lead."""
    entries = _with_people()
    if "shift-lead" not in person.roles:
        entries = entries.filter(observer=person)
    return _spoken(get_object_or_404(entries, pk=key))


def entry_seen_by(person: User, key: uuid.UUID) -> Entry:
    """An entry whose wearer's screen this person may see: those in it, or a shift lead."""
    entries = _with_people()
    if "shift-lead" not in person.roles:
        entries = entries.filter(Q(observer=person) | Q(wearer=person) | Q(assistant=person))
    return _spoken(get_object_or_404(entries, pk=key))


def _spoken(entry: Entry) -> Entry:
    """From here on the page speaks as this entry may: a real one never in a translation that nobody has reviewed."""
    speak_for(entry)
    return entry
