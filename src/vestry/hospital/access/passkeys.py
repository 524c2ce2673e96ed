"""Passkeys as a second factor at the desk (Web Authentication): a key that a device keeps and lets nobody have.

A passkey belongs to the name by which these pages are reached, and works over HTTPS or on localhost alone. A challenge
is made anew each time, lives in the session for a few minutes, and is taken once, whether it was answered well or not.
"""

from __future__ import annotations

import base64
import hashlib
import hmac
import ipaddress
import json
from collections.abc import Iterable
from datetime import datetime
from typing import Any

import webauthn
from django.conf import settings
from django.contrib.sessions.backends.base import SessionBase
from django.db import IntegrityError
from django.http import HttpRequest
from django.utils.translation import gettext as _
from webauthn.helpers.exceptions import WebAuthnException
from webauthn.helpers.structs import (
    AuthenticatorSelectionCriteria,
    PublicKeyCredentialDescriptor,
    ResidentKeyRequirement,
    UserVerificationRequirement,
)

from vestry.hospital.access.models import AccessChanged, Passkey, PasskeyEnded, PasskeyUsed, User
from vestry.hospital.desk.models import Unit
from vestry.hospital.writing import writing

CHALLENGE = "passkey-challenge"
FOR_AN_ANSWER = 5 * 60
MOST = 10
"""Passkeys of one person, and the longest answer of a browser, in characters."""
LONGEST = 20_000
BROKEN = (WebAuthnException, ValueError, KeyError, TypeError, RecursionError)
"""What reading and verifying an answer raises where it does not hold."""


def of(user: User) -> list[Passkey]:
    """Those in force, the oldest first."""
    return list(Passkey.objects.filter(user=user, ended=None).order_by("pk"))


def hindered(request: HttpRequest) -> str:
    """Why no passkey can work at this address; empty where one can."""
    try:
        ipaddress.ip_address(_name(request))
    except ValueError:
        pass
    else:
        return _("A passkey belongs to a name, and this address is a number. Open these pages by their name.")
    if not request.is_secure() and _name(request) != "localhost":
        return _("A passkey works over HTTPS alone, and this address has none.")
    return ""


def to_register(request: HttpRequest, user: User) -> str:
    """What the browser is asked to make a passkey; its challenge is kept in the session."""
    options = webauthn.generate_registration_options(
        rp_id=_name(request),
        rp_name=f"Vestry, {Unit.current().name}"[:60],
        user_id=_handle(user),
        user_name=user.sign_in,
        user_display_name=user.name,
        authenticator_selection=AuthenticatorSelectionCriteria(
            resident_key=ResidentKeyRequirement.DISCOURAGED, user_verification=UserVerificationRequirement.PREFERRED
        ),
        exclude_credentials=_described(Passkey.objects.filter(user=user, ended=None)),
    )
    _keep(request.session, options.challenge, "register", user)
    return webauthn.options_to_json(options)


def register(request: HttpRequest, user: User, name: str, answer: str, now: datetime) -> bool:
    """Take the passkey that the browser made; whether it holds."""
    challenge = _kept(request.session, "register", user, now)
    if challenge is None or len(answer) > LONGEST:
        return False
    try:
        made = webauthn.verify_registration_response(
            credential=answer,
            expected_challenge=challenge,
            expected_rp_id=_name(request),
            expected_origin=_origin(request),
        )
    except BROKEN:
        return False
    try:
        with writing():
            if Passkey.objects.filter(user=user, ended=None).count() >= MOST:
                return False
            Passkey.objects.create(
                user=user,
                name=name,
                credential=_text(made.credential_id),
                public_key=_text(made.credential_public_key),
                count=made.sign_count,
                at=now,
            )
            AccessChanged.objects.create(user=user, what="passkey-set", by=user, at=now)
    except IntegrityError:
        return False
    return True


