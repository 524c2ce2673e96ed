"""The unit's own texts beside the steps: unwell, air lost, a change of gloves, the hold card. Versions, written once.

An entry has the texts that were in force when it was opened, on every device and to its end. First aid has a page of
its own (record/first_aid.py).
"""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from typing import Any

from django import forms
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.utils import timezone
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from vestry.entry.beside import HOLD_CARD, LONGEST_LINE, MOST_LINES, OWN_TEXTS, OwnText, default
from vestry.hospital.access.door import door
from vestry.hospital.access.people import visitor
from vestry.hospital.anteroom.models import OwnTextVersion
from vestry.hospital.language import words_now
from vestry.hospital.running_facts import operations
from vestry.hospital.writing import writing
from vestry.papers.beside import Beside, BesideText
from vestry.papers.typesetting import unprintable
from vestry.trade.operations_values import HygieneTime

NAMES: Mapping[str, Any] = {
    "unwell": _("The wearer is unwell"),
    "lost-air": _("Air is lost"),
    "glove-change-inside": _("Change of outer gloves inside"),
    HOLD_CARD: _("Hold card"),
}
WHEN: Mapping[str, Any] = {
    "unwell": _("Shown after STOP, two presses from any step."),
    "lost-air": _("Shown after STOP, two presses from any step."),
    "glove-change-inside": _("Shown while the wearer is inside."),
    HOLD_CARD: _("Shown after STOP where no approved answer fits, once the wearer has gone in."),
}


def texts_at(moment: datetime.datetime) -> dict[str, OwnText]:
    """The unit's own texts that were in force then, by name; what it has not written, or took back, is not there."""
    newest: dict[str, OwnTextVersion] = {}
    for one in OwnTextVersion.objects.filter(at__lte=moment).select_related("by"):
        newest.setdefault(one.name, one)
    return {name: text_of(one) for name, one in newest.items() if one.lines and name in OWN_TEXTS}


def text_of(row: OwnTextVersion) -> OwnText:
    """A version as a value. One with lines."""
    return OwnText(
        id=row.name,
        name=str(NAMES[row.name]),
        lines=tuple(row.lines),
        version=row.number,
        since=row.at.astimezone(datetime.UTC).strftime("%Y-%m-%d %H:%M"),
        by=row.by.name,
    )


class OwnTextForm(forms.Form):
    """One sentence a line. Nothing at all takes the unit's text back. `seen`: the version that the page showed."""

    lines = forms.CharField(
        label=_("Sentences, one a line"),
        required=False,
        max_length=4000,
        widget=forms.Textarea(attrs={"rows": 2 * MOST_LINES}),
        help_text=_(
            "At most six, of at most 100 letters each. Short, and as one would say it aloud. Leave it empty to take "
            "the unit's own text back."
        ),
    )
    reason = forms.CharField(label=_("Reason"), max_length=2000, widget=forms.Textarea(attrs={"rows": 2}))
    seen = forms.IntegerField(min_value=0, widget=forms.HiddenInput)

    def clean_lines(self) -> list[str]:
        lines = [" ".join(one.split()) for one in self.cleaned_data["lines"].splitlines() if one.strip()]
        if len(lines) > MOST_LINES:
            raise forms.ValidationError(
                gettext("%(n)d sentences; at most %(most)d.") % {"n": len(lines), "most": MOST_LINES}
            )
        for number, one in enumerate(lines, 1):
            if len(one) > LONGEST_LINE:
                raise forms.ValidationError(
                    gettext("Line %(number)d has %(n)d letters; at most %(most)d.")
                    % {"number": number, "n": len(one), "most": LONGEST_LINE}
                )
        for place in unprintable(lines):
            raise forms.ValidationError(
                gettext("Line %(number)d has a sign that cannot be printed on paper.") % {"number": place + 1}
            )
        return lines


@door(GET="see-own-texts")
def own_texts(request: HttpRequest) -> HttpResponse:
    now = texts_at(timezone.now())
    context = {"texts": [_shown(name, now) for name in OWN_TEXTS], "times": _times()}
    return render(request, "anteroom/own-texts.html", context)


