"""What is asked of a stay: the form, and what it makes of the stay that the registers give.

What is left as a planning figure stays one, so that the answer tells which figures were taken and not set.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from vestry.hospital import facts
from vestry.hospital.forecasting.defaults import Default, figure
from vestry.readiness import Stay
from vestry.readiness.stay import MOST_HOURS, Delivery, Person, Rates, Reserve, Times, Work
from vestry.trade.staying import FigureId

MOST_DELIVERIES = 20
FIGURES: Mapping[str, FigureId] = {
    "damaged_a_day": "damaged-pieces-a-day",
    "glove_changes": "glove-changes-an-hour",
    "don": "don-minutes",
    "doff": "doff-minutes",
    "rest": "rest-minutes",
    "lead_hours": "lead-hours",
}
TEAMS = (
    ("each-exit", _("anew for each exit")),
    ("each-shift", _("once a shift")),
    ("not-counted", _("are not counted")),
)


def _whole(label: Any, least: int, most: int, **more: Any) -> forms.IntegerField:
    return forms.IntegerField(label=label, min_value=least, max_value=most, **more)


def _number(label: Any, least: float, most: float, **more: Any) -> forms.FloatField:
    widget = forms.NumberInput(attrs={"step": "any"})
    return forms.FloatField(label=label, min_value=least, max_value=most, widget=widget, **more)


class StayForm(forms.Form):
    """Everything but deliveries and people."""

    hours = _whole(_("Hours that it is to last"), 1, MOST_HOURS)
    transfer_from = _whole(_("Patient leaves after, hours at the earliest"), 0, 10_000, required=False)
    transfer_to = _whole(_("and at the latest"), 0, 10_000, required=False)
    inside = _whole(_("People inside at all times"), 0, 12)
    hours_a_day = _number(_("for so many hours of each day"), 1, 24)
    minutes_inside = _number(_("Relieved after, minutes"), 1, 1440)
    regular = _whole(_("Visits a day besides"), 0, 96)
    extra = _number(_("Entries a day at random besides"), 0, 96)
    minutes_visit = _number(_("Minutes of such a visit"), 1, 1440)
    team = forms.ChoiceField(label=_("Observer and assistant dress"), choices=TEAMS)
    glove_changes = _number(_("Outer gloves changed for each hour inside"), 0, 60)
    damaged_a_day = _number(_("Pieces found damaged a day"), 0, 1000)
    don = _number(_("Minutes to dress"), 1, 1440)
    doff = _number(_("Minutes to undress"), 1, 1440)
    rest = _number(_("Minutes of rest after an entry"), 0, 1440)
    lead_hours = _whole(_("Hours from an order to its delivery"), 0, 10_000)
    target = _number(_("Chance that is called enough, per cent"), 1, 99.9)
    draws = _whole(_("Simulated stays"), 100, 20_000)
    seed = _whole(_("Seed"), 0, 2**31)
    keep_reserves = forms.BooleanField(label=_("Keep the reserves back"), required=False)

    def __init__(self, data: Any, defaults: Mapping[str, Default]) -> None:
        super().__init__(data, initial={name: one.value for name, one in defaults.items()})
        for name, one in defaults.items():
            self.fields[name].help_text = one.source

    def clean(self) -> dict[str, Any]:
        said = super().clean() or {}
        first, last = said.get("transfer_from"), said.get("transfer_to")
        if (first is None) != (last is None):
            self.add_error("transfer_to", str(_("Give both hours of the transfer, or none.")))
        elif first is not None and last is not None and first > last:
            self.add_error("transfer_to", str(_("From the earliest hour to the latest.")))
        if not self.errors and not (said.get("inside") or said.get("regular") or said.get("extra")):
            self.add_error("inside", str(_("Nobody goes in: say how many are inside, or how many visits there are.")))
        return said


class DeliveryForm(forms.Form):
    """One delivery. A row may be left empty."""

    use_required_attribute = False

    item = forms.CharField(label=_("Item"))
    size = forms.CharField(label=_("Size"), max_length=40, required=False)
    count = _whole(_("Pieces"), 1, 1_000_000)
    first = _whole(_("Comes after, hours"), 0, 10_000)
    last = _whole(_("at the latest"), 0, 10_000, required=False)

    def clean(self) -> dict[str, Any]:
        said = super().clean() or {}
        if (item := said.get("item")) and item not in facts.catalogue().items:
            self.add_error("item", str(_("No item has this name.")))
        first, last = said.get("first"), said.get("last")
        if first is not None and last is not None and first > last:
            self.add_error("last", str(_("From the earliest hour to the latest.")))
        return said


def delivery_rows(data: Mapping[str, Any]) -> list[DeliveryForm]:
    """The deliveries that the address holds; rows left empty are none."""
    return [
        DeliveryForm(data, prefix=f"d-{n}")
        for n in range(MOST_DELIVERIES)
        if any(str(data.get(f"d-{n}-{name}", "")).strip() for name in DeliveryForm.base_fields)
    ]


def asked_stay(
    stay: Stay,
    said: Mapping[str, Any],
    deliveries: Sequence[Mapping[str, Any]],
    people: tuple[Person, ...],
    reserves: tuple[Reserve, ...],
) -> Stay:
    """The stay that the form asks about."""

    def own(name: str) -> float | None:
        return None if said[name] == figure(FIGURES[name]) else said[name]

    care = stay.work[0]
    work = []
    if said["inside"]:
        update = {"inside": said["inside"], "hours_a_day": said["hours_a_day"]}
        work.append(care.model_copy(update=update | {"minutes_inside": said["minutes_inside"]}))
    if said["regular"] or said["extra"]:
        work.append(
            Work(
                id="visits",
                ensemble=care.ensemble,
                by=care.by,
                regular_a_day=said["regular"],
                extra_a_day=said["extra"],
                minutes_inside=said["minutes_visit"],
            )
        )
    transfer = None if said["transfer_from"] is None else (said["transfer_from"], said["transfer_to"])
    # What the unit keeps is its own, even where it is the planning figure to the hour.
    lead = own("lead_hours") if stay.lead_hours is None else said["lead_hours"]
    return stay.model_copy(
        update={
            "hours": said["hours"],
            "transfer_hours": transfer,
            "work": tuple(work),
            "team": said["team"],
            "people": people,
            "reserves": reserves,
            "deliveries": tuple(
                Delivery(
                    item=one["item"],
                    size=one["size"] or "one-size",
                    count=one["count"],
                    arrives_hours=(one["first"], one["first"] if one["last"] is None else one["last"]),
                )
                for one in deliveries
            ),
            "rates": Rates(damaged_a_day=own("damaged_a_day"), glove_changes_an_hour=own("glove_changes")),
            "minutes": Times(don=own("don"), doff=own("doff"), rest=own("rest")),
            "lead_hours": None if lead is None else int(lead),
            "target": said["target"] / 100,
            "draws": said["draws"],
            "seed": said["seed"],
        }
    )
