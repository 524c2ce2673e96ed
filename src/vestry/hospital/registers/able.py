"""Who can go in now: the question for one procedure, with everything that it rests on."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.utils.formats import date_format
from django.utils.translation import gettext

from vestry.hospital import facts, running_facts
from vestry.hospital.access.door import door
from vestry.hospital.access.models import User
from vestry.hospital.access.people import visitor
from vestry.hospital.desk.mapper import approved_of
from vestry.hospital.desk.models import PolicyVersion, ProcedureVersion
from vestry.hospital.desk.practice import practised_by
from vestry.hospital.desk.standing import in_force
from vestry.hospital.language import WORDS, words_now
from vestry.hospital.registers.ledger import Stock, stock_now
from vestry.hospital.registers.mapper import people_values, shelf_of
from vestry.hospital.registers.models import RegisteredPerson
from vestry.hospital.registers.viewing import viewer_of
from vestry.people import May, Need, Person, WhoCanGoIn, ensemble_of, need_of, practised_on_shift, who_can_go_in
from vestry.people.may import Viewer
from vestry.people.values import Duty
from vestry.trade.jurisdictions import UNSTATED
from vestry.trade.words import Words

ON_A_PAGE = 200
DUTIES: tuple[Duty, ...] = ("wearer", "observer", "assistant")


def system_now() -> str:
    """The country whose system the unit works by, from its policy."""
    return str(PolicyVersion.current().get("jurisdiction", UNSTATED))


def need_for(version: ProcedureVersion, duty: Duty) -> Need:
    """What a procedure asks of somebody in this part."""
    catalogue = facts.catalogue_of(version.facts)
    return need_of(approved_of(version.pk).plan, catalogue, duty, version.procedure.slug)


def subjects() -> list[tuple[str, str]]:
    """What competency can be in: procedures in force, then their ensembles."""
    versions = in_force()
    ensembles = dict.fromkeys(
        ensemble_of(approved_of(one.pk).plan.worn, facts.catalogue_of(one.facts)) for one in versions
    )
    return [
        *((one.procedure.slug, one.procedure.title) for one in versions),
        *((one, gettext("Ensemble: %(ensemble_told)s") % {"ensemble_told": ensemble_told(one)}) for one in ensembles),
    ]


def ensemble_told(ensemble: str) -> str:
    """`gown.powered-hood.2-pairs` in words."""
    return ", ".join(part.replace("-", " ") for part in ensemble.split(".")) + gettext(" of gloves")


def ask(version: ProcedureVersion, duty: Duty, people: Sequence[Person], stock: Stock) -> WhoCanGoIn:
    """The answer for these people today, on what is on the shelf."""
    need, catalogue = need_for(version, duty), facts.catalogue_of(version.facts)
    shelf = shelf_of(stock.there)
    return who_can_go_in(need, people, shelf, timezone.localdate(), catalogue, running_facts.standards(), system_now())


@dataclass(frozen=True)
class Told:
    """One answer in words."""

    person: RegisteredPerson
    may: bool
    sizes: list[str]
    reasons: list[str]
    until: Any


def told(answer: May, person: RegisteredPerson, words: Words = WORDS) -> Told:
    """`words`: looked up once where many are told."""
    reasons = [reason_told(one, words) for one in answer.reasons]
    return Told(person, answer.may, sizes_told(answer, words), reasons, answer.until)


def sizes_told(answer: May, words: Words = WORDS) -> list[str]:
    """Sizes that differ from one person to another: "Gown, impermeable: l"."""
    return [
        f"{words.item_short(one.item)} {one.size.upper()}{f' ({one.model})' if one.model else ''}"
        for one in answer.sizes
        if one.size != "one-size"
    ]


def reason_told(reason: Any, words: Words = WORDS) -> str:
    says = words.term("may-not", reason.id)
    if reason.item:
        says = f"{words.item_short(reason.item)}: {says}"
    if reason.id == "unavailable" and reason.since:
        return (
            gettext("%(says)s to %(until)s") % {"says": says, "until": date_format(reason.until, "j F Y")}
            if reason.until
            else gettext("%(says)s, until further notice") % {"says": says}
        )
    return (
        gettext("%(says)s on %(since)s") % {"says": says, "since": date_format(reason.since, "j F Y")}
        if reason.since
        else says
    )


@door(GET="see-who-can-go-in")
def able(request: HttpRequest) -> HttpResponse:
    """Who can go in now, in which sizes, and why not the others."""
    versions = in_force()
    chosen = next((one for one in versions if str(one.pk) == request.GET.get("procedure")), None)
    duty = next((one for one in DUTIES if one == request.GET.get("as")), DUTIES[0])
    context: dict[str, Any] = {
        "versions": versions,
        "chosen": chosen,
        "duty": duty,
        "duties": [(one, WORDS.term("duty", one)) for one in DUTIES],
    }
    if chosen is not None:
        context |= _answers(request, chosen, duty)
    return render(request, "registers/able.html", context)


def _answers(request: HttpRequest, version: ProcedureVersion, duty: Duty) -> dict[str, Any]:
    rows = {str(one.pk): one for one in RegisteredPerson.objects.filter(active=True).select_related("user")}
    found = ask(version, duty, people_values(rows.values()), stock_now(items=need_for(version, duty).items))
    user, words = visitor(request), words_now()
    answers = [
        told(one.seen_by(_as(user, rows[one.person])), rows[one.person], words)
        for one in found.answers
        if duty in rows[one.person].duties.split()
    ]
    may = [one for one in answers if one.may]
    practised = {one.person for one in practised_by(version).times if one.role == duty}
    count, of = practised_on_shift(practised, [_signed_name(one.person) for one in may])
    may_not = [one for one in answers if not one.may]
    page = Paginator([*may, *may_not], ON_A_PAGE).get_page(request.GET.get("page"))
    return {
        "page": page,
        "asked": f"procedure={version.pk}&as={duty}&",
        "may_go": [one for one in page.object_list if one.may],
        "may_not": [one for one in page.object_list if not one.may],
        "may_count": len(may),
        "may_not_count": len(may_not),
        "practised": gettext("%(count)s of %(of)s who may go in") % {"count": count, "of": of},
        "reasons_shown": viewer_of(user) != "observer",
        "system": None if system_now() == UNSTATED else WORDS.jurisdiction(system_now()),
        "on": found.on,
    }


def _as(user: User, person: RegisteredPerson) -> Viewer:
    """A list of everybody tells nobody's findings; occupational health reads those on each person's page, noted."""
    viewer = viewer_of(user, person)
    return "lead" if viewer == "health" else viewer


def _signed_name(person: RegisteredPerson) -> str:
    """The name under which the record knows them."""
    return person.user.name if person.user else person.name
