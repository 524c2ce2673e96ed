"""Who has which role, and giving access: the administrator's pages."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.db import IntegrityError
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import get_object_or_404, render
from django.utils import timezone
from django.utils.translation import gettext
from django.views.decorators.cache import never_cache

from vestry.hospital.access import giving, passkeys, second
from vestry.hospital.access.door import door
from vestry.hospital.access.forms import PersonForm, ReasonForm, RolesForm
from vestry.hospital.access.models import AccessChanged, Passkey, SecondFactor, User
from vestry.hospital.access.people import visitor

SHOWN = 60


@never_cache
@door(GET="see-people", POST="give-access")
def people(request: HttpRequest) -> HttpResponse:
    """Everybody with their roles; somebody new."""
    form, status = PersonForm(request.POST or None), 200
    if request.method == "POST":
        status = 422
        if form.is_valid():
            said, now = form.cleaned_data, timezone.now()
            try:
                user, code = giving.add(said["sign_in"], said["name"], said["roles"], visitor(request), now)
            except IntegrityError:
                form.add_error("sign_in", gettext("Somebody has this sign-in name already."))
            else:
                return _told(request, user, code)
    with_factor = set(SecondFactor.objects.filter(ended=None).values_list("user", flat=True))
    with_factor |= set(Passkey.objects.filter(ended=None).values_list("user", flat=True))
    listed = list(User.objects.prefetch_related("grants").order_by("name"))
    context = {
        "people": [(one, one.pk in with_factor) for one in listed],
        "changes": AccessChanged.objects.select_related("user", "by")[:SHOWN],
        "form": form,
    }
    return render(request, "access/people.html", context, status=status)


@never_cache
@door(GET="give-access", POST="give-access")
def person(request: HttpRequest, key: int) -> HttpResponse:
    """One person: roles; may sign in or not; a new code; a second factor that was lost."""
    user, by, now = get_object_or_404(User, pk=key), visitor(request), timezone.now()
    what = request.POST.get("what", "")
    forms: dict[str, Any] = {
        "roles": RolesForm(initial={"roles": list(user.roles)}),
        **{one: ReasonForm(prefix=one, auto_id=f"{one}-%s") for one in ("code", "factor", "let")},
    }
    status = 200
    if request.method == "POST" and what in forms:
        form = (
            RolesForm(request.POST) if what == "roles" else ReasonForm(request.POST, prefix=what, auto_id=f"{what}-%s")
        )
        forms[what], status = form, 422
        if form.is_valid():
            reason = form.cleaned_data["reason"]
            try:
                if what == "code":
                    return _told(request, user, giving.new_code(user, by, reason, now))
                if what == "roles":
                    changed = giving.change_roles(user, form.cleaned_data["roles"], by, reason, now)
                elif what == "factor":
                    changed = second.end(user, by, reason, now)
                    changed = passkeys.end(passkeys.of(user), by, reason, now) > 0 or changed
                else:
                    changed = giving.let(user, not user.is_active, by, reason, now)
            except giving.NotGiven as why:
                form.add_error(None, str(why))
            else:
                messages.info(
                    request, gettext("Stored.") if changed else gettext("Nothing was different, so nothing was stored.")
                )
                return HttpResponseRedirect(f"/people/roles/{user.pk}/")
    elif request.method == "POST":
        status = 422
    context = {
        "one": user,
        "forms": forms,
        "factor": user.second_factor,
        "passkeys": passkeys.of(user),
        "changes": user.changes.select_related("by"),
    }
    return render(request, "access/person.html", context, status=status)


def _told(request: HttpRequest, user: User, code: str) -> HttpResponse:
    hours = int(giving.CODE_FOR.total_seconds() // 3600)
    return render(request, "access/code.html", {"one": user, "code": code, "hours": hours})
