"""The board, the cheap view that it polls, and the page on which the lane is shown clear and the case confirmed."""

from __future__ import annotations

import hashlib
from datetime import datetime, timedelta
from typing import Any

from django import forms
from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseNotModified, HttpResponseRedirect
from django.shortcuts import render
from django.template.loader import render_to_string
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from vestry.entry import LANE_TASKS
from vestry.hospital.access.door import door
from vestry.hospital.access.people import visitor
from vestry.hospital.anteroom.screen import LANE_WORDS
from vestry.hospital.board.calls import calls_now
from vestry.hospital.board.figures import LONGEST_WORN, small_figure
from vestry.hospital.board.looking import MOST, Looked, look
from vestry.hospital.board.models import NAMES, BoardChoice, CaseConfirmed
from vestry.hospital.board.showing import MOST_OF_TWO, MOST_ROWS, Part, clock, part_of
from vestry.hospital.device import device_of
from vestry.hospital.record.models import Entry
from vestry.hospital.record.store import say
from vestry.hospital.writing import writing

THEMES = ("dark", "light")


def _look(now: datetime) -> tuple[BoardChoice, tuple[Looked, Looked]]:
    choice = BoardChoice.current()
    own = choice.turnaround_minutes
    return choice, look(now, None if own is None else timedelta(minutes=own))


def _shown(now: datetime, base: str) -> dict[str, Any]:
    """`base`: the address under which whoever looks finds the figures."""
    choice, looked = _look(now)
    both = all(one.busy for one in looked)
    parts = [part_of(one, choice.names, MOST_OF_TWO if both else MOST_ROWS) for one in looked]
    live = parts[0]
    shown = [one for one in parts if one.rows or one.lane.state != "free"] or [live]
    confirmed = {one.case: one for one in CaseConfirmed.objects.select_related("by")[:20][::-1]}
    return {
        "parts": [(one, confirmed.get(one.case_code)) for one in shown],
        "calls": calls_now(),
        "now": now,
        "base": base,
    }


@door(GET="see-board")
def board(request: HttpRequest) -> HttpResponse:
    return page_answer(request, "/board/")


@door(GET="see-board")
def board_now(request: HttpRequest) -> HttpResponse:
    return board_answer(request, "/board/")


@door(GET="see-board")
def board_figure(request: HttpRequest) -> HttpResponse:
    return figure_answer(request)


