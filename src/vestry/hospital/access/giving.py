"""Giving access: somebody is added, gets roles and a set-up code, loses them again. Every change is written down."""

from __future__ import annotations

import hashlib
from collections.abc import Collection
from datetime import datetime, timedelta

from vestry.hospital.access import codes
from vestry.hospital.access.models import AccessChanged, RoleGrant, SetUpCode, SetUpCodeUsed, User
from vestry.hospital.access.table import ROLES
from vestry.hospital.writing import writing

CODE_FOR = timedelta(hours=72)
_LENGTH = 16


class NotGiven(ValueError):
    """A change that would leave nobody to give access."""


def add(sign_in: str, name: str, roles: Collection[str], by: User | None, now: datetime) -> tuple[User, str]:
    """Somebody new, without a password, and the code with which they set one. IntegrityError: the name is taken."""
    with writing():
        user = User.objects.create_person(sign_in, name, None, _in_order(roles))
        AccessChanged.objects.create(user=user, what="added", roles=_in_order(roles), by=by, at=now)
        return user, _code(user, now)


def change_roles(user: User, roles: Collection[str], by: User | None, reason: str, now: datetime) -> bool:
    """Give exactly these roles; whether that changed anything. NotGiven where nobody could give access any more."""
    with writing():
        held = frozenset(user.grants.values_list("role", flat=True))
        if held == frozenset(roles):
            return False
        if "administrator" in held and "administrator" not in roles:
            _another(user)
        user.grants.exclude(role__in=roles).delete()
        RoleGrant.objects.bulk_create(RoleGrant(user=user, role=one) for one in _in_order(set(roles) - held))
        AccessChanged.objects.create(user=user, what="roles", roles=_in_order(roles), reason=reason, by=by, at=now)
    return True


def let(user: User, may: bool, by: User | None, reason: str, now: datetime) -> bool:
    """Let somebody sign in, or no longer: their sessions end with it. Whether that changed anything."""
    with writing():
        if user.is_active == may:
            return False
        if not may and user.grants.filter(role="administrator").exists():
            _another(user)
        user.is_active = may
        user.save(update_fields=["is_active"])
        AccessChanged.objects.create(user=user, what="again" if may else "ended", reason=reason, by=by, at=now)
    return True


def new_code(user: User, by: User | None, reason: str, now: datetime) -> str:
    """A code that sets a new password. The old password holds until it is used; an older code no longer."""
    with writing():
        AccessChanged.objects.create(user=user, what="code", reason=reason, by=by, at=now)
        return _code(user, now)


def holder(sign_in: str, code: str, now: datetime) -> tuple[User, SetUpCode] | None:
    """Whose code this is; None where it is unknown, used, too old, or an older one than the newest."""
    user = User.objects.filter(sign_in=sign_in.lower(), is_active=True).first()
    newest = user.codes.first() if user else None
    if user is None or newest is None or newest.code_hash != _hash(codes.plain(code)):
        return None
    if newest.at <= now - CODE_FOR or SetUpCodeUsed.objects.filter(code=newest).exists():
        return None
    return user, newest


def set_password(user: User, code: SetUpCode, password: str, now: datetime) -> None:
    """The code is used up, and every session with the old password ends. IntegrityError: it was used meanwhile."""
    user.set_password(password)
    with writing():
        SetUpCodeUsed.objects.create(code=code, at=now)
        user.save(update_fields=["password"])
        AccessChanged.objects.create(user=user, what="password", by=user, at=now)


def _another(user: User) -> None:
    others = RoleGrant.objects.filter(role="administrator", user__is_active=True).exclude(user=user)
    if not others.exists():
        raise NotGiven("Nobody else is administrator. Make somebody else administrator first.")


def _in_order(roles: Collection[str]) -> tuple[str, ...]:
    return tuple(one for one in ROLES if one in roles)


def _code(user: User, now: datetime) -> str:
    code = codes.new_code(_LENGTH)
    SetUpCode.objects.create(user=user, code_hash=_hash(code), at=now)
    return "-".join(code[place : place + 4] for place in range(0, _LENGTH, 4))


def _hash(code: str) -> str:
    return hashlib.sha256(f"set-up:{code}".encode()).hexdigest()
