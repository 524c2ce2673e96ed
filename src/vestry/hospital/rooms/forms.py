"""Forms of rooms. What is typed is read by the same readers as in a terminal; a refusal names its field."""

from __future__ import annotations

import datetime
from collections.abc import Callable
from fractions import Fraction
from typing import Any

from django import forms
from django.utils import timezone
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from vestry.hospital import facts
from vestry.hospital.language import words_now
from vestry.hospital.rooms.mapper import operations, rooms
from vestry.room.checks import ReadingRefused, checked
from vestry.room.strength import DilutionRefused, Strength, strength, strength_bought
from vestry.trade.operations_values import ChlorineProduct
from vestry.trade.quantities import BadQuantity, flow, litres, number, pressure, volume, with_unit

KILOGRAMS = frozenset({"kg", "kilogram", "kilograms"})
MOST_IN_A_BAG = 1000
KINDS = ("isolation-new", "isolation-existing", "other")


class Quantity(forms.CharField):
    """A quantity with its unit, as people write it; cleaned to an exact number."""

    def __init__(self, reader: Callable[[str], Fraction], **more: Any) -> None:
        self.reader = reader
        super().__init__(max_length=40, **more)

    def clean(self, value: Any) -> Any:
        text = super().clean(value)
        if not text:
            return None
        try:
            return self.reader(text)
        except BadQuantity as bad:
            raise forms.ValidationError(str(bad)) from None


