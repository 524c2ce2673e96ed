"""How an override says that who decided signed it, and who can have signed so. docs/decisions/0069.

badge-pin   on an enrolled tablet, which compared the PIN with the slow hash that its bundle holds
sign-in     at the desk or on the plain pages, by whoever was signed in
told        by nobody: the observer named who decided
"""

from __future__ import annotations

from collections.abc import Collection, Mapping

from vestry.entry import BadEvent, Event
from vestry.hospital.access.models import User

TOLD = "told"


def check_signature(event: Event, signers: Mapping[str, Collection[str]]) -> None:
    """BadEvent where an override claims a signature that could not be given here by whom it names.

    signers  by each way of signing that is open to the sender: sign-in names
    """
    how = event.text("signed")
    if event.kind != "overridden" or how in ("", TOLD):
        return
    if event.text("decided-by") not in signers.get(how, ()):
        raise BadEvent([("payload.signed", "a signature of a shift lead or programme lead who can sign here")])


def signed_by(person: User, named: str) -> tuple[str, str]:
    """Who decided and how it was signed, where this person is signed in and wrote this name."""
    own = named.casefold() in (person.name.casefold(), person.sign_in.casefold())
    return (person.sign_in, "sign-in") if own and person.may("override-entry") else (named, TOLD)
