"""Whose an account of the hospital's own sign-in is: linked by an administrator, never by an e-mail address."""

from __future__ import annotations

import hashlib
from datetime import datetime

from django.conf import settings
from django.db import IntegrityError
from django.utils.translation import gettext as _

from vestry.hospital.access.models import (
    AccessChanged,
    HospitalAccount,
    HospitalAccountEnded,
    HospitalAccountUsed,
    User,
)
from vestry.hospital.writing import writing


class NotLinked(ValueError):
    """A link that cannot be; why, in words for the administrator."""


def of(user: User) -> list[HospitalAccount]:
    """Those linked now, also of an issuer that the settings named once."""
    return list(HospitalAccount.objects.filter(user=user, ended=None))


def holder(issuer: str, subject: str) -> HospitalAccount | None:
    """The account, if it is linked to somebody who may sign in and is not written down as gone in the register."""
    account = HospitalAccount.objects.select_related("user").filter(issuer=issuer, subject=subject, ended=None).first()
    # In the database's own order of letters "A" may be "a"; at the issuer they are two people.
    if account is None or account.subject != subject or not account.user.is_active:
        return None
    from vestry.hospital.registers.models import RegisteredPerson  # the registers stand on this app

    return None if RegisteredPerson.objects.filter(user=account.user, active=False).exists() else account


def link(user: User, subject: str, by: User, reason: str, now: datetime) -> bool:
    """Link the account with this subject at the issuer of the settings; whether that changed anything. NotLinked."""
    own = settings.OWN_SIGN_IN
    if own is None:
        raise NotLinked(_("The hospital's own sign-in is not set up on this server."))
    with writing():
        there = HospitalAccount.objects.filter(issuer=own.issuer, ended=None)
        if there.filter(user=user, subject=subject).exists():
            return False
        if there.filter(subject=subject).exists():
            raise NotLinked(_("This account is linked to somebody else. Unlink it there first."))
        if there.filter(user=user).exists():
            raise NotLinked(_("Another account is linked to them. Unlink it first."))
        HospitalAccount.objects.create(user=user, issuer=own.issuer, subject=subject, by=by, at=now)
        AccessChanged.objects.create(user=user, what="linked", reason=reason, by=by, at=now)
    return True


def unlink(user: User, by: User, reason: str, now: datetime) -> bool:
    """No account lets them in any more, and what they opened by one ends. Whether there was one."""
    with writing():
        there = of(user)
        for one in there:
            HospitalAccountEnded.objects.create(account=one, at=now)
            AccessChanged.objects.create(user=user, what="unlinked", reason=reason, by=by, at=now)
    return bool(there)


def used(account: HospitalAccount, nonce: str, *, strong: bool, now: datetime) -> bool:
    """Write down that a token was taken; whether it was for the first time."""
    try:
        with writing():
            proof = hashlib.sha256(nonce.encode()).hexdigest()
            HospitalAccountUsed.objects.create(account=account, nonce=proof, strong=strong, at=now)
    except IntegrityError:
        return False
    return True
