"""Named overrides of an entry's refusals: given by a lead, for one entry, used once; then an event of that entry."""

from __future__ import annotations

import datetime
from typing import Any

from vestry.hospital.access.models import User
from vestry.hospital.call.models import Call, EntryOverride, OverrideUsed
from vestry.hospital.call.rules import Refusal
from vestry.hospital.desk.models import NamedOverride, ProcedureVersion
from vestry.hospital.record.kind_words import signed_told
from vestry.hospital.record.models import Entry, Event
from vestry.hospital.record.naming import lines_at
from vestry.hospital.record.told_words import rule_told
from vestry.people.values import Duty

LASTS = datetime.timedelta(hours=12)
"""An override that no entry used within a shift is worth nothing any more."""


def give(
    version: ProcedureVersion,
    call: Call | None,
    people: dict[Duty, User | None],
    refused: tuple[Refusal, ...],
    said: dict[str, Any],
    by: User,
    now: datetime.datetime,
) -> EntryOverride:
    """Write it down. The caller has the writer's lock."""
    wearer, observer = people["wearer"], people["observer"]
    if wearer is None or observer is None:
        raise ValueError("an override is for a wearer and an observer")
    return EntryOverride.objects.create(
        version=version,
        call=call,
        wearer=wearer,
        observer=observer,
        assistant=people.get("assistant"),
        rules=[one.rule for one in refused],
        reason=said["reason"],
        alternative=said["alternative"],
        by=by,
        at=now,
    )


def given_for(
    version: ProcedureVersion, people: dict[Duty, User | None], refused: tuple[Refusal, ...], now: datetime.datetime
) -> EntryOverride | None:
    """An override that covers all of this, was not used yet, and is not older than a shift."""
    rows = EntryOverride.objects.select_related("by").filter(
        version=version,
        wearer=people["wearer"],
        observer=people["observer"],
        assistant=people.get("assistant"),
        at__gt=now - LASTS,
        use=None,
    )
    wanted = {one.rule for one in refused}
    return next((one for one in rows if wanted <= set(one.rules)), None)


def use(override: EntryOverride, entry: Entry, now: datetime.datetime) -> dict[str, Any]:
    """It is for this entry from now on; the payload of the event that says so."""
    OverrideUsed.objects.create(override=override, entry=entry, at=now)
    return {
        "rules": list(override.rules)[:20],
        "decided-by": override.by.sign_in,
        "reason": override.reason,
        "alternative": override.alternative,
        "signed": "sign-in",
    }


def _told(rules: list[str], at: datetime.datetime) -> list[str]:
    """The rules in words, by the unit's lists as they were then."""
    lines = lines_at(at)
    return [rule_told(one, lambda check, item: lines.get((check, item), item).rstrip(".")) for one in rules]


def of_call(call: Call) -> list[dict[str, Any]]:
    """Overrides of the entries of a call, those given and not used yet, and those of its case where gear refused."""
    names = dict(User.objects.values_list("sign_in", "name"))
    found = [
        {
            "at": row.server_time,
            "by": names.get(str(row.payload.get("decided-by")), str(row.payload.get("decided-by", ""))),
            "who": row.entry.wearer.name,
            "rules": _told(row.payload.get("rules", []), row.entry.created_at),
            "reason": row.payload.get("reason", ""),
            "alternative": row.payload.get("alternative", ""),
            "signed": signed_told(str(row.payload.get("signed", ""))),
        }
        for row in Event.objects.filter(kind="overridden", entry__call=call).select_related("entry__wearer")
    ]
    found += [
        {
            "at": one.at.isoformat(),
            "by": one.by.name,
            "who": one.wearer.name,
            "rules": _told(one.rules, one.at),
            "reason": one.reason,
            "alternative": one.alternative,
            "unused": True,
        }
        for one in EntryOverride.objects.filter(call=call, use=None).select_related("by", "wearer")
    ]
    found += [
        {
            "at": one.at.isoformat(),
            "by": one.by.name,
            "who": "",
            "rules": _told(["gear"], one.at),
            "reason": one.reason,
            "alternative": one.alternative,
        }
        for one in NamedOverride.objects.filter(planned__case__code=call.code).select_related("by")
    ]
    return sorted(found, key=lambda one: str(one["at"]))
