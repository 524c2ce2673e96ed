"""Asking the hospital's own sign-in who somebody is: OpenID Connect, authorization code with PKCE.

The server opens the issuer's addresses alone, follows no redirection and uses no proxy. What the issuer says of itself,
and its keys, are asked for at each sign-in: nothing here grows old, and a key that changed is known at once.
"""

from __future__ import annotations

import hmac
import ssl
import threading
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime
from functools import cache
from typing import Any

import httpx2
from authlib.common.errors import AuthlibBaseError  # type: ignore[import-untyped]
from authlib.common.security import generate_token  # type: ignore[import-untyped]
from authlib.common.urls import add_params_to_uri  # type: ignore[import-untyped]
from authlib.integrations.httpx_client import OAuth2Client  # type: ignore[import-untyped]
from authlib.oidc.core import CodeIDToken  # type: ignore[import-untyped]
from joserfc import jwt
from joserfc.errors import JoseError
from joserfc.jwk import KeySet

from vestry.hospital.access.bounded import Bounded, TooMuch
from vestry.hospital.own_sign_in import OwnSignIn, is_kept_private

FOR_AN_ANSWER = 10 * 60
"""Seconds that somebody has at the other sign-in."""
ALGORITHMS = ("RS256", "ES256")
"""Signatures that are taken. Neither `none` nor one made with a shared secret ever is."""
LEEWAY = 60
"""Seconds by which the issuer's clock may differ."""
PATIENCE = 5.0
LONGEST = 255
"""Of a subject, in characters (OpenID Connect Core, section 2)."""

# Somebody who waits for the issuer takes a thread, and the entries that are led need theirs.
_AT_ONCE = threading.BoundedSemaphore(2)
Kept = dict[str, Any]


class Unreachable(Exception):
    """The issuer does not answer, or not as one; why, in words of ours."""


class Refused(Exception):
    """What came back lets nobody in; why, in words of ours."""


@dataclass(frozen=True)
class Known:
    """Who somebody is at the issuer. `strong`: a second factor was asked for there. `out`: where one signs out."""

    subject: str
    strong: bool
    out: str


def begin(own: OwnSignIn, back: str, now: datetime) -> tuple[str, Kept]:
    """Where the browser is sent, and what is kept until it comes back. Unreachable."""
    with _client(own, back) as client:
        there = _discovered(own, client)
        if not is_kept_private(there.get("authorization_endpoint")):
            raise Unreachable("the issuer names no address to sign in at that is kept private")
        kept = {name: generate_token(48) for name in ("state", "nonce", "verifier")}
        asked = [value for claim, value in own.strong if claim == "acr"]
        # A desk is shared: whoever sat here before must not be signed in again unasked.
        address, _ = client.create_authorization_url(
            there["authorization_endpoint"],
            state=kept["state"],
            nonce=kept["nonce"],
            code_verifier=kept["verifier"],
            prompt="login",
            **({"acr_values": " ".join(asked)} if asked else {}),
        )
    return str(address), {**kept, "back": back, "at": now.timestamp()}


def finish(own: OwnSignIn, kept: Kept | None, said: Mapping[str, str], now: datetime) -> Known:
    """Who came back, `said` being what the browser brought. Refused, Unreachable."""
    if not kept or now.timestamp() - kept["at"] > FOR_AN_ANSWER:
        raise Refused("nothing waits for this answer of the hospital's own sign-in, or not any more")
    if not hmac.compare_digest(kept["state"].encode(), said.get("state", "").encode("utf-8", "replace")):
        raise Refused("an answer of the hospital's own sign-in that belongs to another page")
    if said.get("iss", own.issuer) != own.issuer:
        raise Refused("an answer of another issuer")
    if "error" in said or not said.get("code"):
        raise Refused("the hospital's own sign-in let nobody in")
    with _client(own, kept["back"]) as client:
        there = _discovered(own, client)
        if there.get("authorization_response_iss_parameter_supported") is True and "iss" not in said:
            raise Refused("an answer that does not tell its issuer")
        token = _token(own, client, there, said["code"], kept["verifier"])
        keys = _asked(own, client, there.get("jwks_uri"))
    claims = _claims(own, token, keys, kept, now)
    return Known(claims["sub"], _is_strong(own, claims), _out(own, there, kept["back"]))


def _out(own: OwnSignIn, there: Mapping[str, Any], back: str) -> str:
    """Where one signs out there, and comes back from (OpenID Connect RP-Initiated Logout); empty where nowhere.

    No identity token goes along: none is kept, so the issuer asks before it signs anybody out.
    """
    out = there.get("end_session_endpoint")
    if not is_kept_private(out):
        return ""
    then = {"client_id": own.client, "post_logout_redirect_uri": str(httpx2.URL(back).join("/sign-in/"))}
    return str(add_params_to_uri(out, list(then.items())))


