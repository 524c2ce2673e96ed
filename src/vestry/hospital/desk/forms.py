"""Forms of the desk. Each refusal names its field; a form that does not hold stores nothing."""

from __future__ import annotations

import datetime
import re
from typing import Any, cast

from django import forms
from django.utils import timezone
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _
from pydantic import ValidationError

from vestry.hospital import facts
from vestry.hospital.desk.models import PolicyVersion, Procedure
from vestry.hospital.language import words_now
from vestry.sequence import Case, Policy

TASKS = ("care", "invasive", "aerosol-generating", "transfer", "cleaning")
_CODE = re.compile(r"^[a-z0-9]+(-[a-z0-9]+)*$")
_OPTIONS = ("hooded_coverall", "with_apron", "with_hair_cover", "with_hood", "with_foot_covers", "wipe_shoes_last")


class CaseForm(forms.Form):
    """A case to plan for, with what the unit's policy leaves open."""

    code = forms.CharField(
        label=_("Case code"),
        max_length=40,
        initial="tonight",
        help_text=_("Your own code. Never a name, a date of birth or a patient number."),
    )
    hazard = forms.ChoiceField(label=_("Hazard"), widget=forms.RadioSelect)
    presentation = forms.ChoiceField(label=_("Presentation"), widget=forms.RadioSelect)
    tasks = forms.MultipleChoiceField(
        label=_("What the team will do"),
        widget=forms.CheckboxSelectMultiple,
        error_messages={"required": _("Say at least one thing that the team will do.")},
    )
    wearers = forms.IntegerField(
        label=_("How many go in together"),
        min_value=1,
        max_value=4,
        initial=1,
        required=False,
        help_text=_("They come out one after the other through one lane."),
    )
    respirator = forms.ChoiceField(label=_("Respirator"), widget=forms.RadioSelect)
    garment = forms.ChoiceField(label=_("Garment"), widget=forms.RadioSelect)
    eye_protection = forms.ChoiceField(label=_("Eyes"), widget=forms.RadioSelect)
    glove_change = forms.ChoiceField(label=_("Change of inner gloves on the way out"), widget=forms.RadioSelect)
    hooded_coverall = forms.BooleanField(label=_("Coverall with hood"), required=False)
    with_apron = forms.BooleanField(label=_("Apron"), required=False)
    with_hair_cover = forms.BooleanField(label=_("Hair cover"), required=False)
    with_hood = forms.BooleanField(label=_("Surgical hood"), required=False)
    with_foot_covers = forms.BooleanField(label=_("Foot covers"), required=False)
    wipe_shoes_last = forms.BooleanField(label=_("Shoes wiped at the end"), required=False)
    gear = forms.MultipleChoiceField(
        label=_("Kinds of gear at hand"),
        widget=forms.CheckboxSelectMultiple,
        error_messages={"required": _("Tick at least one kind of gear. Untick only what is not at hand.")},
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        words, catalogue = words_now(), facts.catalogue()
        self.standing = Policy.model_validate(PolicyVersion.current())
        policy = self.standing.model_dump()
        self._offer("hazard", [(one, words.hazard(one)) for one in catalogue.hazards], "suspected-hcid")
        self._offer("presentation", [(one, words.term("presentation", one)) for one in ("dry", "wet")], "wet")
        self._offer("tasks", [(one, words.term("task", one)) for one in TASKS], ["care"])
        self._offer("gear", [(one, words.item(one)) for one in catalogue.items], list(catalogue.items))
        self._offer(
            "respirator",
            [
                ("disposable", gettext("disposable respirator")),
                ("belt-blower", gettext("powered, blower on the belt")),
                ("helmet-blower", gettext("powered, blower in the helmet")),
            ],
            policy["respirator"],
        )
        self._offer("garment", [("gown", gettext("gown")), ("coverall", gettext("coverall"))], policy["garment"])
        self._offer(
            "eye_protection",
            [("shield", gettext("face shield")), ("goggles", gettext("goggles"))],
            policy["eye_protection"],
        )
        self._offer(
            "glove_change",
            [
                ("before-face-item", gettext("before the respirator or mask comes off")),
                ("search", gettext("where the search finds it best")),
                ("none", gettext("no change")),
            ],
            policy["glove_change"],
        )
        for name in _OPTIONS:
            self.fields[name].initial = policy[name]

    def _offer(self, name: str, choices: list[tuple[str, str]], initial: Any) -> None:
        field = cast(Any, self.fields[name])
        field.choices = choices
        field.initial = initial
        field.error_messages["invalid_choice"] = gettext("%(label)s: %%(value)s is not one of those offered.") % {
            "label": field.label
        }

    def gear_groups(self) -> list[tuple[str, list[Any]]]:
        """The tick boxes of the gear, by kind."""
        words, catalogue = words_now(), facts.catalogue()
        groups: dict[str, list[Any]] = {}
        for box in self["gear"]:
            item = str(box.data["value"])
            groups.setdefault(words.kind(catalogue.items[item].kind), []).append(box)
        return sorted(groups.items())

    def options(self) -> list[Any]:
        return [self[name] for name in _OPTIONS]

    def clean_code(self) -> str:
        code = str(self.cleaned_data["code"]).strip().lower()
        if not _CODE.match(code):
            raise forms.ValidationError(gettext("Letters without accents, digits and single hyphens only."))
        return code

    def case_and_policy(self) -> tuple[Case, Policy]:
        """The values that the form says. Call it once the form is valid."""
        said = self.cleaned_data
        every = set(said["gear"]) == set(facts.catalogue().items)
        case = Case(
            code=said["code"],
            hazard=said["hazard"],
            presentation=said["presentation"],
            tasks=tuple(said["tasks"]),
            wearers=said["wearers"] or 1,
            gear=() if every else tuple(said["gear"]),
        )
        chosen = {name: said[name] for name in (*_OPTIONS, "respirator", "garment", "eye_protection", "glove_change")}
        return case, self.standing.model_copy(update=chosen)

    def clean(self) -> dict[str, Any]:
        said = super().clean() or {}
        if not self.errors:
            try:
                self.case_and_policy()
            except ValidationError as bad:
                for problem in bad.errors():
                    name = str(problem["loc"][0]).replace("-", "_") if problem["loc"] else None
                    self.add_error(name if name in self.fields else None, problem["msg"])
        return said


class ReasonForm(forms.Form):
    reason = forms.CharField(label=_("Reason"), max_length=2000, widget=forms.Textarea(attrs={"rows": 3}))


class OverrideForm(ReasonForm):
    alternative = forms.CharField(
        label=_("The alternative that was offered"), max_length=2000, widget=forms.Textarea(attrs={"rows": 2})
    )


class ApprovalForm(ReasonForm):
    """What the lead puts their name to. The three names must be those of the plan that was shown."""

    field_order = ("procedure", "title", "reason", "review_on")

    procedure = forms.ModelChoiceField(
        Procedure.objects.all(),
        label=_("A new version of"),
        required=False,
        empty_label=_("nothing: a new procedure"),
        to_field_name="slug",
    )
    title = forms.CharField(label=_("Name of the new procedure"), max_length=120, required=False)
    review_on = forms.DateField(label=_("Review on"), widget=forms.DateInput(attrs={"type": "date"}))
    plan = forms.CharField(widget=forms.HiddenInput, max_length=64)
    facts = forms.CharField(widget=forms.HiddenInput, max_length=64)
    model = forms.CharField(widget=forms.HiddenInput, max_length=40)

    def clean_review_on(self) -> datetime.date:
        day: datetime.date = self.cleaned_data["review_on"]
        today = timezone.localdate()
        if not today < day <= today + datetime.timedelta(days=3 * 366):
            raise forms.ValidationError(gettext("A day within the next three years."))
        return day

    def clean(self) -> dict[str, Any]:
        said = super().clean() or {}
        if not said.get("procedure") and not str(said.get("title") or "").strip() and "procedure" not in self.errors:
            self.add_error(
                "title", gettext("Give the new procedure a name, or choose the procedure that this is a version of.")
            )
        return said
