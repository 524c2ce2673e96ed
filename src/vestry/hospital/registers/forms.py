"""Forms of the registers. What they say becomes a value before it is stored; a refusal names its field."""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from typing import Any, get_args

from django import forms
from django.core.exceptions import ValidationError as FormError
from django.utils import timezone
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _
from pydantic import ValidationError

from vestry.hospital import facts, running_facts
from vestry.hospital.language import WORDS
from vestry.people import SHAPES
from vestry.people.values import Cleared, Duty
from vestry.trade.values import Value


def duties() -> list[tuple[str, str]]:
    """The parts that somebody may take, as this page calls them."""
    return [(one, WORDS.term("duty", one)) for one in get_args(Duty)]


def day(label: Any, required: bool = True, help_text: Any = "") -> forms.DateField:
    return forms.DateField(
        label=label, required=required, help_text=help_text, widget=forms.DateInput(attrs={"type": "date"})
    )


def systems() -> list[tuple[str, str]]:
    """The countries by whose levels fit tests are judged."""
    known = dict.fromkeys(one.jurisdiction for one in running_facts.standards().pass_levels.values())
    return [(one, WORDS.jurisdiction(one)) for one in known]


def items(*, fit_tested: bool | None = None, sized: bool = False) -> list[tuple[str, str]]:
    """Items of the catalogue, by name."""
    known = facts.catalogue().items.values()
    return sorted(
        (
            (one.id, WORDS.item(one.id))
            for one in known
            if (fit_tested is None or one.fit_tested == fit_tested) and (not sized or len(one.sizes) > 1)
        ),
        key=lambda one: one[1],
    )


CHOOSE = ("", "choose")
"""Stands first, so that nothing is chosen by not looking."""


class Choosing(forms.Form):
    """A form whose choices are read when it is shown, so that a changed fact is in them."""

    choosing: Mapping[str, Any] = {}

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for name, choices in self.choosing.items():
            field: Any = self.fields[name]
            field.choices = [CHOOSE, *choices()]
            field.error_messages["invalid_choice"] = gettext("%(label)s: choose one that is in the list.") % {
                "label": field.label
            }


class PersonForm(forms.Form):
    """Somebody new on the register."""

    code = forms.RegexField(
        r"^[A-Za-z0-9][A-Za-z0-9._/-]*$",
        label=_("Staff code"),
        max_length=40,
        help_text=_("The hospital's own code. It is theirs alone."),
        error_messages={"invalid": _("Letters, digits, dot, hyphen, underscore and slash.")},
    )
    name = forms.CharField(label=_("Name"), max_length=120)
    sign_in = forms.CharField(
        label=_("Sign-in name"),
        max_length=60,
        required=False,
        help_text=_("If they have one. One person, one sign-in."),
    )
    duties = forms.MultipleChoiceField(
        label=_("On the register as"), choices=duties, widget=forms.CheckboxSelectMultiple, initial=["wearer"]
    )


class NoteForm(Choosing):
    """A note of one kind. `value` is what is stored, once the form is valid."""

    kind = ""
    value: Value

    def said(self) -> dict[str, Any]:
        """The form's fields as the value takes them."""
        return {name: given for name, given in self.cleaned_data.items() if given not in (None, "", [])}

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        if not self.errors:
            try:
                self.value = SHAPES[self.kind].model_validate(self.said())  # type: ignore[index]
            except ValidationError as bad:
                for one in bad.errors():
                    self.add_error(None, str(one["msg"]).removeprefix("Value error, "))
        return cleaned


def not_to_come(given: datetime.date) -> None:
    if given > timezone.localdate():
        raise FormError(gettext("A day that has come, not one after today."))


class IdentityForm(NoteForm):
    kind = "identity"
    duties = forms.MultipleChoiceField(
        label=_("On the register as"), choices=duties, widget=forms.CheckboxSelectMultiple
    )
    active = forms.BooleanField(label=_("Still on the register"), required=False)

    def said(self) -> dict[str, Any]:
        return {"duties": self.cleaned_data["duties"], "active": self.cleaned_data["active"]}


