"""Keeping and letting go, at the desk: policies, holds, the dry run, and removals that two persons decide."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import get_object_or_404, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache

from vestry.hospital.access.door import door
from vestry.hospital.access.people import visitor
from vestry.hospital.retention import policies, purging
from vestry.hospital.retention.forms import ConfirmForm, HoldForm, PolicyForm, ReasonForm
from vestry.hospital.retention.models import LegalHold, Policy, Proposal
from vestry.hospital.retention.showing import listed, stands
from vestry.hospital.retention.words import HELD_WORDS, SORT_HELP, SORT_WORDS
from vestry.retention import SORTS

ON_A_PAGE = 50


@never_cache
@door(GET="see-retention", POST="set-retention")
def keeping(request: HttpRequest) -> HttpResponse:
    """How long each sort is kept, and a new word on it."""
    form, status = PolicyForm(request.POST or None), 200
    if request.method == "POST":
        status = 422
        if form.is_valid():
            said = form.cleaned_data
            policies.propose(
                said["sort"], said["days"], said["reason"], said["source"], visitor(request), timezone.now()
            )
            messages.info(
                request,
                _("Proposed. It holds when somebody else has confirmed it.")
                if said["days"]
                else _("Kept for ever from now on."),
            )
            return HttpResponseRedirect("/keeping/")
    force = policies.in_force()
    context = {
        "rows": [(SORT_WORDS[one], SORT_HELP[one], force.get(one)) for one in SORTS],
        "waiting": [(one, SORT_WORDS[one.sort], _refused(request, one.by)) for one in policies.waiting()],
        "said": [(one, SORT_WORDS[one.sort]) for one in Policy.objects.select_related("by", "confirmed__by")[:20]],
        "form": form,
        "holds": len(policies.holds_now()),
    }
    return render(request, "retention/keeping.html", context, status=status)


def _refused(request: HttpRequest, first: Any) -> str:
    """Why the visitor cannot be the second person; empty where they can."""
    try:
        policies.two_of(first, visitor(request))
    except policies.NotSo as why:
        return str(why)
    return ""


@door(POST="set-retention")
def confirm_policy(request: HttpRequest, number: int) -> HttpResponse:
    """The second person's word on a policy."""
    policy = get_object_or_404(Policy, pk=number)
    try:
        policies.confirm(policy, visitor(request), timezone.now())
    except policies.NotSo as why:
        messages.info(request, str(why))
    else:
        messages.info(request, _("It holds from now on. Nothing goes before two persons have decided a removal."))
    return HttpResponseRedirect("/keeping/")


@never_cache
@door(GET="see-retention", POST="hold-data")
def holds(request: HttpRequest) -> HttpResponse:
    """What must stay, and a new hold."""
    asked = {name: request.GET[name] for name in ("sort", "named") if name in request.GET}
    form, status = HoldForm(request.POST or None, initial=asked), 200
    if request.method == "POST":
        status = 422
        if form.is_valid():
            said = form.cleaned_data
            try:
                policies.hold(said["sort"], said["named"], said["reason"], visitor(request), timezone.now())
            except policies.NotSo as why:
                form.add_error("named", str(why))
            else:
                messages.info(request, _("It is on hold from now on, whatever a policy says."))
                return HttpResponseRedirect("/keeping/holds/")
    rows = LegalHold.objects.select_related("by", "lifted__by")
    page = Paginator(rows, ON_A_PAGE).get_page(request.GET.get("page"))
    context = {"listed": [(one, HELD_WORDS.get(one.sort, one.sort)) for one in page], "page": page, "form": form}
    return render(request, "retention/holds.html", context, status=status)


@door(POST="hold-data")
def lift(request: HttpRequest, number: int) -> HttpResponse:
    """Let a hold go."""
    row, form = get_object_or_404(LegalHold, pk=number), ReasonForm(request.POST)
    if form.is_valid():
        policies.lift(row, form.cleaned_data["reason"], visitor(request), timezone.now())
        messages.info(request, _("The hold is lifted. Policies hold again for what it kept."))
    else:
        messages.info(request, _("Nothing was lifted: say why."))
    return HttpResponseRedirect("/keeping/holds/")


@never_cache
@door(GET="see-retention", POST="purge")
def purges(request: HttpRequest) -> HttpResponse:
    """The dry run: what would go now and what stays. Proposing it."""
    form, status, now = ReasonForm(request.POST or None), 200, timezone.now()
    if request.method == "POST":
        status = 422
        if form.is_valid():
            try:
                made = purging.propose(visitor(request), form.cleaned_data["reason"], now)
            except policies.NotSo as why:
                form.add_error(None, str(why))
            else:
                return HttpResponseRedirect(f"/keeping/purges/{made.pk}/")
    found = purging.due(now)
    context = {
        "due": found,
        "rows": stands(found),
        "proposals": [(one, sum(one.counts.values())) for one in purging.proposals()[:20]],
        "form": form,
        "in_a_file": purging.in_a_file(),
    }
    return render(request, "retention/purges.html", context, status=status)


@never_cache
@door(GET="see-retention", POST="purge")
def purge(request: HttpRequest, number: int) -> HttpResponse:
    """One proposal: what it lists, and the second person's word."""
    proposal = get_object_or_404(Proposal.objects.select_related("by", "done__by"), pk=number)
    form, status, now = ConfirmForm(request.POST or None), 200, timezone.now()
    if request.method == "POST":
        status = 422
        if form.is_valid():
            try:
                done = purging.confirm(proposal, visitor(request), now)
            except policies.NotSo as why:
                form.add_error(None, str(why))
                status = 409
            else:
                messages.info(request, _("Done: removal %(number)s.") % {"number": done.pk})
                return HttpResponseRedirect(f"/keeping/purges/{proposal.pk}/")
    done_ = getattr(proposal, "done", None)
    context = {
        "proposal": proposal,
        "done": done_,
        "counts": [(SORT_WORDS[one], n) for one, n in (done_ or proposal).counts.items() if n],
        "rows": listed(proposal),
        "wrong": purging.still_good(proposal, now),
        "refused": _refused(request, proposal.by),
        "form": form,
        "in_a_file": purging.in_a_file(),
    }
    return render(request, "retention/purge.html", context, status=status)
