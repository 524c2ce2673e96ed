"""Forms of stock. What a scanner types fills the fields of a lot; by hand they are typed."""

from __future__ import annotations

from collections.abc import Collection
from typing import Any

from django import forms
from django.utils import timezone
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _
from pydantic import ValidationError

from vestry.hospital import facts
from vestry.hospital.language import SOURCE, WORDS, words_of
from vestry.hospital.registers.forms import Choosing, day, items
from vestry.hospital.registers.models import StockLot
from vestry.stock import MOST_LEAD_HOURS, Lot
from vestry.stock.gs1 import Scan, read_code
from vestry.stock.values import UnitEventKind
from vestry.trade.shelf import ONE_SIZE, powered_kinds, supplies

PLACES = ("store", "anteroom", "doffing-area")
HAPPENED: tuple[UnitEventKind, ...] = (
    "used", "cleaned", "charged", "battery-tested", "flow-checked", "serviced", "fault", "repaired", "retired",
)  # fmt: skip


def place(label: Any, required: bool = True, help_text: Any = "") -> forms.RegexField:
    """A place by the unit's own name."""
    return forms.RegexField(
        r"^[a-z0-9]+([ -][a-z0-9]+)*$",
        label=label,
        max_length=60,
        required=required,
        help_text=help_text or gettext("The unit's own name for it: store, anteroom, doffing-area."),
        error_messages={"invalid": gettext("Small letters, digits, spaces and hyphens.")},
    )


class ScanForm(forms.Form):
    """What the keyboard scanner types. It ends with Enter, which sends the form."""

    code = forms.CharField(
        label=_("Code"),
        max_length=500,
        strip=False,
        help_text=_("Put the cursor here and scan. Or type what is printed, with its brackets."),
        widget=forms.TextInput(attrs={"autocomplete": "off", "autocapitalize": "off", "spellcheck": "false"}),
    )

    def read(self) -> Scan:
        return read_code(self.cleaned_data["code"], timezone.localdate().year)


class ReceiveForm(Choosing):
    """A lot and how much of it came in. A lot that is known already is that one."""

    choosing = {"item": lambda: stocked()}  # noqa: RUF012
    item = forms.ChoiceField(label=_("Item"))
    size = forms.CharField(label=_("Size"), max_length=20, help_text=_("As it is marked; one-size where there is one."))
    number = forms.CharField(label=_("Lot"), max_length=40)
    expiry = day(_("Expiry"), required=False, help_text=_("The last day of use. Empty: none is printed."))
    gtin = forms.RegexField(
        r"^\d{14}$", label=_("Item number (GTIN)"), required=False, error_messages={"invalid": _("Fourteen digits.")}
    )
    model = forms.CharField(
        label=_("Model"), max_length=80, required=False, help_text=_("Of a respirator: as fit tests say.")
    )
    length_mm = forms.IntegerField(
        label=_("Back length in mm"), required=False, min_value=300, max_value=2000, help_text=_("Of a gown.")
    )
    per_scan = forms.IntegerField(
        label=_("In what carries the code"),
        required=False,
        min_value=1,
        max_value=10_000,
        help_text=_("Pieces or pairs."),
    )
    quantity = forms.IntegerField(
        label=_("How many"), min_value=1, max_value=1_000_000, help_text=_("Pieces; of gloves and foot covers, pairs.")
    )
    to = place(_("To"))

    def clean_size(self) -> str:
        return str(self.cleaned_data["size"]).strip().lower()

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        item, size = cleaned.get("item"), cleaned.get("size")
        if item and size and not size_fits(item, size):
            self.add_error(
                "size",
                gettext("%(item)s comes as %(join)s.")
                % {"item": dict(stocked())[item], "join": ", ".join(sizes_of(item))},
            )
        return cleaned


def size_fits(item: str, size: str) -> bool:
    """Whether an item comes in this size, as far as the catalogue names its sizes."""
    sizes = sizes_of(item)
    return size in sizes or "eu-size" in sizes


def supply_name(supply: str) -> str:
    """The name of a supply; in English where a draft language lacks it yet."""
    known = WORDS.file.term.get("supply", {})
    return known[supply] if supply in known else words_of(SOURCE).term("supply", supply)


def sizes_of(item: str) -> tuple[str, ...]:
    """The sizes of an item by the catalogue; a supply has one."""
    return (ONE_SIZE,) if item in supplies() else facts.catalogue().items[item].sizes


def stocked() -> list[tuple[str, str]]:
    """Items of which stock is kept, all but what people bring; then supplies."""
    known = facts.catalogue().items
    worn = [(key, name) for key, name in items() if known[key].kind not in ("scrubs", "shoes")]
    return [*worn, *((one, supply_name(one)) for one in supplies())]


