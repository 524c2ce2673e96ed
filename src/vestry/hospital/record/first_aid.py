"""The unit's own words after a breach or exposure: what is done at once, by kind, and whom to call. By version.

Vestry ships none: first-aid wording is the unit's own text. A kind without one says so, and whom to call.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django import forms
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from vestry.entry.bundle import FirstAid
from vestry.hospital.access.door import door
from vestry.hospital.access.people import visitor
from vestry.hospital.record.models import FirstAidVersion
from vestry.hospital.writing import writing

CALL = "call"
KINDS: Mapping[str, Any] = {
    "sharps": _("Needle or sharps"),
    "splash": _("Splash to eye, nose or mouth"),
    "broken-skin": _("Broken skin reached"),
    "intact-skin": _("Intact skin reached"),
    "lost-air": _("Respirator or air lost"),
}
SITES: Mapping[str, tuple[str, ...]] = {
    "sharps": ("hands", "forearms", "elsewhere"),
    "splash": ("eyes", "nose-mouth"),
    "broken-skin": ("hands", "wrists", "forearms", "face", "neck", "elsewhere"),
    "intact-skin": ("hands", "wrists", "forearms", "face", "neck", "elsewhere"),
    "lost-air": ("airways",),
}
SITE_WORDS: Mapping[str, Any] = {
    "hands": _("hands"),
    "wrists": _("wrists"),
    "forearms": _("forearms"),
    "face": _("face"),
    "neck": _("neck"),
    "eyes": _("eyes"),
    "nose-mouth": _("nose or mouth"),
    "airways": _("airways"),
    "elsewhere": _("elsewhere"),
}
WHO: Mapping[str, Any] = {"wearer": _("wearer"), "assistant": _("doffing assistant"), "observer": _("trained observer")}


def in_force() -> dict[str, FirstAidVersion]:
    """The newest version of each kind, by kind; what nobody has written is not there."""
    found: dict[str, FirstAidVersion] = {}
    for one in FirstAidVersion.objects.select_related("by"):
        found.setdefault(one.kind, one)
    return found


def for_bundle() -> tuple[FirstAid, ...]:
    """What goes onto a tablet."""
    return tuple(
        FirstAid(kind=one.kind, text=one.text, since=one.at.date().isoformat(), by=one.by.name)
        for one in in_force().values()
    )


class FirstAidForm(forms.Form):
    kind = forms.ChoiceField(label=_("For"), choices=[*KINDS.items(), (CALL, _("Whom to call"))])
    text = forms.CharField(
        label=_("The unit's own words"),
        max_length=2000,
        help_text=_("Short sentences, one on a line. They are read at one metre by someone who is frightened."),
        widget=forms.Textarea(attrs={"rows": 5}),
    )
    reason = forms.CharField(label=_("Why it is changed, and who agreed"), max_length=1000)


@door(GET="see-first-aid", POST="edit-first-aid")
def first_aid(request: HttpRequest) -> HttpResponse:
    form = FirstAidForm(request.POST if request.method == "POST" else None)
    if request.method == "POST" and form.is_valid():
        said = form.cleaned_data
        with writing():
            FirstAidVersion.objects.create(
                kind=said["kind"],
                text=said["text"].strip(),
                reason=said["reason"],
                by=visitor(request),
                at=timezone.now(),
            )
        return HttpResponseRedirect("/first-aid/")
    found = in_force()
    names = {**KINDS, CALL: _("Whom to call")}
    rows = [(kind, name, found.get(kind)) for kind, name in names.items()]
    history = [(names.get(one.kind, one.kind), one) for one in FirstAidVersion.objects.select_related("by")[:60]]
    status = 422 if form.errors else 200
    return render(request, "record/first-aid.html", {"rows": rows, "history": history, "form": form}, status=status)
