"""Tablets: codes that enrol them, tokens that stand for them, and who is at one by badge and PIN."""

from __future__ import annotations

import hashlib
import logging
import secrets
import uuid
from datetime import datetime, timedelta

from django.conf import settings
from django.contrib.auth.hashers import check_password, make_password
from django.http import HttpRequest
from django.utils import timezone

from vestry.entry.bundle import Pin
from vestry.hospital.access import codes
from vestry.hospital.access.models import User
from vestry.hospital.anteroom.models import Badge, EnrolmentCode, Identified, Tablet, TabletRevoked
from vestry.hospital.writing import writing

log = logging.getLogger("vestry.access")
SCHEME = "Vestry-Tablet"
IDENTIFIED = "HTTP_VESTRY_IDENTIFIED"
CODE_FOR = timedelta(minutes=15)
IDENTIFIED_FOR = timedelta(hours=14)
# Without what is mistaken for something else when it is read aloud or written down.
CODE_LENGTH = 10


# ---- enrolment ----


def new_code(name: str, by: User, now: datetime) -> str:
    """A code for one tablet of this name. It is told once and not kept."""
    code = codes.new_code(CODE_LENGTH)
    with writing():
        EnrolmentCode.objects.create(code_hash=codes.proof_of(code), name=name, by=by, at=now)
    return code


def enrol(code: str, now: datetime) -> tuple[Tablet, str] | None:
    """The tablet that this code enrols, and its token; None where the code is unknown, used or too old."""
    token = secrets.token_urlsafe(32)
    with writing():
        found = EnrolmentCode.objects.filter(
            code_hash=codes.proof_of(codes.plain(code)), at__gt=now - CODE_FOR, tablet=None
        ).first()
        if found is None:
            return None
        proof = codes.proof_of(token)
        tablet = Tablet.objects.create(id=uuid.uuid4(), name=found.name, code=found, token_hash=proof, at=now)
    return tablet, token


def revoke(tablet: Tablet, by: User, reason: str, now: datetime) -> None:
    """Its token is worth nothing from here on. Twice does no harm."""
    with writing():
        if not TabletRevoked.objects.filter(tablet=tablet).exists():
            TabletRevoked.objects.create(tablet=tablet, by=by, reason=reason, at=now)


def admit(request: HttpRequest) -> bool:
    """Whether the request brings the token of an enrolled tablet, which is then the request's."""
    scheme, _, token = request.META.get("HTTP_AUTHORIZATION", "").partition(" ")
    if scheme != SCHEME or not token:
        return False
    tablet = Tablet.objects.select_related("revocation").filter(token_hash=codes.proof_of(token)).first()
    if tablet is None or tablet.revoked:
        return False
    request.META["vestry.tablet"] = tablet
    return True


def tablet_of(request: HttpRequest) -> Tablet:
    """The tablet that asks. The door has let it in, so there is one."""
    tablet = request.META["vestry.tablet"]
    assert isinstance(tablet, Tablet)
    return tablet


# ---- badge and PIN ----


def set_badge(person: User, badge: str, pin: str, now: datetime) -> bool:
    """Give someone a badge code and a PIN; False where the badge is someone else's."""
    salt, rounds = secrets.token_bytes(16), int(settings.PIN_ROUNDS)
    offline = hashlib.pbkdf2_hmac("sha256", pin.encode(), salt, rounds)
    hashed = make_password(pin)
    with writing():
        holder = _holder(badge)
        if holder is not None and holder.person_id != person.pk:
            return False
        Badge.objects.create(
            person=person,
            badge=badge,
            pin_hash=hashed,
            offline_salt=salt.hex(),
            offline_rounds=rounds,
            offline_hash=offline.hex(),
            at=now,
        )
    return True


def badge_of(person: User) -> Badge | None:
    """The badge in force of someone."""
    return Badge.objects.filter(person=person).first()


def pin_of(badge: Badge) -> Pin:
    """What a tablet needs to check the PIN alone."""
    return Pin(salt=badge.offline_salt, rounds=badge.offline_rounds, hash=badge.offline_hash)


def _holder(badge: str) -> Badge | None:
    """The badge in force with this code: the newest of its holder."""
    for one in Badge.objects.select_related("person").filter(badge=badge):
        newest = badge_of(one.person)
        if newest is not None and newest.pk == one.pk:
            return one
    return None


def identify(tablet: Tablet, badge: str, pin: str, now: datetime) -> tuple[User, str] | None:
    """Who this is, and the token that stands for it on this tablet; None where badge and PIN do not fit."""
    found = _holder(badge)
    # The same work for a badge that is not known, so that the time does not tell.
    if not check_password(pin, found.pin_hash if found else make_password("nobody")) or found is None:
        return None
    person = found.person
    if not person.may("lead-entry"):
        return None
    token = secrets.token_urlsafe(24)
    with writing():
        Identified.objects.create(tablet=tablet, person=person, token_hash=codes.proof_of(token), at=now)
    return person, token


def identified(request: HttpRequest) -> User | None:
    """Who was identified on the tablet that asks, by the token it brings; None where nobody was, or long ago."""
    token = request.META.get(IDENTIFIED, "")
    found = (
        Identified.objects.select_related("person")
        .filter(tablet=tablet_of(request), token_hash=codes.proof_of(token), at__gt=timezone.now() - IDENTIFIED_FOR)
        .first()
    )
    return found.person if found and found.person.may("lead-entry") else None