def _times() -> list[dict[str, Any]]:
    """How long a rub or a wipe takes, each with whose figure it is: a record of operations, laid over under Facts."""
    words, now = words_now(), operations()
    parts = {"hands": gettext("hands"), "gloves": gettext("gloves"), "surfaces": gettext("surfaces")}
    return [
        {
            "agent": words.agent(one.agent),
            "on": parts[one.on],
            "one": one,
            "certainty": words.term("certainty", one.certainty),
        }
        for one in now.all(HygieneTime)
    ]


def _shown(name: str, now: Mapping[str, OwnText]) -> dict[str, Any]:
    own = now.get(name)
    if own is None and name != HOLD_CARD:
        lines = default(words_now(), name).lines
    else:
        lines = own.lines if own else hold_card_lines()
    return {"name": name, "title": NAMES[name], "when": WHEN[name], "own": own, "lines": lines}


def hold_card_lines() -> tuple[str, ...]:
    """What the hold card says where the unit has written none."""
    return (
        gettext("Stay as you are."),
        gettext("Call the shift lead."),
        gettext("Nothing comes off. No approved answer fits: the shift lead and infection prevention decide."),
    )


def on_paper() -> Beside:
    """The page of the printed sheet: the texts in force now, each with whose it is."""
    now = texts_at(timezone.now())
    shown = [_shown(name, now) for name in OWN_TEXTS]
    return Beside(
        title=gettext("Beside the steps"),
        lead=gettext("Short sequences for when there is no time to look for one. First aid: the unit's own text."),
        texts=tuple(BesideText(str(one["title"]), tuple(one["lines"]), _mark(one["own"])) for one in shown),
    )


def _mark(own: OwnText | None) -> str:
    if own is None:
        return gettext("Not the unit's own text: what is shown until the unit has written its own.")
    return gettext("The unit's own text, version %(n)d, since %(since)s UTC, by %(by)s.") % {
        "n": own.version,
        "since": own.since,
        "by": own.by,
    }


@door(GET="see-own-texts", POST="edit-own-texts")
def own_text(request: HttpRequest, name: str) -> HttpResponse:
    if name not in OWN_TEXTS:
        raise Http404
    newest = OwnTextVersion.objects.filter(name=name).first()
    if request.method != "POST":
        shown = _shown(name, texts_at(timezone.now()))
        form = OwnTextForm(initial={"lines": "\n".join(shown["lines"]), "seen": newest.number if newest else 0})
        return _page(request, name, form)
    form = OwnTextForm(request.POST)
    if form.is_valid():
        problem = _write(request, name, form.cleaned_data)
        if problem is None:
            return HttpResponseRedirect(f"/own-texts/{name}/")
        form.add_error(None, problem)
    return _page(request, name, form, 422)


def _write(request: HttpRequest, name: str, said: dict[str, Any]) -> str | None:
    """A new version, or why there is none."""
    with writing():
        newest = OwnTextVersion.objects.filter(name=name).first()
        if said["seen"] != (newest.number if newest else 0):
            return gettext("Another version was written meanwhile. Look at it, then write yours.")
        if not said["lines"] and not (newest and newest.lines):
            return gettext("There is no text of the unit's own to take back.")
        if newest and newest.lines == said["lines"]:
            return gettext("This is what is in force already.")
        OwnTextVersion.objects.create(
            name=name,
            number=newest.number + 1 if newest else 1,
            lines=said["lines"],
            reason=said["reason"],
            by=visitor(request),
            at=timezone.now(),
        )
    return None


def _page(request: HttpRequest, name: str, form: OwnTextForm, status: int = 200) -> HttpResponse:
    history = OwnTextVersion.objects.filter(name=name).select_related("by")
    shown = _shown(name, texts_at(timezone.now()))
    context = {"title": shown["title"], "when": shown["when"], "shown_text": shown, "form": form, "history": history}
    return render(request, "anteroom/own-text.html", context, status=status)
