"""Who has which role, and giving access: the administrator's pages."""

from __future__ import annotations

from typing import Any

from django.conf import settings
from django.contrib import messages
from django.db import IntegrityError
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import get_object_or_404, render
from django.utils import timezone
from django.utils.translation import gettext
from django.views.decorators.cache import never_cache

from vestry.hospital.access import accounts, giving, passkeys, second
from vestry.hospital.access.door import door
from vestry.hospital.access.forms import AccountForm, PersonForm, ReasonForm, RolesForm
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
    """One person: roles; may sign in or not; a new code; a lost second factor; an account."""
    user, by, now = get_object_or_404(User, pk=key), visitor(request), timezone.now()
    what = request.POST.get("what", "")
    forms: dict[str, Any] = {
        "roles": RolesForm(initial={"roles": list(user.roles)}),
        **{one: ReasonForm(prefix=one, auto_id=f"{one}-%s") for one in ("code", "factor", "let", "unlink")},
        "link": AccountForm(prefix="link", auto_id="link-%s"),
    }
    status = 200
    if request.method == "POST" and what in forms:
        form = _filled(request, what)
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
                elif what == "link":
                    changed = accounts.link(user, form.cleaned_data["subject"], by, reason, now)
                elif what == "unlink":
                    changed = accounts.unlink(user, by, reason, now)
                else:
                    changed = giving.let(user, not user.is_active, by, reason, now)
            except (giving.NotGiven, accounts.NotLinked) as why:
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
        "own": settings.OWN_SIGN_IN,
        "accounts": accounts.of(user),
        "changes": user.changes.select_related("by"),
    }
    return render(request, "access/person.html", context, status=status)


def _filled(request: HttpRequest, what: str) -> Any:
    if what == "roles":
        return RolesForm(request.POST)
    made = AccountForm if what == "link" else ReasonForm
    return made(request.POST, prefix=what, auto_id=f"{what}-%s")


def _told(request: HttpRequest, user: User, code: str) -> HttpResponse:
    hours = int(giving.CODE_FOR.total_seconds() // 3600)
    return render(request, "access/code.html", {"one": user, "code": code, "hours": hours})
