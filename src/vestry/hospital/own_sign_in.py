"""The hospital's own sign-in (OpenID Connect), as the environment names it. Without it there is none.

VESTRY_OIDC_ISSUER   the issuer's address, exactly as it names itself; https, or http on this machine
VESTRY_OIDC_CLIENT   the name under which the issuer knows Vestry
VESTRY_OIDC_SECRET_FILE   a file that holds the secret of that name; or VESTRY_OIDC_SECRET, the secret itself
VESTRY_OIDC_HOSTS    further hosts that the issuer has its token or its keys on, with commas between
VESTRY_OIDC_SECOND_FACTOR   what in an identity token tells that a second factor was asked for there, as amr=mfa or
    acr=VALUE, with commas between; empty: Vestry's own second factor is always asked for
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from urllib.parse import urlsplit

from django.core.exceptions import ImproperlyConfigured

_LOOPBACK = ("localhost", "127.0.0.1", "::1")
_CLAIMS = ("acr", "amr")


@dataclass(frozen=True)
class OwnSignIn:
    """Who is asked, as whom, and what of the answer counts as a second factor."""

    issuer: str
    client: str
    secret: str = field(repr=False)
    hosts: tuple[str, ...] = ()
    strong: tuple[tuple[str, str], ...] = ()

    def may_be_asked(self, address: object) -> bool:
        """Whether this server may open that address: the issuer's own host, or one that the settings add."""
        if not isinstance(address, str) or not is_kept_private(address):
            return False
        asked, own = urlsplit(address), urlsplit(self.issuer)
        return asked.netloc == own.netloc or asked.hostname in self.hosts


def is_kept_private(address: object) -> bool:
    """Whether nobody on the way reads what goes to that address: https, or this machine itself."""
    if not isinstance(address, str):
        return False
    try:
        parts = urlsplit(address)
        host, _ = parts.hostname, parts.port
    except ValueError:
        return False
    if not host or parts.username is not None or parts.fragment:
        return False
    return parts.scheme == "https" or (parts.scheme == "http" and host in _LOOPBACK)


def own_sign_in_of(environment: Mapping[str, str]) -> OwnSignIn | None:
    """What the environment says; None where it names no issuer. ImproperlyConfigured says what is wrong, no secret."""
    said = {name: value.strip() for name, value in environment.items() if name.startswith("VESTRY_OIDC_")}
    issuer = said.get("VESTRY_OIDC_ISSUER", "")
    if not issuer:
        if lost := sorted(name for name, value in said.items() if value):
            raise ImproperlyConfigured(f"{', '.join(lost)}: there is no VESTRY_OIDC_ISSUER that it would belong to")
        return None
    if not is_kept_private(issuer) or urlsplit(issuer).query:
        raise ImproperlyConfigured(
            f"VESTRY_OIDC_ISSUER is {issuer!r}; it must be an https address without query, or http on this machine"
        )
    if not said.get("VESTRY_OIDC_CLIENT"):
        raise ImproperlyConfigured("VESTRY_OIDC_CLIENT is missing: the name under which the issuer knows Vestry")
    return OwnSignIn(
        issuer=issuer,
        client=said["VESTRY_OIDC_CLIENT"],
        secret=_secret(said),
        hosts=tuple(_several(said.get("VESTRY_OIDC_HOSTS", "").lower())),
        strong=tuple(_claim(one) for one in _several(said.get("VESTRY_OIDC_SECOND_FACTOR", ""))),
    )


def _several(value: str) -> list[str]:
    return [one.strip() for one in value.split(",") if one.strip()]


def _claim(said: str) -> tuple[str, str]:
    claim, _, value = said.partition("=")
    if claim not in _CLAIMS or not value:
        raise ImproperlyConfigured(f"VESTRY_OIDC_SECOND_FACTOR: {said!r}; it may be amr=VALUE or acr=VALUE")
    return claim, value


def _secret(said: Mapping[str, str]) -> str:
    file, secret = said.get("VESTRY_OIDC_SECRET_FILE", ""), said.get("VESTRY_OIDC_SECRET", "")
    if bool(file) == bool(secret):
        raise ImproperlyConfigured("One of VESTRY_OIDC_SECRET_FILE and VESTRY_OIDC_SECRET is needed, and not both")
    if file:
        try:
            secret = Path(file).read_text("utf-8").strip()
        except (OSError, ValueError):
            raise ImproperlyConfigured(f"VESTRY_OIDC_SECRET_FILE: {file} cannot be read") from None
    if not secret:
        raise ImproperlyConfigured(f"VESTRY_OIDC_SECRET_FILE: {file} is empty")
    return secret
