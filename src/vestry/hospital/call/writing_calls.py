"""What is written of calls: taken, a line more, an outsider. The one way in."""

from __future__ import annotations

import datetime
import secrets
from typing import Any

from vestry.hospital.access.models import User
from vestry.hospital.call.models import Call, CallLine, Outsider
from vestry.hospital.writing import writing


def take(said: dict[str, Any], by: User, now: datetime.datetime) -> Call:
    """A call is taken."""
    names = ("code", "hazard", "presentation", "tasks", "stays", "hours", "expected_at", "note", "drill")
    with writing():
        return Call.objects.create(**{name: said[name] for name in names}, by=by, at=now)


def write_line(call: Call, said: dict[str, Any], by: User, now: datetime.datetime) -> bool:
    """A line more; False where it was there already. What is told late keeps the time that is told."""
    with writing():
        if CallLine.objects.filter(pk=said["line"]).exists():
            return False
        CallLine.objects.create(
            id=said["line"],
            call=call,
            kind=said["kind"],
            person=said["person"],
            item=said["item"],
            when=said["when"] or now,
            due=said["due"],
            note=said["note"],
            by=by,
            at=now,
        )
        return True


def add_outsider(said: dict[str, Any], call: Call | None, by: User, now: datetime.datetime) -> Outsider:
    """Somebody who can be chosen as the wearer of an entry from now on, and can never sign in."""
    names = ("name", "comes_as", "glove", "gown", "respirator", "model", "briefed_by", "consents", "note")
    with writing():
        user = User(sign_in=f"outsider-{secrets.token_hex(5)}", name=f"{said['name']} (outsider)", is_active=False)
        user.set_unusable_password()
        user.save()
        return Outsider.objects.create(**{name: said[name] for name in names}, user=user, call=call, by=by, at=now)