@cache
def _trusted() -> ssl.SSLContext:
    """What the system trusts: a hospital's own authority stands there."""
    return ssl.create_default_context()


@contextmanager
def _client(own: OwnSignIn, back: str) -> Iterator[Any]:
    if not _AT_ONCE.acquire(timeout=1):
        raise Unreachable("others wait for the issuer already")
    try:
        with OAuth2Client(
            client_id=own.client,
            client_secret=own.secret,
            redirect_uri=back,
            scope="openid",
            code_challenge_method="S256",
            transport=Bounded(_trusted()),
            timeout=PATIENCE,
            trust_env=False,
            follow_redirects=False,
        ) as client:
            yield client
    except TooMuch:
        raise Unreachable("the issuer's answer is larger or slower than any in good faith") from None
    except httpx2.HTTPError:
        raise Unreachable("the issuer does not answer") from None
    finally:
        _AT_ONCE.release()


def _asked(own: OwnSignIn, client: Any, address: object) -> dict[str, Any]:
    """The document at an address of the issuer's."""
    if not own.may_be_asked(address):
        raise Unreachable("the issuer names an address that this server may not open")
    answer = client.request("GET", address, withhold_token=True)
    try:
        found = answer.json() if answer.status_code == 200 else None
    except (ValueError, RecursionError):
        found = None
    if not isinstance(found, dict):
        raise Unreachable("the issuer does not answer as one")
    return found


def _discovered(own: OwnSignIn, client: Any) -> dict[str, Any]:
    """What the issuer says of itself (OpenID Connect Discovery, section 4)."""
    there = _asked(own, client, own.issuer.rstrip("/") + "/.well-known/openid-configuration")
    if there.get("issuer") != own.issuer:
        raise Unreachable("the issuer names itself otherwise than the settings do")
    return there


def _token(own: OwnSignIn, client: Any, there: Mapping[str, Any], code: str, verifier: str) -> Mapping[str, Any]:
    """What the issuer gives for the code."""
    if not own.may_be_asked(there.get("token_endpoint")):
        raise Unreachable("the issuer names an address that this server may not open")
    ways = there.get("token_endpoint_auth_methods_supported", ["client_secret_basic"])
    way = next((one for one in ("client_secret_basic", "client_secret_post") if one in ways), None)
    if way is None:
        raise Unreachable("the issuer takes no secret in a way that is known here")
    client.token_endpoint_auth_method = way
    try:
        token = client.fetch_token(
            there["token_endpoint"], grant_type="authorization_code", code=code, code_verifier=verifier
        )
    except AuthlibBaseError as why:
        if why.error in ("invalid_client", "unauthorized_client"):
            raise Unreachable("the issuer does not take this client or its secret") from None
        raise Refused("a code that the issuer does not take") from None
    except (ValueError, TypeError, AttributeError):
        raise Unreachable("the issuer does not answer as one") from None
    if not isinstance(token, dict) or not isinstance(token.get("id_token"), str):
        raise Refused("an answer without an identity token")
    return token


def _claims(
    own: OwnSignIn, token: Mapping[str, Any], keys: Mapping[str, Any], kept: Kept, now: datetime
) -> dict[str, Any]:
    """What the identity token says, once everything of it holds (OpenID Connect Core, section 3.1.3.7)."""
    try:
        read = jwt.decode(token["id_token"], _signing(keys), algorithms=ALGORITHMS)
        claims = CodeIDToken(
            read.claims,
            read.header,
            {"iss": {"essential": True, "value": own.issuer}, "aud": {"essential": True, "value": own.client}},
            {"nonce": kept["nonce"], "client_id": own.client, "access_token": token.get("access_token")},
        )
        claims.validate(int(now.timestamp()), LEEWAY)
    except (JoseError, AuthlibBaseError, ValueError, TypeError, KeyError, AttributeError, RecursionError) as why:
        raise Refused(f"an identity token that does not hold ({type(why).__name__})") from None
    subject, asked_at = claims["sub"], claims.get("auth_time", kept["at"])
    if not subject.strip() or len(subject) > LONGEST or not subject.isprintable():
        raise Refused("an identity token without a subject")
    if asked_at < kept["at"] - LEEWAY:
        raise Refused("the hospital's own sign-in did not ask anew who sits here")
    return dict(claims)


def _signing(keys: Mapping[str, Any]) -> KeySet:
    """The issuer's public keys for signatures."""
    listed: Any = keys["keys"]
    return KeySet.import_key_set(
        {"keys": [one for one in listed if one.get("kty") in ("RSA", "EC") and one.get("use", "sig") == "sig"]}
    )


def _is_strong(own: OwnSignIn, claims: Mapping[str, Any]) -> bool:
    """Whether a second factor was asked for there, as the settings tell it."""
    ways = claims.get("amr") or []
    return any(value in ways if claim == "amr" else claims.get("acr") == value for claim, value in own.strong)
