"""A new rota: from the register by a form, or brought in as text. A rota is never changed; a new one is made."""

from __future__ import annotations

from typing import Any

from django.db.models import Max
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.utils import timezone
from django.utils.translation import gettext as _

from vestry.hospital.access.door import door
from vestry.hospital.access.people import visitor
from vestry.hospital.coverage.forms import SHIFT_ROWS, BroughtForm, RotaForm, ShiftForm, next_monday, rota_asked
from vestry.hospital.coverage.models import RotaVersion
from vestry.hospital.desk.mapper import approved_of
from vestry.hospital.desk.models import ProcedureVersion, TeamNeedVersion
from vestry.hospital.desk.standing import in_force
from vestry.hospital.writing import writing
from vestry.readiness.stay_here import FIRST_HOUR
from vestry.roster import Rota, read_rota
from vestry.roster.rota import Rules
from vestry.trade import BadFacts

NAMES = {12: ("day", "night"), 8: ("early", "late", "night")}


def store(rota: Rota, procedure: ProcedureVersion | None, reason: str, by: Any) -> RotaVersion:
    """Write a rota down under the next number."""
    with writing():
        number = (RotaVersion.objects.aggregate(most=Max("number"))["most"] or 0) + 1
        return RotaVersion.objects.create(
            number=number,
            rota=rota.model_dump(mode="json", by_alias=True),
            procedure=procedure,
            reason=reason,
            by=by,
            at=timezone.now(),
        )


@door(GET="edit-rota", POST="edit-rota")
def new(request: HttpRequest) -> HttpResponse:
    versions = in_force()
    brought = "text" in request.POST
    data = request.POST if request.method == "POST" and not brought else None
    form = RotaForm(data, versions, _begins(versions))
    shifts = _shift_forms(data)
    text = BroughtForm(request.POST if brought else None)
    problems: list[str] = []
    if request.method == "POST":
        version = _bring(request, text, problems) if brought else _ask(request, form, shifts, versions, problems)
        if version is not None:
            return HttpResponseRedirect(f"/coverage/{version.pk}/")
    context = {
        "versions": versions,
        "form": form,
        "shifts": shifts,
        "brought": text,
        "problems": problems,
        "text_open": brought,
    }
    return render(request, "coverage/new.html", context, status=422 if request.method == "POST" else 200)


def _begins(versions: list[ProcedureVersion]) -> dict[str, Any]:
    rules = Rules()
    limit = approved_of(versions[0].pk).plan.policy.limit_minutes if versions else rules.minutes_inside
    given = {name: getattr(rules, name) for name in Rules.model_fields if name != "most_inside_a_shift"}
    whole = {name: int(value) if isinstance(value, float) else value for name, value in given.items()}
    return whole | {
        "title": _("Rota"),
        "starts": next_monday(timezone.localdate()),
        "days": 28,
        "minutes_inside": limit,
    }


def _shift_forms(data: Any) -> list[ShiftForm]:
    """As many shifts as a day has by the unit's team; a row without a name is none."""
    team = TeamNeedVersion.current()
    count = min(SHIFT_ROWS, -(-24 // team.shift_hours))
    names = NAMES.get(team.shift_hours, tuple(f"shift-{n}" for n in range(1, count + 1)))
    forms = []
    for n in range(SHIFT_ROWS):
        begins: dict[str, Any] = {"inside": 1, "observing": team.observer, "assisting": team.assistant}
        if n < count:
            begins |= {
                "name": names[n],
                "from_hour": (FIRST_HOUR + n * team.shift_hours) % 24,
                "hours": team.shift_hours,
            }
            forms.append(ShiftForm(data, prefix=f"s{n}", initial=begins))
        else:
            forms.append(ShiftForm(data, prefix=f"s{n}"))
    return forms


def _ask(
    request: HttpRequest,
    form: RotaForm,
    shifts: list[ShiftForm],
    versions: list[ProcedureVersion],
    problems: list[str],
) -> RotaVersion | None:
    named = [one for one in shifts if str(one.data.get(f"{one.prefix}-name", "")).strip()]
    if not named:
        problems.append(_("A rota has at least one shift."))
    sound = [one.is_valid() for one in named]
    for n, one in enumerate(named, 1):
        problems += [
            f"{_('Shift')} {n}, {one.fields[name].label}: {said}" for name, ones in one.errors.items() for said in ones
        ]
    if not form.is_valid() or not all(sound) or problems:
        return None
    version = next(one for one in versions if str(one.pk) == form.cleaned_data["procedure"])
    try:
        rota = rota_asked(form.cleaned_data, [one.cleaned_data for one in named], version)
    except BadFacts as bad:
        problems += [_told(problem) for problem in bad.problems]
        return None
    return store(rota, version, form.cleaned_data["reason"], visitor(request))


def _bring(request: HttpRequest, text: BroughtForm, problems: list[str]) -> RotaVersion | None:
    if not text.is_valid():
        return None
    try:
        rota = read_rota(text.cleaned_data["text"], _("the rota"))
    except BadFacts as bad:
        problems += [str(problem) for problem in bad.problems[:40]]
        return None
    return store(rota, None, text.cleaned_data["reason"], visitor(request))


def _told(problem: Any) -> str:
    return f"{problem.field}: {problem.what}" if problem.field else str(problem.what)
