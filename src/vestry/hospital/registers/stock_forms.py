"""Forms of stock. What a scanner types fills the fields of a lot; by hand they are typed."""

from __future__ import annotations

from typing import Any

from django import forms
from django.utils import timezone
from pydantic import ValidationError

from vestry.hospital import facts
from vestry.hospital.language import WORDS
from vestry.hospital.registers.forms import Choosing, day, items
from vestry.hospital.registers.models import StockLot
from vestry.stock import Lot
from vestry.stock.gs1 import Scan, read_code
from vestry.stock.values import UnitEventKind

PLACES = ("store", "anteroom", "doffing-area")
HAPPENED: tuple[UnitEventKind, ...] = (
    "used", "cleaned", "charged", "battery-tested", "flow-checked", "serviced", "fault", "repaired", "retired",
)  # fmt: skip


def place(label: str, required: bool = True, help_text: str = "") -> forms.RegexField:
    """A place by the unit's own name."""
    return forms.RegexField(
        r"^[a-z0-9]+([ -][a-z0-9]+)*$",
        label=label,
        max_length=60,
        required=required,
        help_text=help_text or "The unit's own name for it: store, anteroom, doffing-area.",
        error_messages={"invalid": "Small letters, digits, spaces and hyphens."},
    )


class ScanForm(forms.Form):
    """What the keyboard scanner types. It ends with Enter, which sends the form."""

    code = forms.CharField(
        label="Code",
        max_length=500,
        strip=False,
        help_text="Put the cursor here and scan. Or type what is printed, with its brackets.",
        widget=forms.TextInput(attrs={"autocomplete": "off", "autocapitalize": "off", "spellcheck": "false"}),
    )

    def read(self) -> Scan:
        return read_code(self.cleaned_data["code"], timezone.localdate().year)


class ReceiveForm(Choosing):
    """A lot and how much of it came in. A lot that is known already is that one."""

    choosing = {"item": lambda: stocked()}  # noqa: RUF012
    item = forms.ChoiceField(label="Item")
    size = forms.CharField(label="Size", max_length=20, help_text="As it is marked; one-size where there is one.")
    number = forms.CharField(label="Lot", max_length=40)
    expiry = day("Expiry", required=False, help_text="The last day of use. Empty: none is printed.")
    gtin = forms.RegexField(
        r"^\d{14}$", label="Item number (GTIN)", required=False, error_messages={"invalid": "Fourteen digits."}
    )
    model = forms.CharField(
        label="Model", max_length=80, required=False, help_text="Of a respirator: as fit tests say."
    )
    length_mm = forms.IntegerField(
        label="Back length in mm", required=False, min_value=300, max_value=2000, help_text="Of a gown."
    )
    per_scan = forms.IntegerField(
        label="In what carries the code", required=False, min_value=1, max_value=10_000, help_text="Pieces or pairs."
    )
    quantity = forms.IntegerField(
        label="How many", min_value=1, max_value=1_000_000, help_text="Pieces; of gloves and foot covers, pairs."
    )
    to = place("To")

    def clean_size(self) -> str:
        return str(self.cleaned_data["size"]).strip().lower()

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        item, size = cleaned.get("item"), cleaned.get("size")
        if item and size and not size_fits(item, size):
            self.add_error("size", f"{WORDS.item(item)} comes as {', '.join(facts.catalogue().items[item].sizes)}.")
        return cleaned


def size_fits(item: str, size: str) -> bool:
    """Whether an item comes in this size, as far as the catalogue names its sizes."""
    sizes = facts.catalogue().items[item].sizes
    return size in sizes or "eu-size" in sizes


def stocked() -> list[tuple[str, str]]:
    """Items of which stock is kept: all but what people bring."""
    known = facts.catalogue().items
    return [(key, name) for key, name in items() if known[key].kind not in ("scrubs", "shoes")]


class MoveForm(forms.Form):
    """Some of a lot changes place, is used, or goes."""

    KINDS = ("moved", "used", "damaged", "discarded")
    kind = forms.ChoiceField(
        label="What", choices=lambda: [(one, WORDS.term("movement", one)) for one in MoveForm.KINDS]
    )
    start = place("From")
    to = place("To", required=False, help_text="Where it is moved to.")
    quantity = forms.IntegerField(label="How many", min_value=1, max_value=1_000_000)
    why = forms.CharField(
        label="Why", max_length=500, required=False, help_text="Needed where it is damaged or thrown away."
    )


class CountForm(forms.Form):
    """A count by hand of one lot at one place, with the reason for a difference."""

    place = place("At")
    counted = forms.IntegerField(label="Counted", min_value=0, max_value=1_000_000)
    why = forms.CharField(
        label="If it differs, why", max_length=500, required=False, help_text="What is known; 'not known' is an answer."
    )


class HoldForm(forms.Form):
    why = forms.CharField(label="Why", max_length=500)


class ReserveForm(Choosing):
    choosing = {"item": lambda: stocked()}  # noqa: RUF012
    item = forms.ChoiceField(label="Item")
    size = forms.CharField(label="Size", max_length=20, required=False, help_text="Empty: all sizes together.")
    least = forms.IntegerField(
        label="At least", min_value=0, max_value=1_000_000, help_text="0 takes the reserve back."
    )

    def clean_size(self) -> str:
        return str(self.cleaned_data["size"]).strip().lower()


class UnitForm(Choosing):
    choosing = {"item": lambda: powered()}  # noqa: RUF012
    item = forms.ChoiceField(label="Kind")
    serial = forms.CharField(label="Serial number", max_length=60)
    battery = forms.CharField(label="Battery", max_length=60, required=False)
    service_months = forms.IntegerField(
        label="Service every so many months", required=False, min_value=1, max_value=60, help_text="Empty: as usual."
    )
    battery_months = forms.IntegerField(label="Battery test every", required=False, min_value=1, max_value=60)
    flow_months = forms.IntegerField(label="Flow check every", required=False, min_value=1, max_value=60)
    most_cleanings = forms.IntegerField(
        label="Most cleanings", required=False, min_value=1, max_value=10_000, help_text="As its maker says."
    )


def powered() -> list[tuple[str, str]]:
    return [(one, WORDS.item(one)) for one in ("papr-belt-unit", "papr-helmet") if one in facts.catalogue().items]


class UnitEventForm(forms.Form):
    kind = forms.ChoiceField(
        label="What happened", choices=lambda: [(one, WORDS.term("unit-event", one)) for one in HAPPENED]
    )
    passed = forms.ChoiceField(label="Of a test or check", choices=[("yes", "passed"), ("no", "not passed")])
    minutes = forms.IntegerField(label="Battery lasted, in minutes", required=False, min_value=0, max_value=2880)
    note = forms.CharField(label="Note", max_length=500, required=False)


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
