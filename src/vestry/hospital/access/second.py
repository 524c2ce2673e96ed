"""The second factor: six digits that change each half minute (RFC 6238), made by any program that follows it.

A code is taken once. One half minute to either side is let pass, for clocks that differ (RFC 6238, section 5.2).
"""

from __future__ import annotations

import hashlib
import hmac
from datetime import datetime

import pyotp
import segno
from django.db import IntegrityError

from vestry.hospital.access import codes
from vestry.hospital.access.models import AccessChanged, SecondFactor, SecondFactorEnded, SecondFactorUsed, User
from vestry.hospital.desk.models import Unit
from vestry.hospital.writing import writing

SPARE_CODES = 8
_SPARE_LENGTH = 12
_STEP = 30


def required(user: User) -> bool:
    """Whether this person may not go on without one. In an invented hospital it is offered and not required."""
    return user.needs_second_factor and not Unit.current().invented


def new_secret() -> str:
    """A secret for a phone; nothing is stored yet."""
    return pyotp.random_base32(32)


def address(secret: str, user: User) -> str:
    """What the QR code holds."""
    return pyotp.TOTP(secret).provisioning_uri(name=user.sign_in, issuer_name=f"Vestry, {Unit.current().name}")


def qr(text: str) -> str:
    """The QR code as SVG without any style of its own."""
    return segno.make(text, error="m", micro=False).svg_inline(scale=5, border=4, omitsize=True, svgclass="qr")


def fits(secret: str, code: str, now: datetime) -> int | None:
    """The half minute whose code this is; None where it is no code of now."""
    digits, made = "".join(code.split()), pyotp.TOTP(secret, interval=_STEP)
    step = int(now.timestamp()) // _STEP
    found = None
    for one in (step - 1, step, step + 1):
        if hmac.compare_digest(made.at(one * _STEP).encode(), digits.encode()):
            found = one
    return found


def set_up(user: User, secret: str, now: datetime) -> tuple[str, ...]:
    """Put it in force in place of an earlier one; the spare codes, told once."""
    spare = tuple(codes.new_code(_SPARE_LENGTH) for _ in range(SPARE_CODES))
    with writing():
        _end(user, now)
        SecondFactor.objects.create(user=user, secret=secret, spare=[_hash(one) for one in spare], at=now)
        AccessChanged.objects.create(user=user, what="factor-set", by=user, at=now)
    return spare


def end(user: User, by: User | None, reason: str, now: datetime) -> bool:
    """Nothing is asked for any more; whether there was one."""
    with writing():
        there = _end(user, now)
        if there:
            AccessChanged.objects.create(user=user, what="factor-ended", reason=reason, by=by, at=now)
    return there


def take(user: User, code: str, now: datetime) -> bool:
    """Whether this code lets them in. It never does again."""
    factor = user.second_factor
    if factor is None:
        return False
    step, spare = fits(factor.secret, code, now), _hash(codes.plain(code))
    if step is None and spare not in factor.spare:
        return False
    try:
        with writing():
            SecondFactorUsed.objects.create(factor=factor, code=spare if step is None else str(step), at=now)
            if step is None:
                AccessChanged.objects.create(user=user, what="factor-code", by=user, at=now)
    except IntegrityError:
        return False
    return True


def spare_left(factor: SecondFactor) -> int:
    """How many spare codes were not used yet."""
    return len(factor.spare) - factor.uses.filter(code__in=factor.spare).count()


def _end(user: User, now: datetime) -> bool:
    held = user.second_factor
    if held is not None:
        SecondFactorEnded.objects.create(factor=held, at=now)
    return held is not None


def _hash(code: str) -> str:
    return hashlib.sha256(f"spare:{code}".encode()).hexdigest()
