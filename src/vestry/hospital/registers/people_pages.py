"""The register of people: the list, somebody new, one person with everything noted of them."""

from __future__ import annotations

import datetime
import uuid
from typing import Any

from django import forms
from django.core.exceptions import PermissionDenied
from django.core.paginator import Paginator
from django.db.models import Q
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.utils import timezone
from django.utils.translation import gettext

from vestry.hospital.access.door import door
from vestry.hospital.access.models import User
from vestry.hospital.access.people import visitor
from vestry.hospital.desk.standing import in_force
from vestry.hospital.registers.able import ask, reason_told, sizes_told, subjects, system_now
from vestry.hospital.registers.forms import (
    BY_HEALTH,
    BY_LEAD,
    NOTE_FORMS,
    NoteForm,
    PersonForm,
    WithdrawForm,
    duties,
)
from vestry.hospital.registers.ledger import stock_now
from vestry.hospital.registers.mapper import people_values
from vestry.hospital.registers.models import AbsenceReason, PersonNote, RegisteredPerson
from vestry.hospital.registers.showing import person_told
from vestry.hospital.registers.viewing import note_read, person_seen_by, sees_measures
from vestry.hospital.writing import writing
from vestry.people import Person
from vestry.people.may import Viewer

ON_A_PAGE = 50


@door(GET="see-register")
def register(request: HttpRequest) -> HttpResponse:
    """Everyone on the register, by name; a search by name or code."""
    asked = request.GET.get("find", "").strip()[:80]
    duty = next((one for one, _ in duties() if one == request.GET.get("as")), "")
    gone = request.GET.get("gone") == "yes"
    rows = RegisteredPerson.objects.filter(active=not gone)
    if asked:
        rows = rows.filter(Q(name__icontains=asked) | Q(code__icontains=asked))
    if duty:
        rows = rows.filter(duties__contains=duty)
    page = Paginator(rows, ON_A_PAGE).get_page(request.GET.get("page"))
    values = people_values(page.object_list)
    today = timezone.localdate()
    listed = [(row, _glance(value, today)) for row, value in zip(page.object_list, values, strict=True)]
    context = {"page": page, "listed": listed, "asked": asked, "duty": duty, "gone": gone, "duties": duties()}
    return render(request, "registers/register.html", context)


def _glance(person: Person, today: datetime.date) -> dict[str, Any]:
    return {
        "duties": [dict(duties())[one] for one in person.duties],
        "away": person.absent(today),
        "competencies": len(person.competencies),
        "newest": max((one.on for one in person.competencies), default=None),
    }


@door(GET="edit-register", POST="edit-register")
def new_person(request: HttpRequest) -> HttpResponse:
    form = PersonForm(request.POST if request.method == "POST" else None)
    if request.method == "POST" and form.is_valid():
        person = _add(form, visitor(request))
        if person is not None:
            return HttpResponseRedirect(f"/people/{person.pk}/")
    return render(request, "registers/new-person.html", {"form": form}, status=422 if form.is_bound else 200)


def _add(form: forms.Form, by: User) -> RegisteredPerson | None:
    said = form.cleaned_data
    user = User.objects.filter(sign_in=said["sign_in"].lower()).first() if said["sign_in"] else None
    with writing():
        if RegisteredPerson.objects.filter(code=said["code"]).exists():
            form.add_error("code", gettext("Somebody on the register has this code already."))
        if said["sign_in"] and user is None:
            form.add_error("sign_in", gettext("Nobody signs in with this name."))
        if user is not None and RegisteredPerson.objects.filter(user=user).exists():
            form.add_error("sign_in", gettext("This sign-in belongs to somebody on the register already."))
        if form.errors:
            return None
        return enter(said["code"], said["name"].strip(), said["duties"], user, by)


def enter(code: str, name: str, duties: list[str], user: User | None, by: User) -> RegisteredPerson:
    """Somebody new, with the note that they are on the register. The caller holds the writer's lock."""
    now = timezone.now()
    person = RegisteredPerson.objects.create(code=code, name=name, user=user, duties=" ".join(duties), added_at=now)
    PersonNote.objects.create(person=person, kind="identity", said={"duties": duties, "active": True}, by=by, at=now)
    return person


