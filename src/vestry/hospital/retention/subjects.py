"""What is kept, as subjects of keeping and letting go. Django ends here."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from datetime import UTC, datetime, time
from typing import Any

from django.db.models import Max

from vestry.entry.removing import REMOVED
from vestry.hospital.access.models import AccessChanged, User
from vestry.hospital.anteroom.models import EnrolmentCode, Identified, WearerLink
from vestry.hospital.desk.models import ProcedureVersion
from vestry.hospital.record.models import Entry, Event, ExposureTaken, RecordRead
from vestry.hospital.registers.models import AbsenceReason, HealthRead, PersonNote, RegisteredPerson
from vestry.hospital.retention import refusal_log
from vestry.retention import Sort, Subject

REACHED = ("breach", "exposure")
"""Kinds of events that are about health: in a real entry they go under that policy, not with the entry."""
GONE = "name-removed"
"""Sign-in name of whoever stands for people whose names were removed."""
CODE_GONE = "removed:"
"""How the staff code of somebody begins whose name was removed."""
MANY: frozenset[Sort] = frozenset({"reads", "refusals", "tablets"})
"""Sorts of which a proposal counts what it lists, and does not name it."""


def user_key(key: Any) -> str:
    return f"user:{key}"


def registered_key(key: Any) -> str:
    return f"registered:{key}"


@dataclass
class _People:
    """Who is who: a user and their place on the register are one person."""

    by_user: dict[int, str] = field(default_factory=dict)
    by_registered: dict[str, int] = field(default_factory=dict)
    by_sign_in: dict[str, int] = field(default_factory=dict)

    @classmethod
    def now(cls) -> _People:
        linked = RegisteredPerson.objects.exclude(user=None).values_list("pk", "user_id")
        return cls(
            {user: str(pk) for pk, user in linked if user},
            {str(pk): user for pk, user in linked if user},
            dict(User.objects.values_list("sign_in", "pk")),
        )

    def users(self, keys: Iterable[int | None]) -> frozenset[str]:
        found = {user_key(one) for one in keys if one}
        return frozenset(found | {registered_key(self.by_user[one]) for one in keys if one in self.by_user})

    def registered(self, key: Any) -> frozenset[str]:
        user = self.by_registered.get(str(key))
        return frozenset({registered_key(key)} | ({user_key(user)} if user else set()))

    def signed_in(self, names: Iterable[str]) -> frozenset[str]:
        return self.users([self.by_sign_in.get(one) for one in names])


def subjects(sorts: Collection[Sort], *, live: bool = True) -> Iterator[Subject]:
    """Everything of these sorts that is kept. live: this process is the one that serves, and may cut its own log."""
    people = _People.now()
    makers: Mapping[Sort, Callable[[], Iterable[Subject]]] = {
        "entries": lambda: _entries(people, drill=False),
        "drills": lambda: _entries(people, drill=True),
        "health": lambda: _health(people),
        "reads": lambda: _reads(people),
        "refusals": lambda: refusal_log.subjects(people.signed_in, live=live),
        "people": lambda: _gone_people(people),
        "tablets": lambda: _tablets(people),
    }
    for sort in sorts:
        yield from makers[sort]()


def _entries(people: _People, *, drill: bool) -> Iterator[Subject]:
    """Entries of which content is left that goes with the entry. Of a drill everything does."""
    rows = Event.objects.filter(entry__drill=drill, salt__isnull=False).exclude(kind=REMOVED)
    reached: dict[Any, set[str]] = defaultdict(set)
    for sequence, entry in Event.objects.filter(entry__drill=drill, kind__in=REACHED).values_list("pk", "entry_id"):
        reached[entry].add(str(sequence))
    if not drill:
        rows = rows.exclude(kind__in=REACHED)
    actors: dict[Any, set[str]] = defaultdict(set)
    for entry, actor in rows.order_by().values_list("entry_id", "actor").distinct():
        actors[entry].add(actor)
    last = dict(rows.order_by().values_list("entry_id").annotate(Max("server_time")))
    for one in Entry.objects.filter(pk__in=list(last)).only("pk", "stage", "wearer_id", "observer_id", "assistant_id"):
        who = people.users([one.wearer_id, one.observer_id, one.assistant_id]) | people.signed_in(actors[one.pk])
        yield Subject(
            "drills" if drill else "entries",
            str(one.pk),
            datetime.fromisoformat(last[one.pk]),
            open=one.stage not in ("closed", "abandoned"),
            entries=frozenset({str(one.pk)}),
            people=who,
            exposures=frozenset(reached[one.pk]),
        )


def _health(people: _People) -> Iterator[Subject]:
    rows = Event.objects.filter(entry__drill=False, kind__in=REACHED, salt__isnull=False).select_related("entry")
    taken = dict(ExposureTaken.objects.values_list("event_id", "at"))
    for row in rows.defer("entry__version"):
        said, entry = datetime.fromisoformat(row.server_time), row.entry
        yield Subject(
            "health",
            f"event:{row.pk}",
            max(said, taken.get(row.pk, said)),
            open=entry.stage not in ("closed", "abandoned") or (row.kind == "exposure" and row.pk not in taken),
            entries=frozenset({str(entry.pk)}),
            people=people.users([entry.wearer_id, entry.observer_id, entry.assistant_id]),
            exposures=frozenset({str(row.pk)}),
        )
    yield from _clearances(people)
    for reason in AbsenceReason.objects.select_related("note"):
        until = reason.note.said.get("until")
        ended = datetime.combine(datetime.fromisoformat(until), time(), UTC) if until else None
        yield Subject(
            "health",
            f"reason:{reason.pk}",
            max(ended, reason.note.at) if ended else reason.note.at,
            open=ended is None,
            people=people.registered(reason.note.person_id),
        )


def _clearances(people: _People) -> Iterator[Subject]:
    """Clearances that do not count any more: of people no longer here, or with a newer one. What counts is open."""
    newest: set[Any] = set()
    for note in PersonNote.objects.filter(kind="clearance").select_related("person").order_by("-at", "-pk"):
        counts = note.person.active and note.person_id not in newest
        newest.add(note.person_id)
        yield Subject("health", f"note:{note.pk}", note.at, open=counts, people=people.registered(note.person_id))


def _reads(people: _People) -> Iterator[Subject]:
    for key, at, by, entry in RecordRead.objects.values_list("pk", "at", "by_id", "entry_id").iterator():
        entries = frozenset({str(entry)} if entry else ())
        yield Subject("reads", f"record:{key}", at, entries=entries, people=people.users([by]))
    for key, at, by, person in HealthRead.objects.values_list("pk", "at", "by_id", "person_id").iterator():
        yield Subject("reads", f"health:{key}", at, people=people.users([by]) | people.registered(person))


def _gone_people(people: _People) -> Iterator[Subject]:
    """People who are on the register no more, and may not sign in any more, where they could."""
    named = _named()
    last_note = dict(PersonNote.objects.order_by().values_list("person_id").annotate(Max("at")))
    here = frozenset(User.objects.filter(is_active=True).values_list("pk", flat=True))
    for one in RegisteredPerson.objects.exclude(code__startswith=CODE_GONE):
        yield Subject(
            "people",
            f"registered:{one.pk}",
            last_note.get(one.pk, one.added_at),
            open=one.active or one.user_id in here,
            needed=named.get(one.user_id, "") if one.user_id else "",
            people=people.registered(one.pk),
        )
    ended = dict(AccessChanged.objects.order_by().values_list("user_id").annotate(Max("at")))
    for user in User.objects.filter(is_active=False, registered=None).exclude(sign_in__startswith=GONE):
        if user.pk in ended:
            yield Subject(
                "people",
                f"user:{user.pk}",
                ended[user.pk],
                needed=named.get(user.pk, ""),
                people=people.users([user.pk]),
            )


def _named() -> dict[int | None, str]:
    """Users whose name something that is kept still needs, and what."""
    approved = ProcedureVersion.objects.values_list("approved_by", flat=True)
    named: dict[int | None, str] = dict.fromkeys(approved, "approval")
    for row in Entry.objects.values_list("wearer_id", "observer_id", "assistant_id"):
        named |= dict.fromkeys(row, "record")
    return named


def _tablets(people: _People) -> Iterator[Subject]:
    """What tablets leave behind: who was identified where, addresses of wearers' screens, codes that enrolled none."""
    for key, at, person in Identified.objects.values_list("pk", "at", "person_id").iterator():
        yield Subject("tablets", f"identified:{key}", at, people=people.users([person]))
    for key, until, entry in WearerLink.objects.values_list("pk", "until", "entry_id").iterator():
        yield Subject("tablets", f"link:{key}", until, entries=frozenset({str(entry)}))
    for key, at, by in EnrolmentCode.objects.filter(tablet=None).values_list("pk", "at", "by_id").iterator():
        yield Subject("tablets", f"code:{key}", at, people=people.users([by]))
