"""Policies and holds: set by one person, a policy confirmed by another. Nothing is in force by default."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from django.core.exceptions import ValidationError as _Invalid
from django.utils.translation import gettext as _

from vestry.hospital.access.models import User
from vestry.hospital.record.models import Entry, Event
from vestry.hospital.registers.models import RegisteredPerson
from vestry.hospital.retention.models import HoldLifted, LegalHold, Policy, PolicyConfirmed
from vestry.hospital.retention.subjects import REACHED, registered_key, user_key
from vestry.hospital.writing import writing
from vestry.retention import SORTS, Hold, Sort


class NotSo(ValueError):
    """Something that is not done; the message says why, in words for the page."""


def in_force() -> dict[Sort, Policy]:
    """The policy of each sort that has one; a sort without one is kept for ever."""
    newest: dict[str, Policy] = {}
    for one in Policy.objects.select_related("by", "confirmed__by").order_by("-pk"):
        if one.days is None or hasattr(one, "confirmed"):
            newest.setdefault(one.sort, one)
    return {sort: newest[sort] for sort in SORTS if sort in newest and newest[sort].days is not None}


def waiting() -> list[Policy]:
    """Proposed, and neither confirmed nor overtaken by a newer word on the same sort."""
    found, said = [], set()
    for one in Policy.objects.select_related("by", "confirmed__by").order_by("-pk"):
        if one.sort in said:
            continue
        said.add(one.sort)
        if one.days is not None and not hasattr(one, "confirmed"):
            found.append(one)
    return found


def propose(sort: Sort, days: int | None, reason: str, source: str, by: User, now: datetime) -> Policy:
    """Say how long a sort is kept. None: for ever, from now on."""
    with writing():
        return Policy.objects.create(sort=sort, days=days, reason=reason, source=source, by=by, at=now)


def confirm(policy: Policy, by: User, now: datetime) -> None:
    """The second person's word. NotSo where it is overtaken, done already, or not theirs to say."""
    with writing():
        if policy.pk not in {one.pk for one in waiting()}:
            raise NotSo(_("This policy is confirmed already, or a newer word on the same data stands."))
        two_of(policy.by, by)
        PolicyConfirmed.objects.create(policy=policy, by=by, at=now)


def two_of(first: User, second: User) -> None:
    """NotSo where these two may not decide together: two persons, between them administrator and programme lead."""
    if first.pk == second.pk:
        raise NotSo(_("Somebody else must confirm it: two persons decide."))
    missing = {"administrator", "programme-lead"} - (set(first.roles) | set(second.roles))
    if not second.is_active or not {"administrator", "programme-lead"} & set(second.roles):
        raise NotSo(_("An administrator or a programme lead confirms it."))
    if missing:
        raise NotSo(_("Of the two who decide, one must be administrator and one programme lead."))


def holds_now() -> list[LegalHold]:
    """The holds that hold."""
    return list(LegalHold.objects.filter(lifted=None).select_related("by"))


def as_holds(rows: list[LegalHold]) -> list[Hold]:
    """As the rules take them."""
    kinds: Any = [(one.sort, one.key) for one in rows]
    return [Hold(sort, key) for sort, key in kinds]


def hold(sort: str, named: str, reason: str, by: User, now: datetime) -> LegalHold:
    """Set a hold on what was named. NotSo where there is no such thing."""
    key = _key(sort, named.strip())
    with writing():
        return LegalHold.objects.create(sort=sort, key=key, named=named.strip(), reason=reason, by=by, at=now)


def lift(row: LegalHold, reason: str, by: User, now: datetime) -> None:
    """Let a hold go, with a reason. Twice does no harm: the first stays."""
    with writing():
        if not HoldLifted.objects.filter(hold=row).exists():
            HoldLifted.objects.create(hold=row, reason=reason, by=by, at=now)


def held_entry(key: Any) -> LegalHold | None:
    """The hold on this entry itself, to say so on its record."""
    return LegalHold.objects.filter(sort="entry", key=str(key), lifted=None).first()


def _key(sort: str, named: str) -> str:
    if sort == "entry":
        try:
            found = Entry.objects.filter(pk=named).first()
        except (ValueError, TypeError, _Invalid):
            found = None
        if found is None:
            raise NotSo(_("No entry has this id. It stands in the address of its record."))
        return str(found.pk)
    if sort == "exposure":
        right = named.isascii() and named.isdigit() and len(named) < 18
        if not right or not Event.objects.filter(pk=int(named), kind__in=REACHED).exists():
            raise NotSo(_("No breach or exposure has this number. It stands on the page of exposures."))
        return str(int(named))
    user = User.objects.filter(sign_in=named.lower()).first()
    if user is not None:
        return user_key(user.pk)
    person = RegisteredPerson.objects.filter(code=named).first()
    if person is None:
        raise NotSo(_("Nobody has this sign-in name or staff code."))
    return user_key(person.user_id) if person.user_id else registered_key(person.pk)
