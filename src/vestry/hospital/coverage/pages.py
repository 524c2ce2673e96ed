"""Who covers what, at the desk: the roster taken or proposed, its gaps, taking and leaving, paper and file."""

from __future__ import annotations

import uuid
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseRedirect, JsonResponse
from django.shortcuts import render
from django.utils import timezone
from django.utils.translation import gettext as _

from vestry import papers
from vestry.hospital.access.door import door
from vestry.hospital.access.people import visitor
from vestry.hospital.coverage.forms import ActForm, ReasonForm
from vestry.hospital.coverage.models import RosterAct, RosterFeed, RotaVersion
from vestry.hospital.coverage.naming import Names, named, names_for
from vestry.hospital.coverage.showing import Sought, history, shown, week_of
from vestry.hospital.coverage.standing import Standing, standing_of
from vestry.hospital.desk.models import Unit
from vestry.hospital.jobs.rostering import State, closed, proposed
from vestry.hospital.language import words_now
from vestry.hospital.writing import writing
from vestry.roster import Act, Roster, kept
from vestry.roster.rota import MOST_PEOPLE


def version_of(key: uuid.UUID) -> RotaVersion:
    """The rota of this key, or there is none."""
    rows = RotaVersion.objects.select_related("procedure", "procedure__procedure", "by")
    found = rows.filter(pk=key).first()
    if found is None:
        raise Http404
    return found


@door(GET="see-coverage")
def coverage(request: HttpRequest) -> HttpResponse:
    """The newest rota; without one, how to begin."""
    newest = RotaVersion.objects.select_related("procedure", "procedure__procedure", "by").first()
    if newest is None:
        return render(request, "coverage/none.html")
    return page(request, newest)


@door(GET="see-coverage")
def one(request: HttpRequest, key: uuid.UUID) -> HttpResponse:
    return page(request, version_of(key))


def page(
    request: HttpRequest, version: RotaVersion, leave: ReasonForm | None = None, status: int = 200
) -> HttpResponse:
    """A rota: the roster taken, else the proposal."""
    stands, words = standing_of(version), words_now()
    names = names_for(request)
    state = proposed(stands.rota) if stands.roster is None else None
    found = stands.roster or (state.found if state else None)
    context: dict[str, Any] = {
        "version": version,
        "stands": stands,
        "state": state,
        "rotas": RotaVersion.objects.order_by("-number")[:12],
        "may_take": visitor(request).may("take-roster"),
        "leave_form": leave or ReasonForm(),
        "acts": history(stands, names, words),
        "feeds": RosterFeed.objects.filter(by=visitor(request), ended_at=None).order_by("-at"),
        "feed_url": request.session.pop("new-roster-feed", None),
        "codes_only": not names.told,
    }
    if found is not None:
        found = _closed(stands, found)
        context |= shown(stands, found, names, week_of(request, stands), words, Sought.by(request))
    return render(request, "coverage/coverage.html", context, status=status)


def _closed(stands: Standing, found: Roster) -> Roster:
    """The roster taken, with the smallest change that would close its gaps, as soon as that is worked out.

    A proposal brings its own; a roster that no longer holds has to be mended first. No more people are looked at than a
    rota can ask: those of the rota and its roster before the others.
    """
    if found.proposed or not found.uncovered or stands.broken:
        return found
    own = {one.id for one in stands.rota.people} | {one.person for one in found.assigned}
    people = sorted(stands.now.people, key=lambda one: one.id not in own)[:MOST_PEOPLE]
    fixed = stands.now.model_copy(update={"fixed": found.assigned, "people": tuple(people)})
    change = closed(fixed, found.uncovered).closing
    return found.model_copy(update={"closing": change}) if change else found


@door(POST="take-roster")
def take(request: HttpRequest, key: uuid.UUID) -> HttpResponse:
    """The proposal that was seen becomes the roster."""
    version = version_of(key)
    form = ActForm(request.POST)
    state = proposed(standing_of(version).rota)
    if state.found is None:
        messages.warning(request, _("The proposal is still being worked out. Nothing was taken."))
    elif not form.is_valid() or form.cleaned_data["proposal"] != state.name:
        messages.warning(request, _("This is not the proposal that you saw. Look at it again; nothing was taken."))
    else:
        act = Act(kind="taken", assigned=state.found.assigned)
        with writing():
            done = kept(Act.model_validate(one.act) for one in version.acts.all())
            if done.roster is None:
                RosterAct.objects.create(
                    rota=version, act=act.model_dump(mode="json", by_alias=True), by=visitor(request), at=timezone.now()
                )
        if done.roster is not None:
            messages.warning(request, _("A roster of this rota was taken already. Nothing was changed."))
    return HttpResponseRedirect(f"/coverage/{version.pk}/")


@door(POST="take-roster")
def leave(request: HttpRequest, key: uuid.UUID) -> HttpResponse:
    """The proposal is left, and why."""
    version = version_of(key)
    form = ReasonForm(request.POST)
    if not form.is_valid():
        return page(request, version, form, 422)
    with writing():
        RosterAct.objects.create(
            rota=version,
            act=Act(kind="left").model_dump(mode="json", by_alias=True),
            reason=form.cleaned_data["reason"],
            by=visitor(request),
            at=timezone.now(),
        )
    return HttpResponseRedirect(f"/coverage/{version.pk}/")


def _seen(version: RotaVersion) -> tuple[Standing, Roster | None]:
    stands = standing_of(version)
    state: State | None = proposed(stands.rota) if stands.roster is None else None
    return stands, stands.roster or (state.found if state else None)


@door(GET="see-coverage")
def printed(request: HttpRequest, key: uuid.UUID) -> HttpResponse:
    """The roster on paper; while it is being worked out, the page that waits for it."""
    version = version_of(key)
    stands, found = _seen(version)
    if found is None:
        return page(request, version)
    names: Names = names_for(request)
    pdf = papers.roster_pdf(
        named(_closed(stands, found), names), words_now(), Unit.current().on_paper, timezone.localdate().isoformat()
    )
    response = HttpResponse(pdf, content_type="application/pdf")
    response["Content-Disposition"] = 'inline; filename="roster.pdf"'
    return response


@door(GET="see-coverage")
def found_json(request: HttpRequest, key: uuid.UUID) -> HttpResponse:
    """The roster as the command prints it, people by code."""
    version = version_of(key)
    _stands, found = _seen(version)
    if found is None:
        return page(request, version)
    response = JsonResponse(found.as_json(), json_dumps_params={"indent": 2, "ensure_ascii": False})
    response["Content-Disposition"] = 'attachment; filename="roster.json"'
    return response