class CompetencyForm(NoteForm):
    kind = "competency"
    subject = forms.ChoiceField(label=_("In"), help_text=_("A procedure, or an ensemble for every procedure with it."))
    duty = forms.ChoiceField(label=_("As"), choices=duties)
    on = day(_("Found able on"))
    months = forms.IntegerField(
        label=_("Holds for months"),
        required=False,
        min_value=1,
        max_value=120,
        help_text=_("Empty: by the usual interval."),
    )

    def __init__(self, *args: Any, subjects: list[tuple[str, str]], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        field: Any = self.fields["subject"]
        field.choices = [CHOOSE, *subjects]

    def clean_on(self) -> datetime.date:
        not_to_come(self.cleaned_data["on"])
        return self.cleaned_data["on"]  # type: ignore[no-any-return]


class FitTestForm(NoteForm):
    kind = "fit-test"
    choosing = {"item": lambda: items(fit_tested=True), "system": systems}  # noqa: RUF012
    item = forms.ChoiceField(label=_("Respirator"))
    model = forms.CharField(label=_("Model"), max_length=80)
    size = forms.CharField(label=_("Size"), max_length=20)
    device = forms.ChoiceField(
        label=_("Class"),
        choices=[("half-mask", _("half mask or filtering facepiece")), ("full-facepiece", _("full facepiece"))],
    )
    system = forms.ChoiceField(label=_("By the system of"))
    method = forms.ChoiceField(
        label=_("Method"),
        choices=[("quantitative", _("quantitative")), ("qualitative", _("qualitative (taste or smell)"))],
    )
    on = day(_("Done on"))
    factors = forms.CharField(
        label=_("Fit factors by exercise"),
        required=False,
        max_length=400,
        help_text=_(
            "In the order done, with spaces between; the grimace with a star before it: 300 250 *40 150. "
            "The overall factor is worked out."
        ),
    )
    overall = forms.FloatField(
        label=_("Overall factor"), required=False, min_value=0.001, help_text=_("Only where exercises are not known.")
    )
    passed = forms.ChoiceField(
        label=_("Qualitative: passed"),
        required=False,
        choices=[("", _("not qualitative")), ("yes", _("yes")), ("no", _("no"))],
    )
    months = forms.IntegerField(
        label=_("Holds for months"),
        required=False,
        min_value=1,
        max_value=120,
        help_text=_("Empty: by its system's interval."),
    )

    def clean_on(self) -> datetime.date:
        not_to_come(self.cleaned_data["on"])
        return self.cleaned_data["on"]  # type: ignore[no-any-return]

    def clean_factors(self) -> list[dict[str, Any]]:
        return exercises(self.cleaned_data["factors"])

    def said(self) -> dict[str, Any]:
        said = super().said()
        said["exercises"] = said.pop("factors", [])
        if "passed" in said:
            said["passed"] = said["passed"] == "yes"
        return said


SCORED_IN_ORDER = (
    "normal-breathing",
    "deep-breathing",
    "head-side-to-side",
    "head-up-and-down",
    "talking",
    "bending-over",
    "normal-breathing-again",
)


def exercises(text: str) -> list[dict[str, Any]]:
    """Factors in a line as exercises; a star marks the grimace. FormError names what is no factor."""
    found: list[dict[str, Any]] = []
    names = iter((*SCORED_IN_ORDER, *(f"exercise-{number}" for number in range(8, 30))))
    for word in text.replace(";", " ").split():
        grimace = word.startswith("*")
        try:
            factor = float(word.removeprefix("*").removesuffix(","))
        except ValueError:
            raise FormError(
                gettext("%(word)s is no factor; write numbers with spaces between.") % {"word": word}
            ) from None
        if not 0 < factor <= 1_000_000:
            raise FormError(gettext("%(word)s: a factor is above 0.") % {"word": word})
        name = "grimace" if grimace else next(names, None)
        if name is None:
            raise FormError(gettext("More exercises than any test has."))
        found.append({"exercise": name, "factor": factor})
    return found


class MeasuresForm(NoteForm):
    kind = "measures"
    height_mm = forms.IntegerField(label=_("Height in mm"), required=False, min_value=1000, max_value=2500)
    hand_circumference = forms.IntegerField(
        label=_("Hand round the palm in mm"),
        required=False,
        min_value=100,
        max_value=400,
        help_text=_("The larger hand, at the crotch of the thumb."),
    )
    hand_length = forms.IntegerField(
        label=_("Hand length in mm"),
        required=False,
        min_value=100,
        max_value=400,
        help_text=_("From the tip of the middle finger to the wrist."),
    )

    def clean(self) -> dict[str, Any]:
        given = self.cleaned_data
        if not given.get("height_mm") and not given.get("hand_circumference"):
            self.add_error(None, gettext("Give a height, or the hand round the palm."))
        return super().clean()

    def said(self) -> dict[str, Any]:
        given = self.cleaned_data
        hand = {"circumference-mm": given["hand_circumference"], "length-mm": given["hand_length"]}
        return {"height-mm": given["height_mm"], "hand": hand if given["hand_circumference"] else None}


class TriedForm(NoteForm):
    kind = "tried"
    choosing = {"what": lambda: kinds_and_items()}  # noqa: RUF012
    what = forms.ChoiceField(label=_("Of"))
    size = forms.CharField(
        label=_("Size"), max_length=20, help_text=_("As it is marked: xs, s, m, l, xl, xxl, or a number.")
    )

    def clean_size(self) -> str:
        return str(self.cleaned_data["size"]).strip().lower()


def kinds_and_items() -> list[tuple[str, str]]:
    """Kinds of item that come in sizes, then the items; fitted respirators are left out."""
    known = [one for one in facts.catalogue().items.values() if len(one.sizes) > 1 and not one.fit_tested]
    kinds = sorted({(one.kind, gettext("All %(kind)s") % {"kind": WORDS.kind(one.kind).lower()}) for one in known})
    return [*kinds, *sorted(((one.id, WORDS.item(one.id)) for one in known), key=lambda one: one[1])]


class AbsenceForm(NoteForm):
    kind = "absence"
    start = day(_("From"))
    until = day(_("To"), required=False, help_text=_("The last day. Empty: not known."))
    reason = forms.CharField(
        label=_("Reason"),
        required=False,
        max_length=500,
        help_text=_("Read by the person and by occupational health alone. Others see that they are not available."),
    )

    def said(self) -> dict[str, Any]:
        return {"from": self.cleaned_data["start"], "until": self.cleaned_data["until"]}


class ClearanceForm(NoteForm):
    kind = "clearance"
    on = day(_("Given on"))
    cleared = forms.ChoiceField(
        label=_("Cleared for"), choices=lambda: [(one, WORDS.term("cleared", one)) for one in get_args(Cleared)]
    )
    until = day(_("To"), required=False, help_text=_("The last day, by the clinician. Empty: by the usual interval."))

    def clean_on(self) -> datetime.date:
        not_to_come(self.cleaned_data["on"])
        return self.cleaned_data["on"]  # type: ignore[no-any-return]


class WithdrawForm(NoteForm):
    kind = "withdrawn"
    note = forms.UUIDField(label=_("Note"), widget=forms.HiddenInput)
    why = forms.CharField(label=_("Why"), max_length=300)

    def said(self) -> dict[str, Any]:
        return {"note": str(self.cleaned_data["note"]), "why": self.cleaned_data["why"]}


NOTE_FORMS: Mapping[str, type[NoteForm]] = {
    "competency": CompetencyForm,
    "fit-test": FitTestForm,
    "tried": TriedForm,
    "measures": MeasuresForm,
    "absence": AbsenceForm,
    "clearance": ClearanceForm,
    "identity": IdentityForm,
}
BY_HEALTH = frozenset({"clearance"})
BY_LEAD = frozenset({"competency", "identity"})
"""Kinds that occupational health alone, or the lead alone, writes. The others are either's."""