class MoveForm(forms.Form):
    """Some of a lot changes place, is used, or goes."""

    KINDS = ("moved", "used", "damaged", "discarded")
    kind = forms.ChoiceField(
        label=_("What"), choices=lambda: [(one, WORDS.term("movement", one)) for one in MoveForm.KINDS]
    )
    start = place(_("From"))
    to = place(_("To"), required=False, help_text=_("Where it is moved to."))
    quantity = forms.IntegerField(label=_("How many"), min_value=1, max_value=1_000_000)
    why = forms.CharField(
        label=_("Why"), max_length=500, required=False, help_text=_("Needed where it is damaged or thrown away.")
    )


class CountForm(forms.Form):
    """A count by hand of one lot at one place, with the reason for a difference."""

    place = place(_("At"))
    counted = forms.IntegerField(label=_("Counted"), min_value=0, max_value=1_000_000)
    why = forms.CharField(
        label=_("If it differs, why"),
        max_length=500,
        required=False,
        help_text=_("What is known; 'not known' is an answer."),
    )


class HoldForm(forms.Form):
    why = forms.CharField(label=_("Why"), max_length=500)


class ReserveForm(Choosing):
    choosing = {"item": lambda: stocked()}  # noqa: RUF012
    item = forms.ChoiceField(label=_("Item"))
    size = forms.CharField(label=_("Size"), max_length=20, required=False, help_text=_("Empty: all sizes together."))
    least = forms.IntegerField(
        label=_("At least"), min_value=0, max_value=1_000_000, help_text=_("0 takes the reserve back.")
    )

    def clean_size(self) -> str:
        return str(self.cleaned_data["size"]).strip().lower()


class LeadTimeForm(forms.Form):
    item = forms.ChoiceField(label=_("Item"), required=False)
    hours = forms.IntegerField(
        label=_("Hours from an order to its delivery"),
        min_value=0,
        max_value=MOST_LEAD_HOURS,
        required=False,
        help_text=_("Empty: takes back what is kept for it."),
    )
    says = forms.CharField(
        label=_("Who says so"), max_length=200, help_text=_("The supplier, a contract, the last order.")
    )

    def __init__(self, *args: Any, kept: Collection[str], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.kept = kept
        self.fields["item"].choices = [("", gettext("all that have none of their own")), *stocked()]  # type: ignore[attr-defined]

    def clean(self) -> dict[str, Any]:
        said = super().clean() or {}
        if not self.errors and said["hours"] is None and said["item"] not in self.kept:
            self.add_error("hours", gettext("Say how many hours: nothing is kept for it that could be taken back."))
        return said


class UnitForm(Choosing):
    choosing = {"item": lambda: powered()}  # noqa: RUF012
    item = forms.ChoiceField(label=_("Kind"))
    serial = forms.CharField(label=_("Serial number"), max_length=60)
    battery = forms.CharField(label=_("Battery"), max_length=60, required=False)
    service_months = forms.IntegerField(
        label=_("Service every so many months"),
        required=False,
        min_value=1,
        max_value=60,
        help_text=_("Empty: as usual."),
    )
    battery_months = forms.IntegerField(label=_("Battery test every"), required=False, min_value=1, max_value=60)
    flow_months = forms.IntegerField(label=_("Flow check every"), required=False, min_value=1, max_value=60)
    most_cleanings = forms.IntegerField(
        label=_("Most cleanings"), required=False, min_value=1, max_value=10_000, help_text=_("As its maker says.")
    )


def powered() -> list[tuple[str, str]]:
    known, kinds = facts.catalogue().items, powered_kinds()
    return [(one, WORDS.item(one)) for one in sorted(known) if known[one].kind in kinds]


class UnitEventForm(forms.Form):
    kind = forms.ChoiceField(
        label=_("What happened"), choices=lambda: [(one, WORDS.term("unit-event", one)) for one in HAPPENED]
    )
    passed = forms.ChoiceField(label=_("Of a test or check"), choices=[("yes", _("passed")), ("no", _("not passed"))])
    minutes = forms.IntegerField(label=_("Battery lasted, in minutes"), required=False, min_value=0, max_value=2880)
    note = forms.CharField(label=_("Note"), max_length=500, required=False)


def lot_problems(row: StockLot) -> list[str]:
    """What makes no sense in a lot that is to be stored."""
    try:
        Lot(
            id=str(row.pk), item=row.item, size=row.size, number=row.number, expiry=row.expiry,
            gtin=row.gtin or None, model=row.model or None, length_mm=row.length_mm, per_scan=row.per_scan,
        )  # fmt: skip
    except ValidationError as bad:
        return [f"{'.'.join(str(part) for part in one['loc'])}: {one['msg']}" for one in bad.errors()]
    return []
