"""What a removal does to rows. It runs inside the transaction of a confirmed proposal, and is called from nowhere else.

Of events salt, actor and payload go, and an event of the same entry says so (vestry.entry.removing). Rows of other
tables go whole. Names on an entry go when nothing that it says is left. Somebody's name goes with the notes on them.
"""

from __future__ import annotations

import uuid
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from django.db import connection

from vestry.entry.chains import said_of
from vestry.entry.removing import REMOVED, left_of, payload_of
from vestry.hospital.access.models import User
from vestry.hospital.anteroom.models import Badge
from vestry.hospital.record.mapper import to_value
from vestry.hospital.record.models import Entry, Event
from vestry.hospital.record.store import say_removed
from vestry.hospital.registers.models import HealthRead, PersonNote, RegisteredPerson
from vestry.hospital.retention.models import LetGo, Policy, Proposal, Removal
from vestry.hospital.retention.subjects import CODE_GONE, GONE, REACHED
from vestry.retention import Sort, Subject

NAME_GONE = "Name removed"
_AT_ONCE = 400
_TABLES = {
    "record": "record_recordread",
    "health": "registers_healthread",
    "note": "registers_personnote",
    "reason": "registers_absencereason",
    "identified": "anteroom_identified",
    "link": "anteroom_wearerlink",
    "code": "anteroom_enrolmentcode",
}


def remove(done: Removal, goes: Sequence[Subject], policies: Mapping[Sort, Policy]) -> None:
    """Remove these."""
    by_sort: dict[Sort, list[str]] = defaultdict(list)
    for one in goes:
        by_sort[one.sort].append(one.key)
    for sort in ("entries", "drills"):
        own = [uuid.UUID(one) for one in by_sort[sort]]
        rows = Event.objects.filter(entry_id__in=own, salt__isnull=False).exclude(kind=REMOVED)
        if sort == "entries":
            rows = rows.exclude(kind__in=REACHED)
        if by_sort[sort]:
            _empty(done, rows, policies[sort])
    events = [key.removeprefix("event:") for key in by_sort["health"] if key.startswith("event:")]
    if events:
        _empty(done, Event.objects.filter(pk__in=events, salt__isnull=False), policies["health"])
    rows_of: dict[str, list[str]] = defaultdict(list)
    for key in [*by_sort["health"], *by_sort["reads"], *by_sort["tablets"]]:
        sort, _, row = key.partition(":")
        if sort in _TABLES:
            rows_of[_TABLES[sort]].append(row)
    # A reason before the note that it belongs to.
    for table in sorted(rows_of):
        _delete(done.proposal, table, rows_of[table])
    for key in by_sort["people"]:
        _person(done.proposal, key)


def before() -> None:
    """Outside the transaction: what SQLite frees is overwritten with zeros from here on."""
    if connection.vendor == "sqlite":
        with connection.cursor() as cursor:
            cursor.execute("PRAGMA secure_delete=ON")


def afterwards() -> None:
    """What stands in SQLite's log of writes goes into the file, and the log is emptied, as far as nobody reads it."""
    if connection.vendor == "sqlite" and not connection.in_atomic_block:
        with connection.cursor() as cursor:
            cursor.execute("PRAGMA wal_checkpoint(TRUNCATE)")


def _empty(done: Removal, rows: Any, policy: Policy) -> None:
    """Take away what these events said, entry by entry."""
    by_entry: dict[Any, list[Event]] = defaultdict(list)
    for row in rows.order_by("sequence"):
        by_entry[row.entry_id].append(row)
    for entry in Entry.objects.filter(pk__in=list(by_entry)).select_related("version").defer("version__approved"):
        own = by_entry[entry.pk]
        _named(done.proposal, "record_event", [str(row.pk) for row in own])
        for some in _portions([row.pk for row in own]):
            with connection.cursor() as cursor:
                places = ", ".join(["%s"] * len(some))
                cursor.execute(
                    f"UPDATE record_event SET salt = NULL, actor = '', payload = '{{}}' WHERE sequence IN ({places})",
                    some,
                )
        left = [(row.pk, left_of(said_of(to_value(row)))) for row in own]
        say_removed(entry, payload_of(done.at.date().isoformat(), _told(policy), str(done.pk), left), done.at)
        if not Event.objects.filter(entry=entry, salt__isnull=False).exclude(kind=REMOVED).exists():
            nobody = _nobody()
            entry.wearer = entry.observer = nobody
            entry.assistant = nobody if entry.assistant_id else None
            entry.save(update_fields=["wearer", "observer", "assistant"])


def _told(policy: Policy) -> str:
    """The policy as the record names it for ever."""
    law = f"; {policy.source}" if policy.source else ""
    return f"policy {policy.pk}, {policy.sort}, {policy.days} days: {policy.reason}{law}"


def _person(proposal: Proposal, key: str) -> None:
    sort, _, row = key.partition(":")
    if sort == "user":
        _nameless(User.objects.get(pk=row), proposal)
        return
    person = RegisteredPerson.objects.get(pk=row)
    notes = PersonNote.objects.filter(person=person)
    _delete(proposal, "registers_absencereason", _keys(notes.exclude(reason=None).values_list("reason__pk", flat=True)))
    _delete(proposal, "registers_personnote", _keys(notes.values_list("pk", flat=True)))
    reads = HealthRead.objects.filter(person=person)
    _delete(proposal, "registers_healthread", _keys(reads.values_list("pk", flat=True)))
    user, person.user = person.user, None
    person.name, person.code = NAME_GONE, f"{CODE_GONE}{uuid.uuid4().hex[:12]}"
    person.save(update_fields=["name", "code", "user"])
    if user is not None:
        _nameless(user, proposal)


def _nameless(user: User, proposal: Proposal) -> None:
    badges = Badge.objects.filter(person=user)
    _delete(proposal, "anteroom_badge", _keys(badges.values_list("pk", flat=True)))
    user.sign_in, user.name = f"{GONE}-{user.pk}", NAME_GONE
    user.set_unusable_password()
    user.grants.all().delete()
    user.save(update_fields=["sign_in", "name", "password"])


def _nobody() -> User:
    """Who stands for people whose names were removed. May not sign in, and can do nothing."""
    found = User.objects.filter(sign_in=GONE).first()
    if found is None:
        found = User(sign_in=GONE, name=NAME_GONE, is_active=False)
        found.set_unusable_password()
        found.save()
    return found


def _keys(keys: Iterable[Any]) -> list[str]:
    return [str(one) for one in keys]


def _delete(proposal: Proposal, table: str, keys: Sequence[str]) -> None:
    _named(proposal, table, keys)
    kept: list[Any] = [uuid.UUID(one).hex if "-" in one and connection.vendor == "sqlite" else one for one in keys]
    for some in _portions(kept):
        with connection.cursor() as cursor:
            places = ", ".join(["%s"] * len(some))
            cursor.execute(f"DELETE FROM {table} WHERE id IN ({places})", some)


def _named(proposal: Proposal, table: str, keys: Sequence[str]) -> None:
    """Name the rows; only then does the database let them go."""
    LetGo.objects.bulk_create(
        (LetGo(proposal=proposal, of_table=table, key=one.replace("-", "")) for one in keys), batch_size=_AT_ONCE
    )


def _portions(keys: Sequence[Any]) -> Iterable[list[Any]]:
    for start in range(0, len(keys), _AT_ONCE):
        yield list(keys[start : start + _AT_ONCE])
