"""What would go, what stays and what went, in words; without any name but those of people who are no longer here."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from vestry.hospital.record.models import Entry, Event
from vestry.hospital.retention.models import Policy, Proposal
from vestry.hospital.retention.purging import Due
from vestry.hospital.retention.subjects import MANY
from vestry.hospital.retention.words import SORT_WORDS, WHY_WORDS
from vestry.retention import SORTS

SHOWN = 200


@dataclass(frozen=True)
class Stands:
    """One sort in the dry run. `since`, `until`: of what would go, by its last word."""

    name: Any
    policy: Policy | None
    goes: int
    since: Any
    until: Any
    stays: list[str]
    what: list[str]


def stands(due: Due) -> list[Stands]:
    """Each sort, those without a policy too."""
    rows = []
    for sort in SORTS:
        own = due.of(sort)
        stays = [f"{count} {WHY_WORDS[why]}" for why, count in sorted(due.stays(sort).items()) if why in WHY_WORDS]
        rows.append(
            Stands(
                SORT_WORDS[sort],
                due.policies.get(sort),
                len(own),
                own[0].last if own else None,
                own[-1].last if own else None,
                stays,
                [] if sort in MANY else _named([one.key for one in own[:SHOWN]], sort),
            )
        )
    return rows


def listed(proposal: Proposal) -> list[tuple[Any, list[str], int]]:
    """What a proposal lists, by sort: its words, the first of it, and how many more there are."""
    return [
        (SORT_WORDS[sort], _named(keys[:SHOWN], sort), max(0, len(keys) - SHOWN))
        for sort, keys in proposal.listed.items()
        if keys
    ]


def _named(keys: list[str], sort: str) -> list[str]:
    if sort in ("entries", "drills"):
        found = {
            str(one.pk): _("Entry of %(on)s UTC, %(title)s")
            % {"on": one.created_at.strftime("%Y-%m-%d %H:%M"), "title": one.version.procedure.title}
            for one in Entry.objects.filter(pk__in=keys).select_related("version__procedure").defer("version__approved")
        }
        return [f"{found.get(key, '')} ({key})" for key in keys]
    if sort == "health":
        return _health(keys)
    return [
        {"registered": _("somebody on the register"), "user": _("somebody who signed in")}[key.partition(":")[0]]
        + f" ({key.partition(':')[2]})"
        for key in keys
    ]


def _health(keys: list[str]) -> list[str]:
    """Events by number and day; notes are counted only: a list of them would say who has any."""
    numbers = [int(key.partition(":")[2]) for key in keys if key.startswith("event:")]
    when = dict(Event.objects.filter(pk__in=numbers).values_list("pk", "server_time"))
    rows = [
        _("Breach or exposure, number %(n)s, of %(on)s") % {"n": one, "on": when.get(one, "")[:10]} for one in numbers
    ]
    notes = sum(key.startswith("note:") for key in keys)
    reasons = sum(key.startswith("reason:") for key in keys)
    if notes:
        rows.append(ngettext("%(n)s clearance", "%(n)s clearances", notes) % {"n": notes})
    if reasons:
        rows.append(ngettext("%(n)s reason of an absence", "%(n)s reasons of absences", reasons) % {"n": reasons})
    return rows
