"""What a tablet carries of the checks before anyone goes in: the unit's lists; of the wearer only may or may not."""

from __future__ import annotations

from typing import Literal

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as _later

from vestry.entry.bundle import Before, BundleCheck, Decider
from vestry.hospital.call.models import Outsider, UnitListVersion
from vestry.hospital.call.rules import may_of, outsider_of
from vestry.hospital.record.models import Entry
from vestry.hospital.registers.models import RegisteredPerson
from vestry.trade.first_hour import ListName

Says = Literal["may", "may-not", "not-known", "overridden"]


def before_of(entry: Entry, deciders: tuple[Decider, ...] = ()) -> Before:
    """All of it for one entry, with those who may override a rule of it by name."""
    outsider = outsider_of(entry.wearer)
    return Before(
        area=_check("area"),
        person=_check("person"),
        signals=_check("signals"),
        register_says=register_says(entry),
        outsider=outsider_told(outsider) if outsider else (),
        deciders=deciders,
    )


def _check(name: ListName) -> BundleCheck:
    version, listed = UnitListVersion.shown(name)
    return BundleCheck(version=version, items=listed.items)


def register_says(entry: Entry) -> Says:
    """May or may not, by the registers now; never why."""
    overridden = any(
        rule.endswith(":wearer") for one in entry.overrides.select_related("override") for rule in one.override.rules
    )
    if overridden:
        return "overridden"
    row = RegisteredPerson.objects.filter(user=entry.wearer, active=True).first()
    if row is None:
        return "not-known"
    return "may" if may_of(entry.version, "wearer", [row])[str(row.pk)].may else "may-not"


RESPIRATORS = {
    "fitted": _later("Respirator: a fit test is known"),
    "powered": _later("Respirator: a powered hood instead of a fitted one"),
    "not-known": _later("Respirator: not known whether anything fits"),
}


def outsider_told(one: Outsider) -> tuple[str, ...]:
    """What is known of an outsider, and what is not, a line for each."""
    unknown = _("not known")
    model = f" ({one.model})" if one.model else ""
    return (
        _("Comes as %(role)s") % {"role": one.comes_as},
        _("Gloves %(glove)s, gown %(gown)s")
        % {"glove": one.glove.upper() or unknown, "gown": one.gown.upper() or unknown},
        f"{RESPIRATORS[one.respirator]}{model}",
        _("Briefed by %(who)s") % {"who": one.briefed_by.name},
        _("Goes in by own consent") if one.consents else _("Consent: not given"),
    )