class OfRooms(forms.Form):
    """A form that offers the rooms of the register."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.rooms = {one.code: one for one in rooms()}
        if "room" in self.fields:
            field: Any = self.fields["room"]
            none = [] if field.required else [("", gettext("none of these"))]
            field.choices = [*none, *((one.code, one.name) for one in self.rooms.values())]
            field.error_messages["invalid_choice"] = gettext("Room: not in the register.")


class RoomForm(forms.Form):
    """A room of the register, or a new version of one."""

    code = forms.SlugField(label=_("Short code"), max_length=40, help_text=_("Small letters, digits, hyphens: room-1"))
    name = forms.CharField(label=_("Name"), max_length=120)
    kind = forms.ChoiceField(label=_("Kind"), widget=forms.RadioSelect)
    ach = Quantity(number, label=_("Air changes an hour"), required=False)
    volume = Quantity(volume, label=_("Volume"), required=False, help_text=_("In m³, or with its unit: 1800 ft3"))
    mixing = Quantity(number, label=_("Mixing factor"), initial="3", help_text=_("1 perfect; from 3 in use; 10 poor"))
    out_of_use = forms.BooleanField(label=_("Out of use"), required=False)
    reason = forms.CharField(label=_("Reason"), max_length=2000, widget=forms.Textarea(attrs={"rows": 2}))

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        words, kind = words_now(), self.fields["kind"]
        kind.choices = [(one, words.term("room-kind", one)) for one in KINDS]  # type: ignore[attr-defined]

    def clean_ach(self) -> Fraction | None:
        return self._between("ach", 0, 200)

    def clean_volume(self) -> Fraction | None:
        return self._between("volume", 1, 10_000)

    def clean_mixing(self) -> Fraction | None:
        return self._between("mixing", 1, 20)

    def _between(self, name: str, low: int, high: int) -> Fraction | None:
        value: Fraction | None = self.cleaned_data[name]
        if value is not None and not low <= value <= high:
            raise forms.ValidationError(gettext("From %(low)s to %(high)s.") % {"low": low, "high": high})
        return value


class CheckForm(OfRooms):
    """A reading of a room."""

    room = forms.ChoiceField(label=_("Room"))
    measure = forms.ChoiceField(
        label=_("What was read"),
        widget=forms.RadioSelect,
        choices=[("pressure", _("pressure against the corridor")), ("air-changes", _("air changes an hour"))],
    )
    reading = forms.CharField(
        label=_("Reading"),
        max_length=40,
        help_text=_("Pressure in Pa, or with its unit (-0.01 inwg): negative when air flows into the room."),
    )
    seen = forms.BooleanField(label=_("Seen with smoke or a strip: it moves inwards"), required=False)
    note = forms.CharField(label=_("Note"), max_length=2000, required=False, widget=forms.Textarea(attrs={"rows": 2}))

    def clean(self) -> dict[str, Any]:
        said: dict[str, Any] = super().clean() or {}
        if {"room", "measure", "reading"} <= set(said):
            read = pressure if said["measure"] == "pressure" else number
            try:
                value = read(said["reading"])
                said["checked"] = checked(said["measure"], value, self.rooms[said["room"]].kind, operations())  # type: ignore[arg-type]
            except (BadQuantity, ReadingRefused) as bad:
                self.add_error("reading", str(bad))
        return said


class DisinfectantForm(OfRooms):
    """What there is, what is wanted, how much of it."""

    room = forms.ChoiceField(label=_("For"))
    product = forms.ChoiceField(label=_("From"), widget=forms.RadioSelect)
    stock = forms.CharField(
        label=_("Strength on the label"),
        max_length=40,
        required=False,
        help_text=_(
            "5, 5000 ppm, 12 degrees chlorum, 5.25 % NaOCl; tablets: milligrams of chlorine in one. "
            "Left empty, it is taken as usual for the product."
        ),
    )
    wanted = forms.CharField(
        label=_("Strength wanted"), max_length=40, initial="0.5", help_text=_("0.5 %, or 5000 ppm")
    )
    litres = Quantity(litres, label=_("How much in the end"), initial="10", help_text=_("In litres, or with its unit"))
    note = forms.CharField(label=_("Note"), max_length=2000, required=False, widget=forms.Textarea(attrs={"rows": 2}))

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        words, product = words_now(), self.fields["product"]
        known = operations().all(ChlorineProduct)
        product.choices = [(one.id, words.term("chlorine-product", one.id)) for one in known]  # type: ignore[attr-defined]

    def clean_wanted(self) -> Strength:
        return self._strength("wanted")

    def clean_litres(self) -> Fraction:
        value: Fraction = self.cleaned_data["litres"]
        if not 0 < value <= 10_000:
            raise forms.ValidationError(gettext("Above 0, at most 10000 litres."))
        return value

    def clean(self) -> dict[str, Any]:
        said: dict[str, Any] = super().clean() or {}
        if "product" not in said:
            return said
        product = operations().one(ChlorineProduct, said["product"])
        said["of"] = product
        try:
            if product.form == "tablet":
                said["mg"] = number(said["stock"]) if said.get("stock") else Fraction(str(product.mg_per_tablet))
                if said["mg"] <= 0:
                    self.add_error("stock", gettext("milligrams of chlorine above 0"))
            else:
                text = said.get("stock") or str(product.percent)
                said["strength"] = strength_bought(text, product.form, "stock", operations())
        except (DilutionRefused, BadQuantity) as bad:
            self.add_error("stock", getattr(bad, "what", str(bad)))
        return said

    def _strength(self, name: str) -> Strength:
        try:
            return strength(self.cleaned_data[name], name, operations())
        except DilutionRefused as bad:
            raise forms.ValidationError(bad.what) from None


class AirForm(OfRooms):
    """A room of the register, or air changes, or flow and volume."""

    room = forms.ChoiceField(label=_("Room"), required=False)
    ach = Quantity(number, label=_("or air changes an hour"), required=False)
    flow = Quantity(flow, label=_("or flow of air"), required=False, help_text=_("600 (m³/h), 350 cfm, 170 l/s"))
    volume = Quantity(volume, label=_("with the volume of the room"), required=False, help_text=_("50 (m³), 1800 ft3"))
    mixing = Quantity(
        number, label=_("Mixing factor"), required=False, help_text=_("1 perfect; from 3 for rooms in use")
    )
    hazard = forms.ChoiceField(label=_("Hazard"), required=False)
    aerosol = forms.BooleanField(label=_("A task was done that makes aerosol"), required=False)
    source = forms.BooleanField(label=_("Somebody or something still gives off aerosol"), required=False)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        words, hazard = words_now(), self.fields["hazard"]
        hazard.choices = [  # type: ignore[attr-defined]
            ("", gettext("not said")),
            *((one, words.hazard(one)) for one in facts.catalogue().hazards),
        ]


class TurningForm(OfRooms):
    """When the last one left, and what was in the room."""

    room = forms.ChoiceField(label=_("Room"))
    hazard = forms.ChoiceField(label=_("Hazard"))
    aerosol = forms.BooleanField(label=_("A task was done that makes aerosol"), required=False)
    left = forms.DateTimeField(
        label=_("Last exit"),
        input_formats=["%Y-%m-%dT%H:%M"],
        widget=forms.DateTimeInput(attrs={"type": "datetime-local"}, format="%Y-%m-%dT%H:%M"),
        help_text=_("UTC"),
    )
    at_once = forms.BooleanField(label=_("Those who clean wear a respirator and begin at once"), required=False)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        words, hazard = words_now(), self.fields["hazard"]
        hazard.choices = [(one, words.hazard(one)) for one in facts.catalogue().hazards]  # type: ignore[attr-defined]

    def clean_left(self) -> datetime.datetime:
        left: datetime.datetime = self.cleaned_data["left"]
        if abs(left - timezone.now()) > datetime.timedelta(days=30):
            raise forms.ValidationError(gettext("Within a month of today."))
        return left


class CloseBagForm(OfRooms):
    """A bag that was closed, wiped and numbered."""

    number = forms.CharField(label=_("Number on the bag"), max_length=40)
    case = forms.SlugField(
        label=_("Case code"), max_length=40, help_text=_("Your own code. Never a name or patient number.")
    )
    room = forms.ChoiceField(label=_("From"))
    stream = forms.ChoiceField(label=_("Stream"), widget=forms.RadioSelect)
    holds = forms.CharField(
        label=_("What is in it"), max_length=120, required=False, help_text=_("Never a name: gowns and gloves, linen")
    )
    amount = forms.CharField(
        label=_("Weight or volume"), max_length=40, required=False, help_text=_("With its unit: 6 kg, 60 litres")
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        _streams(self.fields["stream"])

    def clean_amount(self) -> str:
        text: str = self.cleaned_data["amount"]
        if text:
            try:
                value, unit = with_unit(text)
                if unit not in KILOGRAMS:
                    value = litres(text) if unit else Fraction(0)
            except BadQuantity as bad:
                raise forms.ValidationError(str(bad)) from None
            if not 0 < value <= MOST_IN_A_BAG:
                raise forms.ValidationError(gettext("A weight in kg or a volume with its unit, above 0."))
        return text


class ResultForm(forms.Form):
    """The result of a case, as the laboratory gave it."""

    case = forms.SlugField(label=_("Case code"), max_length=40)
    result = forms.ChoiceField(
        label=_("Result"),
        widget=forms.RadioSelect,
        choices=[("negative", _("negative")), ("positive", _("positive")), ("inconclusive", _("inconclusive"))],
    )
    reason = forms.CharField(
        label=_("Told by whom, and how"), max_length=2000, widget=forms.Textarea(attrs={"rows": 2})
    )


class LetGoForm(forms.Form):
    """A bag that is released, or goes into another stream."""

    number = forms.CharField(label=_("Number on the bag"), max_length=40)
    act = forms.ChoiceField(
        label=_("What"),
        widget=forms.RadioSelect,
        choices=[("released", _("release it, in its stream")), ("downgraded", _("release it into another stream"))],
    )
    stream = forms.ChoiceField(label=_("The other stream"), required=False)
    reason = forms.CharField(label=_("Reason"), max_length=2000, widget=forms.Textarea(attrs={"rows": 2}))

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        _streams(self.fields["stream"], [("", gettext("the same"))])

    def clean(self) -> dict[str, Any]:
        said: dict[str, Any] = super().clean() or {}
        if said.get("act") == "downgraded" and not said.get("stream"):
            self.add_error("stream", gettext("say which"))
        return said


class CollectForm(forms.Form):
    """A released bag that was handed over."""

    number = forms.CharField(label=_("Number on the bag"), max_length=40)
    reason = forms.CharField(label=_("To whom"), max_length=2000, widget=forms.Textarea(attrs={"rows": 2}))


def _streams(field: Any, first: list[tuple[str, str]] | None = None) -> None:
    words = words_now()
    field.choices = [*(first or []), *((one, words.waste(one)) for one in facts.catalogue().waste_streams)]
