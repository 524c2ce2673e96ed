"""What the printed sheet of an entry says, as it is typed: who and when first, then a line for each step."""

from __future__ import annotations

import datetime
import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from django import forms
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from vestry.hospital.anteroom.forms import StartForm
from vestry.hospital.desk.models import ProcedureVersion

_TIME = re.compile(r"^([01]?\d|2[0-3])[:.h ]?([0-5]\d)$")
OLDEST = 2000
HOW = (
    ("", gettext_lazy("as ticked above")),
    ("done-seen", gettext_lazy("done and seen")),
    ("done-not-seen", gettext_lazy("done, not seen")),
    ("none", gettext_lazy("not ticked")),
)


class TimeField(forms.CharField):
    """A time of day as people write it: 02:14, 2.14, 0214. Empty: not written."""

    def __init__(self, **more: Any) -> None:
        super().__init__(max_length=5, required=False, **more)
        self.widget.attrs |= {"inputmode": "numeric", "size": "6", "autocomplete": "off", "class": "time"}

    def clean(self, value: Any) -> Any:
        text = str(super().clean(value)).strip()
        if not text:
            return None
        found = _TIME.match(text)
        if not found:
            raise forms.ValidationError(_("A time of day, as 02:14; empty where none is written."))
        return datetime.time(int(found[1]), int(found[2]))


class PaperForm(StartForm):
    """Which sheet it is: procedure, people, day, and when it began."""

    version = forms.ModelChoiceField(
        ProcedureVersion.objects.none(),
        label=gettext_lazy("The sheet's procedure and version"),
        empty_label=gettext_lazy("choose"),
    )
    day = forms.DateField(
        label=gettext_lazy("Day, UTC"), widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")
    )
    began = TimeField(label=gettext_lazy("Time of the first step, UTC, as well as it is known"))
    note = forms.CharField(label=gettext_lazy("Number or place of the sheet"), max_length=200, required=False)
    another = forms.BooleanField(
        label=gettext_lazy("It is another pass of the same person, not one that is there already"), required=False
    )
    field_order = ("version", "wearer", "observer", "assistant", "room", "day", "began", "note", "drill", "another")

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for name in ("one_press", "override_reason", "override_alternative"):
            del self.fields[name]
        versions: Any = self.fields["version"]
        versions.queryset = ProcedureVersion.objects.select_related("procedure").defer("approved")
        versions.label_from_instance = lambda one: f"{one.procedure.title}, {one.number}"
        self.fields["began"].required = True

    def clean(self) -> dict[str, Any]:
        said = super().clean()
        if said.get("day") and said.get("began") is not None:
            if self.began_at() > timezone.now():
                self.add_error("day", _("That is still to come."))
            elif said["day"].year < OLDEST:
                self.add_error("day", _("No sheet is as old as that."))
        return said

    def began_at(self) -> datetime.datetime:
        said = self.cleaned_data
        return datetime.datetime.combine(said["day"], said["began"], datetime.UTC)


@dataclass(frozen=True)
class Line:
    """One step of the sheet: its number, its id, its words, and its fields."""

    number: int
    step: str
    says: str
    done: bool


class LinesForm(forms.Form):
    """The sheet's lines: ticked up to one step, and beside it only what is otherwise."""

    up_to = forms.IntegerField(label=gettext_lazy("Every step is ticked up to number"), min_value=0, required=False)
    ended = forms.ChoiceField(
        label=gettext_lazy("How it ended"),
        choices=(
            ("", gettext_lazy("not at its end yet")),
            ("closed", gettext_lazy("closed")),
            ("abandoned", gettext_lazy("ended early")),
        ),
        required=False,
    )
    ended_at = TimeField(label=gettext_lazy("When, as it is written"))
    why = forms.CharField(label=gettext_lazy("Why it ended early"), max_length=1000, required=False)

    def __init__(self, lines: Sequence[Line], *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.lines = [one for one in lines if not one.done]
        last = max((one.number for one in lines), default=0)  # also of those that the record has
        self.fields["up_to"] = forms.IntegerField(
            label=self.fields["up_to"].label, min_value=0, max_value=last, required=False
        )
        for one in self.lines:
            says = {"aria-label": _("Step %(n)s, how") % {"n": one.number}}
            self.fields[f"how-{one.number}"] = forms.ChoiceField(
                choices=HOW, required=False, widget=forms.Select(attrs=says)
            )
            self.fields[f"at-{one.number}"] = TimeField(label=_("Step %(n)s, time") % {"n": one.number})
            self.fields[f"at-{one.number}"].widget.attrs["aria-label"] = _("Step %(n)s, time") % {"n": one.number}
            otherwise = {
                "aria-label": _("Step %(n)s, what went otherwise") % {"n": one.number},
                "placeholder": _("What went otherwise"),  # seen where a narrow page has no head over the column
            }
            self.fields[f"otherwise-{one.number}"] = forms.CharField(
                label=_("Step %(n)s, what went otherwise") % {"n": one.number},
                max_length=1000, required=False, widget=forms.TextInput(attrs=otherwise),
            )  # fmt: skip

    def clean(self) -> dict[str, Any]:
        said = super().clean() or {}
        if said.get("ended") == "abandoned" and not said.get("why"):
            self.add_error("why", _("Say why it ended early."))
        if not any(self.how(one, said) or said.get(f"otherwise-{one.number}") for one in self.lines) and not said.get(
            "ended"
        ):
            self.add_error(None, _("Nothing was said of any step."))
        return said

    def how(self, line: Line, said: dict[str, Any]) -> str:
        """`done-seen`, `done-not-seen`, or empty where the sheet has no tick."""
        chosen = said.get(f"how-{line.number}") or ""
        if not chosen:
            return "done-seen" if line.number <= (said.get("up_to") or 0) else ""
        return "" if chosen == "none" else str(chosen)

    def rows(self) -> list[tuple[Line, Any, Any, Any]]:
        return [
            (one, self[f"how-{one.number}"], self[f"at-{one.number}"], self[f"otherwise-{one.number}"])
            for one in self.lines
        ]