@door(GET="see-registered", POST="note-on-register")
def person_page(request: HttpRequest, key: uuid.UUID) -> HttpResponse:
    """One person. Health and the person read findings and reasons; the lead reads what is needed to plan."""
    user = visitor(request)
    person, viewer = person_seen_by(user, key)
    if request.method == "POST":
        form = _form(request)
        if form.kind in BY_HEALTH and "occupational-health" not in user.roles:
            raise PermissionDenied("note-on-register")
        if form.kind in BY_LEAD and not user.may("edit-register"):
            raise PermissionDenied("edit-register")
        if form.is_valid() and _take(form, person, user):
            return HttpResponseRedirect(f"/people/{key}/")
        return _page(request, person, viewer, form, 422)
    return _page(request, person, viewer)


def _form(request: HttpRequest) -> NoteForm:
    kind = request.POST.get("kind", "")
    if kind == "withdrawn":
        return WithdrawForm(request.POST)
    return _note_form(kind if kind in NOTE_FORMS else "tried", request.POST)


def _note_form(kind: str, data: Any = None) -> NoteForm:
    more: dict[str, Any] = {"subjects": subjects()} if kind == "competency" else {}
    return NOTE_FORMS[kind](data, prefix=None, auto_id=f"{kind}-%s", **more)


def _take(form: NoteForm, person: RegisteredPerson, by: User) -> bool:
    """Store the note, or say on the form why not."""
    with writing():
        if isinstance(form, WithdrawForm) and not _may_withdraw(form, person, by):
            form.add_error(None, gettext("There is no such note of this person that you could take back."))
            return False
        said = form.value.model_dump(mode="json", by_alias=True)
        note = PersonNote.objects.create(person=person, kind=form.kind, said=said, by=by, at=timezone.now())
        if form.cleaned_data.get("reason"):
            AbsenceReason.objects.create(note=note, reason=form.cleaned_data["reason"])
        if form.kind == "identity":
            person.duties, person.active = " ".join(said["duties"]), said["active"]
            person.save(update_fields=["duties", "active"])
    return True


def _may_withdraw(form: WithdrawForm, person: RegisteredPerson, by: User) -> bool:
    note = PersonNote.objects.filter(person=person, pk=form.cleaned_data["note"]).first()
    if note is None or note.kind in ("withdrawn", "identity"):
        return False
    return note.kind not in BY_HEALTH or "occupational-health" in by.roles


def _page(
    request: HttpRequest, person: RegisteredPerson, viewer: Viewer, bound: NoteForm | None = None, status: int = 200
) -> HttpResponse:
    user = visitor(request)
    note_read(user, person, viewer)
    notes = list(PersonNote.objects.filter(person=person).select_related("by", "reason"))
    told = person_told(person, notes, viewer, sees_measures(user, viewer), system_now())
    context = {
        "person": person,
        "told": told,
        "viewer": viewer,
        "procedures": _procedures(told.value, viewer),
        "forms": _forms(user, bound),
        "bound": bound,
        "reads": person.health_reads.select_related("by")[:20] if viewer in ("person", "health") else [],
    }
    return render(request, "registers/person.html", context, status=status)


def _procedures(person: Person, viewer: Viewer) -> list[dict[str, Any]]:
    """May they, for each procedure in force and each part that they are on the register for."""
    found = []
    stock = stock_now()
    for version in in_force():
        for duty in person.duties:
            answer = ask(version, duty, [person], stock).answers[0].seen_by(viewer)
            found.append(
                {
                    "version": version,
                    "duty": dict(duties())[duty],
                    "answer": answer,
                    "sizes": sizes_told(answer),
                    "reasons": [reason_told(one) for one in answer.reasons],
                }
            )
    return found


def _forms(user: User, bound: NoteForm | None) -> list[tuple[str, NoteForm, bool]]:
    """The notes that this user may write: kind, form, and whether it is the one that was refused."""
    if not user.may("note-on-register"):
        return []
    found = []
    for kind in NOTE_FORMS:
        if kind in BY_HEALTH and "occupational-health" not in user.roles:
            continue
        if kind in BY_LEAD and not user.may("edit-register"):
            continue
        refused = bound is not None and bound.kind == kind
        found.append((kind, bound if refused and bound is not None else _note_form(kind), refused))
    return found


@door(GET="see-registered")
def my_page(request: HttpRequest) -> HttpResponse:
    """One's own page on the register, if there is one."""
    person = RegisteredPerson.objects.filter(user=visitor(request)).first()
    if person is None:
        return render(request, "registers/not-registered.html", {})
    return HttpResponseRedirect(f"/people/{person.pk}/")
