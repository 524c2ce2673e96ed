"""Ready tonight: for each hazard now and over the next thirty days, weakest link first; and as a calendar feed."""

from __future__ import annotations

import datetime
import uuid
from dataclasses import dataclass
from typing import Any

from django import forms
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.utils import timezone
from django.utils.translation import gettext_lazy as _later

from vestry.hospital import facts, running_facts
from vestry.hospital.access.door import door
from vestry.hospital.access.people import visitor
from vestry.hospital.desk.models import CalendarFeed, TeamNeedVersion, Unit
from vestry.hospital.desk.ready_here import Registers
from vestry.hospital.desk.ready_strip import strip
from vestry.hospital.language import words_now
from vestry.hospital.writing import writing
from vestry.readiness import Link, Memory, Question, TeamNeed, Tonight, lasting, tonight
from vestry.readiness.reminders import calendar
from vestry.readiness.telling import (
    TellsNames,
    told_cover,
    told_days,
    told_link,
    told_mend,
    told_question,
    told_stands,
    told_verdict,
    told_why,
)
from vestry.trade.values import Presentation
from vestry.trade.words import Words

MOST_HOURS = 30 * 24


@dataclass(frozen=True)
class Asked:
    """An answer with the names that go with it."""

    found: Tonight
    names: TellsNames

    @property
    def no_procedure(self) -> bool:
        """Whether the table names none for any presentation asked."""
        bare = [one for one in self.found.links if one.topic == "procedure" and not one.subject]
        return {where for one in bare for where in one.presentations} == set(self.found.question.presentations)


def ask(
    hazards: list[str],
    hours: int,
    on: datetime.date,
    names: bool,
    presentations: tuple[Presentation, ...] = ("dry", "wet"),
) -> list[Asked]:
    """The answers for these hazards, on the registers read once."""
    registers, catalogue, standards = Registers(on, names), facts.catalogue(), running_facts.standards()
    memory, team = Memory(), TeamNeedVersion.current()
    starts = datetime.datetime.combine(on, datetime.time(timezone.localtime().hour))
    answers = []
    for hazard in hazards:
        question = Question(hazard=hazard, on=on, hours=hours, presentations=presentations)
        here = registers.here(question)
        lasts = lasting(question, here, team, starts, catalogue, standards, memory)
        found = tonight(question, here, catalogue, standards, team=team, lasts=lasts, memory=memory)
        answers.append(Asked(found, registers.names))
    return answers


# ---- pages ----


class HoursForm(forms.Form):
    """For how many hours."""

    hours = forms.IntegerField(
        label=_later("Hours"),
        min_value=1,
        max_value=MOST_HOURS,
        initial=24,
        error_messages={"invalid": "Hours: a whole number.", "required": "Hours: say for how long."},
    )


class TeamForm(forms.Form):
    """The unit's minimum on a shift."""

    wearer = forms.IntegerField(label=_later("Wearers on a shift"), min_value=1, max_value=20)
    observer = forms.IntegerField(label=_later("Trained observers on a shift"), min_value=0, max_value=20)
    assistant = forms.IntegerField(label=_later("Doffing assistants on a shift"), min_value=0, max_value=20)
    shift_hours = forms.IntegerField(label=_later("Hours of a shift"), min_value=1, max_value=24)
    practised_months = forms.IntegerField(label=_later("Practice counts for so many months"), min_value=1, max_value=60)
    reason = forms.CharField(label=_later("Reason"), max_length=2000, widget=forms.Textarea(attrs={"rows": 2}))


def _hours(request: HttpRequest) -> tuple[int, HoursForm]:
    form = HoursForm(request.GET if "hours" in request.GET else {"hours": 24})
    return (form.cleaned_data["hours"] if form.is_valid() else 24), form


@door(GET="see-ready", POST="set-team-need")
def overview(request: HttpRequest) -> HttpResponse:
    team = TeamNeedVersion.current()
    team_form = TeamForm(request.POST or None, initial=team.model_dump())
    if request.method == "POST" and team_form.is_valid():
        said = dict(team_form.cleaned_data)
        reason = said.pop("reason")
        with writing():
            TeamNeedVersion.objects.create(
                need=TeamNeed(**said).model_dump(mode="json"), reason=reason, by=visitor(request), at=timezone.now()
            )
        return HttpResponseRedirect("/ready/")
    hours, form = _hours(request)
    words = words_now()
    asked = ask(list(facts.catalogue().hazards), hours, timezone.localdate(), _names(request))
    rows = [_row(one, words) for one in asked]
    rows.sort(key=lambda row: (row["no_procedure"], row["rank"], row["name"]))
    context = {
        "rows": [row for row in rows if not row["no_procedure"]],
        "without": [row["name"] for row in rows if row["no_procedure"]],
        "hours": hours,
        "form": form,
        "team": team,
        "team_form": team_form,
        "feeds": CalendarFeed.objects.filter(by=visitor(request), ended_at=None).order_by("-at"),
        "feed_url": request.session.pop("new-feed", None),
        "caution": words.finding("ready.caution"),
    }
    return render(request, "desk/ready.html", context, status=422 if request.method == "POST" else 200)