def page_answer(request: HttpRequest, base: str, lasting: bool = False) -> HttpResponse:
    """The page of the board. `lasting`: nobody is signed in on it, so no sign-in ends."""
    now = timezone.now()
    theme = request.GET.get("theme", "")
    return render(request, "board/board.html", {
        "fragment": render_to_string("board/_now.html", _shown(now, base)),
        "theme": theme if theme in THEMES else "auto",
        "now": now,
        "base": base,
        "lasting": lasting,
        "offset": int((timezone.localtime(now).utcoffset() or timedelta()).total_seconds() // 60),
    })  # fmt: skip


def board_answer(request: HttpRequest, base: str) -> HttpResponse:
    """What the board shows, without the page around it. The same again: 304, without a body."""
    now = timezone.now()
    text = render_to_string("board/_now.html", _shown(now, base))
    tag = f'"{hashlib.sha256(text.encode()).hexdigest()[:32]}"'
    response: HttpResponse
    response = HttpResponseNotModified() if request.headers.get("If-None-Match") == tag else HttpResponse(text)
    response["ETag"], response["Cache-Control"] = tag, "private, no-cache"
    response["Vestry-Now"] = now.isoformat(timespec="seconds")
    return response


def figure_answer(request: HttpRequest) -> HttpResponse:
    """The small figure of what its address names; nothing of anybody is in it, so the browser keeps it."""
    drawn = small_figure(tuple(request.GET.get("worn", "")[:LONGEST_WORN].split(",")))
    if drawn is None:
        raise Http404("no figure of these")
    response = HttpResponse(drawn, content_type="image/svg+xml")
    response["Cache-Control"] = "private, max-age=86400"
    return response


# ---- the lane: shown clear, told, confirmed ----


class LaneForm(forms.Form):
    press = forms.ChoiceField(choices=[(one, one) for one in (*LANE_TASKS, "out")])
    entry = forms.UUIDField()


class ConfirmForm(forms.Form):
    case = forms.CharField(max_length=80)


@door(GET="see-board", POST="clear-lane")
def lane(request: HttpRequest) -> HttpResponse:
    if request.method == "POST":
        form = LaneForm(request.POST)
        if not form.is_valid():
            return _lane_page(request, 422, form)
        _press(request, form.cleaned_data)
        return HttpResponseRedirect("/lane/")
    return _lane_page(request)


def _lane_page(request: HttpRequest, status: int = 200, form: forms.Form | None = None) -> HttpResponse:
    now = timezone.now()
    choice, looked = _look(now)
    confirmed = {one.case: one for one in CaseConfirmed.objects.select_related("by")[:20][::-1]}
    parts = [_lane_part(one, part_of(one, choice.names, MOST), confirmed) for one in looked]
    shown = [one for one in parts if one["part"].rows or one["part"].lane.state != "free"] or parts[:1]
    return render(
        request,
        "board/lane.html",
        {"parts": shown, "choice": choice, "names": NAMES[choice.names], "form": form},
        status=status,
    )


def _lane_part(looked: Looked, part: Part, confirmed: dict[str, CaseConfirmed]) -> dict[str, Any]:
    last = looked.of(looked.lane.who) if looked.lane.who and looked.lane.state == "to-clear" else None
    done = last.state.lane_done if last else ()
    return {
        "part": part,
        "last": last,
        "tasks": [(one, LANE_WORDS[one], one in done) for one in LANE_TASKS],
        "early": [one for one in looked.seen if one.over and one.where in ("inside", "in-lane")],
        "turns": [(turn, row) for row in part.rows if (turn := looked.lane.turn(row.code))],
        "free_at": clock(looked.lane.free_at),
        "turnaround": -int(-looked.turnaround.total_seconds() // 60),
        "confirmed": confirmed.get(part.case_code),
    }


@door(POST="confirm-case")
def confirm(request: HttpRequest) -> HttpResponse:
    form = ConfirmForm(request.POST)
    if not form.is_valid():
        return _lane_page(request, 422, form)
    with writing():
        CaseConfirmed.objects.create(case=form.cleaned_data["case"], by=visitor(request), at=timezone.now())
    return HttpResponseRedirect("/lane/")


def _press(request: HttpRequest, said: dict[str, Any]) -> None:
    """A part of the turnaround of the lane that is to be cleared, or somebody out whose entry had ended early."""
    _choice, looked = _look(timezone.now())
    for one in (seen for part in looked for seen in part.seen):
        if one.entry.pk != said["entry"]:
            continue
        if said["press"] == "out" and one.over and one.where in ("inside", "in-lane"):
            _say(request, one.entry, "left", {})
        elif said["press"] in LANE_TASKS and one.where == "out" and said["press"] not in one.state.lane_done:
            _say(request, one.entry, "lane-cleared", {"done": [said["press"]]})


def _say(request: HttpRequest, entry: Entry, kind: str, payload: dict[str, Any]) -> None:
    now = timezone.now()
    say(entry, visitor(request).sign_in, device_of(request), [(kind, payload, now)], now)


# ---- how the unit wants it ----


class ChoiceForm(forms.Form):
    names = forms.ChoiceField(
        label=gettext_lazy("Names on the wall"), choices=list(NAMES.items()), widget=forms.RadioSelect
    )
    turnaround_minutes = forms.IntegerField(
        label=gettext_lazy("Minutes to turn the lane around"),
        min_value=0,
        max_value=240,
        required=False,
        help_text=gettext_lazy(
            "The unit's own figure, as timed. Empty: reckoned from the durations of the facts, slow."
        ),
    )
    reason = forms.CharField(label=gettext_lazy("Reason"), max_length=400)


@door(GET="set-board", POST="set-board")
def choice(request: HttpRequest) -> HttpResponse:
    current = BoardChoice.current()
    form = ChoiceForm(initial={"names": current.names, "turnaround_minutes": current.turnaround_minutes})
    if request.method == "POST":
        form = ChoiceForm(request.POST)
        if form.is_valid():
            with writing():
                BoardChoice.objects.create(**form.cleaned_data, by=visitor(request), at=timezone.now())
            messages.info(request, _("The board follows from now on."))
            return HttpResponseRedirect("/board/choice/")
    return render(request, "board/choice.html", {"form": form, "current": current}, status=422 if form.errors else 200)
