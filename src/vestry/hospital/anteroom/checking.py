"""The plain pages' form for what is confirmed before anyone goes in: the unit's list under the step, in one press.

What is ticked as not in order holds: nothing is written until it is put right, or a lead overrides it by name.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from typing import Any

from django.utils.translation import gettext as _

from vestry.entry import Led
from vestry.hospital.access.models import User
from vestry.hospital.anteroom.overrides import signed_by
from vestry.hospital.anteroom.presses import Said
from vestry.hospital.call.before import register_says
from vestry.hospital.call.models import UnitListVersion
from vestry.hospital.record.models import Entry
from vestry.trade.first_hour import ListItem, ListName

CHECKS: Mapping[str, tuple[ListName, str]] = {
    "area-confirmed": ("area", "area-confirmed"),
    "person-checked": ("person", "person-checked"),
    "signals-agreed": ("signals", "signal-checked"),
}


@dataclass(frozen=True)
class PlainCheck:
    """One of the three as the page shows it. `alone`: answered by the person; `register`: what the registers say."""

    name: ListName
    kind: str
    version: int
    items: tuple[ListItem, ...]
    alone: tuple[ListItem, ...]
    register: str


def plain_check(entry: Entry, led: Led, step: str) -> PlainCheck | None:
    """The check that this step is; None where it is none, or the unit's list is empty."""
    asks = (one for one in led.plan.steps if one.id == step and one.act == "confirm" and one.group is None)
    topic = next((one.topic for one in asks), None)
    if topic is None or topic not in CHECKS:
        return None
    name, kind = CHECKS[topic]
    version, listed = UnitListVersion.shown(name)
    items = tuple(one for one in listed.items if not one.alone)
    alone = tuple(one for one in listed.items if one.alone)
    return PlainCheck(name, kind, version, items, alone, register_says(entry) if name == "person" else "")


def said_of(
    check: PlainCheck, step: str, ticked: Collection[str], may: bool, said: Mapping[str, Any], by: User
) -> list[Said]:
    """The events of one press by who is signed in. ValueError, with what would be right, where it holds."""
    wrong = [one.id for one in check.items if one.id in ticked]
    right = [one.id for one in check.items if one.id not in ticked]
    if check.name == "person" and not may:
        return [("person-checked", {"may": False})]
    who, reason, alternative = (str(said.get(name) or "").strip() for name in ("by", "reason", "note"))
    if wrong and not (who and reason and alternative):
        todo = [one.else_do for one in check.items if one.id in wrong and one.else_do]
        raise ValueError(_("Not in order, so nobody goes on. %(todo)s") % {"todo": " ".join(todo)})
    payload: dict[str, Any] = {"list": str(check.version)}
    payload |= {"items": right} if right else {}
    payload |= {"not-in-order": wrong} if wrong else {}
    payload |= {"may": True} if check.name == "person" else {}
    events: list[Said] = [("done-seen", {"step": step}), (check.kind, payload)]
    if not wrong:
        return events
    rules = [f"{check.name}:{one}" for one in wrong]
    decided, signed = signed_by(by, who)
    override = {"rules": rules, "decided-by": decided, "reason": reason, "alternative": alternative, "signed": signed}
    return [("overridden", override), *events]