def to_sign_in(request: HttpRequest, user: User) -> str:
    """What the browser is asked to sign; its challenge is kept in the session."""
    options = webauthn.generate_authentication_options(
        rp_id=_name(request),
        allow_credentials=_described(of(user)),
        user_verification=UserVerificationRequirement.PREFERRED,
    )
    _keep(request.session, options.challenge, "sign-in", user)
    return webauthn.options_to_json(options)


def take(request: HttpRequest, user: User, answer: str, now: datetime) -> bool:
    """Whether this answer lets them in. It never does again: its challenge is used up."""
    challenge = _kept(request.session, "sign-in", user, now)
    if challenge is None or len(answer) > LONGEST:
        return False
    passkey = _named(user, answer)
    if passkey is None:
        return False
    used = PasskeyUsed.objects.filter(passkey=passkey).order_by("-pk").first()
    try:
        signed = webauthn.verify_authentication_response(
            credential=answer,
            expected_challenge=challenge,
            expected_rp_id=_name(request),
            expected_origin=_origin(request),
            credential_public_key=_bytes(passkey.public_key),
            credential_current_sign_count=max(passkey.count, used.count if used else 0),
        )
    except BROKEN:
        return False
    try:
        with writing():
            challenged = hashlib.sha256(challenge).hexdigest()
            PasskeyUsed.objects.create(passkey=passkey, challenge=challenged, count=signed.new_sign_count, at=now)
    except IntegrityError:
        return False  # answered twice at once
    return True


def end(passkeys: Iterable[Passkey], by: User | None, reason: str, now: datetime) -> int:
    """They are worth nothing any more; how many were still in force."""
    ended = 0
    with writing():
        for one in passkeys:
            if not PasskeyEnded.objects.filter(passkey=one).exists():
                PasskeyEnded.objects.create(passkey=one, at=now)
                AccessChanged.objects.create(user=one.user, what="passkey-ended", reason=reason, by=by, at=now)
                ended += 1
    return ended


def _named(user: User, answer: str) -> Passkey | None:
    try:
        said: Any = json.loads(answer)
        credential = _text(_bytes(str(said["rawId"])))
    except (ValueError, KeyError, TypeError, RecursionError):
        return None
    return Passkey.objects.filter(user=user, ended=None, credential=credential).first()


def _keep(session: SessionBase, challenge: bytes, what: str, user: User) -> None:
    from django.utils import timezone

    session[CHALLENGE] = {
        "what": what, "user": user.pk, "challenge": _text(challenge), "at": timezone.now().timestamp(),
    }  # fmt: skip


def _kept(session: SessionBase, what: str, user: User, now: datetime) -> bytes | None:
    """The challenge that waits for this, taken out of the session; None where none does, or for too long."""
    held = session.pop(CHALLENGE, None)
    if not held or (held["what"], held["user"]) != (what, user.pk) or now.timestamp() - held["at"] > FOR_AN_ANSWER:
        return None
    return _bytes(held["challenge"])


def _described(passkeys: Iterable[Passkey]) -> list[PublicKeyCredentialDescriptor]:
    return [PublicKeyCredentialDescriptor(id=_bytes(one.credential)) for one in passkeys]


def _name(request: HttpRequest) -> str:
    """The name that a passkey belongs to: of this address, which is one that the settings allow."""
    host = request.get_host()
    return host[1:].partition("]")[0] if host.startswith("[") else host.partition(":")[0]


def _origin(request: HttpRequest) -> str:
    return f"{request.scheme}://{request.get_host()}"


def _handle(user: User) -> bytes:
    """What a device knows somebody by: it says nothing of them."""
    return hmac.new(settings.SECRET_KEY.encode(), f"passkey:{user.pk}".encode(), hashlib.sha256).digest()


def _text(value: bytes) -> str:
    return base64.urlsafe_b64encode(value).rstrip(b"=").decode()


def _bytes(value: str) -> bytes:
    return base64.urlsafe_b64decode(value + "=" * (-len(value) % 4))
