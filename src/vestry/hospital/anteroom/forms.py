"""Starting an entry, and one press on the tablet."""

from __future__ import annotations

import datetime
import re
from typing import Any

from django import forms
from django.db.models import Q, QuerySet
from django.utils import timezone
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from vestry.entry import LANE_TASKS
from vestry.hospital.access.models import User
from vestry.hospital.access.people import with_role
from vestry.hospital.rooms.mapper import rooms

PRESSES = (
    "stop-said",
    "read",
    "acknowledged",
    "done-seen",
    "done-not-seen",
    "prompted",
    "stopped",
    "went-otherwise",
    "recovery-taken",
    "resumed",
    "pressed-wrongly",
    "closed",
    "abandoned",
    "undress-observed",
    "undress-by-mirror",
    "own-way-left-out",
    *(f"lane-{task}" for task in LANE_TASKS),
)
_UUID7 = re.compile(r"^[0-9a-f]{8}-[0-9a-f]{4}-7[0-9a-f]{3}-[89ab][0-9a-f]{3}-[0-9a-f]{12}$")
MOST_IDS = 60


def room_choices() -> list[tuple[str, Any]]:
    """The rooms of the register in use, and none."""
    return [("", _("not said")), *((one.code, one.name) for one in rooms() if not one.out_of_use)]


OUTSIDERS_FOR = datetime.timedelta(days=3)
"""An outsider was added for one case: after some days they are added anew, and briefed anew."""


def wearers() -> QuerySet[User]:
    """Who can be chosen to go in: those with a role for it, and outsiders who were added lately."""
    own = Q(is_active=True, grants__role__in=("staff-member", "trained-observer"))
    lately = Q(outsider__at__gt=timezone.now() - OUTSIDERS_FOR)
    return User.objects.filter(own | lately).distinct().order_by("name")


class StartForm(forms.Form):
    """Who goes in, who watches, who helps."""

    wearer = forms.ModelChoiceField(
        User.objects.none(), label=_("Wearer"), empty_label=_("choose"), to_field_name="sign_in"
    )
    observer = forms.ModelChoiceField(
        User.objects.none(), label=_("Trained observer"), empty_label=_("choose"), to_field_name="sign_in"
    )
    assistant = forms.ModelChoiceField(
        User.objects.none(),
        label=_("Doffing assistant"),
        empty_label=_("none"),
        required=False,
        to_field_name="sign_in",
    )
    room = forms.ChoiceField(
        label=_("Room"),
        required=False,
        help_text=_("With a fresh reading of its heat the clock may be shorter than the unit's limit."),
    )
    drill = forms.BooleanField(label=_("This is a drill"), required=False)
    one_press = forms.BooleanField(
        label=_("One press for each step"),
        required=False,
        help_text=_("Only done and seen is pressed. The wearer's screen then shows each step at once."),
    )

    override_reason = forms.CharField(label=_("Reason"), max_length=2000, required=False)
    override_alternative = forms.CharField(label=_("The alternative that was offered"), max_length=2000, required=False)

    def __init__(self, *args: Any, needs_assistant: bool = False, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for name, people in (
            ("wearer", wearers()),
            ("observer", with_role("trained-observer")),
            ("assistant", with_role("staff-member", "trained-observer")),
        ):
            field: Any = self.fields[name]
            field.queryset = people
            field.error_messages["invalid_choice"] = gettext("%(label)s: nobody of that name may be chosen here.") % {
                "label": field.label
            }
        room: Any = self.fields["room"]
        room.choices = room_choices()
        if needs_assistant:
            self.fields["assistant"].required = True

    def clean(self) -> dict[str, Any]:
        said = super().clean() or {}
        people = [said.get(name) for name in ("wearer", "observer", "assistant")]
        chosen = [one for one in people if one is not None]
        if len(set(chosen)) != len(chosen):
            self.add_error(None, gettext("One person cannot be two of the three: wearer, observer, assistant."))
        return said


class PressForm(forms.Form):
    """One press, as the page sent it. Its ids make it count once, however often it arrives."""

    press = forms.ChoiceField(choices=[(one, one) for one in PRESSES])
    step = forms.CharField(max_length=200, required=False)
    ids = forms.CharField(max_length=40 * MOST_IDS)
    clock = forms.DateTimeField(required=False, input_formats=["%Y-%m-%dT%H:%M:%S.%fZ", "%Y-%m-%dT%H:%M:%SZ"])
    events = forms.CharField(max_length=400, required=False)
    recovery = forms.CharField(max_length=80, required=False)
    by = forms.CharField(max_length=120, required=False)
    reason = forms.CharField(max_length=1000, required=False)
    note = forms.CharField(max_length=1000, required=False)

    def clean_ids(self) -> list[str]:
        ids = str(self.cleaned_data["ids"]).split(",")
        if not 1 <= len(ids) <= MOST_IDS or len(set(ids)) != len(ids) or not all(_UUID7.match(one) for one in ids):
            raise forms.ValidationError(gettext("The ids of a press are UUIDs of version 7, with commas between."))
        return ids

    def clean(self) -> dict[str, Any]:
        said = super().clean() or {}
        press = said.get("press")
        if press in PRESSES[:9] and not said.get("step"):
            self.add_error("step", gettext("Say which step."))
        for name, presses in (
            ("events", ("went-otherwise",)),
            ("recovery", ("recovery-taken",)),
            ("reason", ("abandoned",)),
        ):
            if press in presses and not said.get(name):
                self.add_error(name, gettext("This press needs it."))
        return said
