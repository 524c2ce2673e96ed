"""Forms of heat. A number that is none, or that no thermometer shows, is refused with its field."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from vestry.heat.index import COLDEST, HOTTEST, HOTTEST_INDEX
from vestry.hospital.language import WORDS
from vestry.hospital.rooms.forms import OfRooms, Quantity
from vestry.hospital.rooms.mapper import operations
from vestry.trade.operations_values import ClothingAdjustment
from vestry.trade.quantities import celsius, number

WORK = ("0", "1", "2", "3", "4")
DEGREES = _("In °C, or with its unit: 90 F")


class Within(Quantity):
    """A quantity between two numbers."""

    def __init__(self, reader: Any, low: float, high: float, **more: Any) -> None:
        self.low, self.high = low, high
        super().__init__(reader, **more)

    def clean(self, value: Any) -> Any:
        found: Fraction | None = super().clean(value)
        if found is not None and not self.low <= found <= self.high:
            raise forms.ValidationError(_("From %(low)g to %(high)g.") % {"low": self.low, "high": self.high})
        return found


class ReadingForm(OfRooms):
    """What was read in a room."""

    room = forms.ChoiceField(label=_("Room"))
    air = Within(celsius, -10, 60, label=_("Air temperature"), help_text=DEGREES)
    humidity = Within(number, 0, 100, label=_("Relative humidity, percent"))
    speed = Within(
        number, 0, 10, label=_("Air speed, m/s"), initial="0.1", help_text=_("0.1 where nothing moves the air")
    )
    radiant = Within(
        celsius,
        -10,
        120,
        label=_("Mean radiant temperature"),
        required=False,
        help_text=_("Only where sun or a hot surface adds to it. Left empty, it is taken as the air."),
    )
    note = forms.CharField(label=_("Note"), max_length=2000, required=False, widget=forms.Textarea(attrs={"rows": 2}))

    def written(self) -> str:
        """What was typed, to be kept."""
        typed = [str(self.data.get(name, "")).strip() for name in ("air", "humidity", "speed", "radiant")]
        air, humidity, speed, radiant = typed
        return f"{air}, {humidity} %, {speed} m/s" + (f", radiant {radiant}" if radiant else "")


class GearForm(forms.Form):
    """How warm a procedure is: the hardest work in it, and how its clothing lets heat and vapour through."""

    procedure = forms.ChoiceField(label=_("Procedure"))
    metabolic = Within(
        number,
        30,
        500,
        label=_("Metabolic rate of the hardest task, W/m²"),
        help_text=_("About 165 for moderate work, 230 for hard work (from memory)"),
    )
    vapour = forms.ChoiceField(
        label=_("The clothing"),
        widget=forms.RadioSelect,
        choices=[
            ("impermeable", _("lets no vapour through: coated suit, coated gown with apron")),
            ("woven", _("lets vapour through: its values are known")),
        ],
    )
    clothing = Within(number, 0, 4, label=_("Insulation, clo"), required=False)
    permeability = Within(number, 0, 1, label=_("Moisture permeability index"), required=False)
    reason = forms.CharField(
        label=_("Where these values come from"), max_length=2000, widget=forms.Textarea(attrs={"rows": 2})
    )

    def __init__(self, *args: Any, procedures: list[tuple[str, str]], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["procedure"].choices = procedures  # type: ignore[attr-defined]

    def clean(self) -> dict[str, Any]:
        said: dict[str, Any] = super().clean() or {}
        if said.get("vapour") == "woven":
            for name in ("clothing", "permeability"):
                if said.get(name) is None and name not in self.errors:
                    self.add_error(name, _("Needed for clothing that lets vapour through."))
        return said


class IndexForm(forms.Form):
    """The heat index, or the temperatures that it is reckoned from; the work and the clothing."""

    wbgt = Within(celsius, COLDEST, HOTTEST_INDEX, label=_("Heat index WBGT"), required=False, help_text=DEGREES)
    natural_wet = Within(celsius, COLDEST, HOTTEST_INDEX, label=_("or natural wet bulb temperature"), required=False)
    globe = Within(celsius, COLDEST, HOTTEST, label=_("with globe temperature"), required=False)
    sun_air = Within(celsius, COLDEST, HOTTEST_INDEX, label=_("and in the sun the air temperature"), required=False)
    work = forms.ChoiceField(label=_("Work"), initial="2")
    garment = forms.ChoiceField(label=_("Clothing"), initial="work-clothes")
    hood = forms.BooleanField(label=_("A separate hood besides"), required=False)
    acclimatised = forms.BooleanField(label=_("Used to heat (hospital staff are not)"), required=False)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["work"].choices = [(one, WORDS.term("work-class", one)) for one in WORK]  # type: ignore[attr-defined]
        garments = dict.fromkeys(one.garment for one in operations().all(ClothingAdjustment) if one.alone)
        self.fields["garment"].choices = [(one, WORDS.term("garment", one)) for one in garments]  # type: ignore[attr-defined]

    def clean(self) -> dict[str, Any]:
        said: dict[str, Any] = super().clean() or {}
        if self.errors:
            return said
        parts = [said.get("natural_wet"), said.get("globe")]
        if said.get("wbgt") is not None and any(one is not None for one in (*parts, said.get("sun_air"))):
            self.add_error("wbgt", _("Give the index, or the temperatures it is reckoned from."))
        elif said.get("wbgt") is None and None in parts:
            self.add_error("wbgt", _("Needed: the index, or natural wet bulb and globe temperature."))
        return said


class StrainForm(forms.Form):
    """What the model of heat strain is asked."""

    air = Within(celsius, -10, 60, label=_("Air temperature"), help_text=DEGREES)
    humidity = Within(number, 0, 100, label=_("Relative humidity, percent"))
    speed = Within(number, 0, 10, label=_("Air speed, m/s"), initial="0.1")
    radiant = Within(celsius, -10, 120, label=_("Mean radiant temperature"), required=False)
    metabolic = Within(number, 1, 1000, label=_("Metabolic rate, W/m²"), initial="165")
    clothing = Within(number, 0, 10, label=_("Insulation, clo"), initial="0.6")
    permeability = Within(number, 0, 1, label=_("Moisture permeability index"), initial="0.38")
    impermeable = forms.BooleanField(label=_("The suit lets no vapour through"), required=False)
    acclimatised = forms.BooleanField(label=_("Used to heat (hospital staff are not)"), required=False)