@door(GET="see-ready")
def of_hazard(request: HttpRequest, hazard: str) -> HttpResponse:
    if hazard not in facts.catalogue().hazards:
        raise Http404
    hours, form = _hours(request)
    words = words_now()
    (asked,) = ask([hazard], hours, timezone.localdate(), _names(request))
    return render(request, "desk/ready-hazard.html", _detail(asked, words) | {"form": form, "hours": hours})


def _names(request: HttpRequest) -> bool:
    return visitor(request).may("see-register")


def _row(asked: Asked, words: Words) -> dict[str, Any]:
    found = asked.found
    weakest = found.links[0] if found.links else None
    return {
        "hazard": found.question.hazard,
        "name": words.hazard(found.question.hazard),
        "state": found.state,
        "rank": ("not-ready", "watch", "ready").index(found.state),
        "says": words.term("ready-state", found.state),
        "no_procedure": asked.no_procedure,
        "weakest": _link(weakest, words, asked.names) if weakest else None,
        "cover": told_cover(found, words)[:1],
        "days": told_days(found, words),
        "strip": strip(found.days),
    }


def _detail(asked: Asked, words: Words) -> dict[str, Any]:
    found = asked.found
    return {
        "hazard": found.question.hazard,
        "name": words.hazard(found.question.hazard),
        "question": told_question(found, words),
        "state": found.state,
        "verdict": told_verdict(found, words),
        "cover": told_cover(found, words),
        "days_say": told_days(found, words),
        "strip": strip(found.days),
        "days": [
            {"on": day.on, "says": words.term("ready-state", day.state), "failing": _failing(day.failing, asked, words)}
            for day in found.days
        ],
        "links": [_link(one, words, asked.names) for one in found.links],
        "team": found.team,
        "teams": found.team.teams(found.question.hours),
        "caution": words.finding("ready.caution"),
        "found": found,
    }


def _failing(names: tuple[str, ...], asked: Asked, words: Words) -> list[str]:
    by_name = {one.name: one for one in asked.found.links}
    return [told_link(by_name[one], words, asked.names) for one in names if one in by_name]


def _link(link: Link, words: Words, names: TellsNames) -> dict[str, Any]:
    return {
        "link": link,
        "state": link.state,
        "says": words.term("ready-state", link.state),
        "name": told_link(link, words, names),
        "stands": told_stands(link, words),
        "for": ", ".join(words.term("presentation-short", one) for one in link.presentations),
        "why": [told_why(one, words) for one in link.why],
        "mend": [told_mend(one, words, names) for one in link.mend],
    }


# ---- the calendar feed ----


@door(POST="see-ready")
def new_feed(request: HttpRequest) -> HttpResponse:
    """A feed of one's own: its address is shown once, and is the only key to it."""
    secret, feed = CalendarFeed.made_for(visitor(request), timezone.now())
    with writing():
        feed.save()
    request.session["new-feed"] = request.build_absolute_uri(f"/ready/feeds/{secret}.ics")
    return HttpResponseRedirect("/ready/#feed")


@door(POST="see-ready")
def end_feed(request: HttpRequest, key: uuid.UUID) -> HttpResponse:
    with writing():
        CalendarFeed.objects.filter(pk=key, by=visitor(request), ended_at=None).update(ended_at=timezone.now())
    return HttpResponseRedirect("/ready/#feed")


@door(GET="read-feed")
def feed(request: HttpRequest, secret: str) -> HttpResponse:
    """What will not hold, for a calendar that signs in nowhere. No names of people; an ended feed is not there."""
    row = CalendarFeed.of(secret)
    if row is None or not row.by.may("see-ready"):
        raise Http404
    words, now = words_now(), timezone.now()
    answers = ask(list(facts.catalogue().hazards), 24, timezone.localdate(), names=False)
    named = [one for one in answers if not one.no_procedure]
    names = answers[-1].names if answers else TellsNames({}, {}, {})
    stamp = now.astimezone(datetime.UTC).replace(hour=0, minute=0, second=0, microsecond=0)
    body = calendar([one.found for one in named], words, stamp, Unit.current().name, names)
    response = HttpResponse(body, content_type="text/calendar; charset=utf-8")
    response["Cache-Control"] = "private, max-age=3600"
    return response
