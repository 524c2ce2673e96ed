"""The bundle of an entry, from the rows. What it carries of a procedure is made once for a version and kept."""

from __future__ import annotations

import json
import uuid
from collections.abc import Iterable, Mapping
from functools import lru_cache
from threading import Lock

from django.utils import translation

from vestry.contact.program import Program
from vestry.entry.beside import door_things, hygiene_clocks, prepared
from vestry.entry.bundle import Bundle, BundlePerson, Carried, Decider
from vestry.entry.carrying import carried
from vestry.entry.courses import own_course
from vestry.hospital import facts
from vestry.hospital.access.models import User
from vestry.hospital.access.people import with_role
from vestry.hospital.anteroom.clock import clocks_of
from vestry.hospital.anteroom.models import Badge
from vestry.hospital.anteroom.own_texts import texts_at
from vestry.hospital.anteroom.tablets import pin_of
from vestry.hospital.call.before import before_of
from vestry.hospital.desk.mapper import answer_scenes_of, approved_of, own_scenes_of
from vestry.hospital.desk.models import ApprovalBasis, ProcedureVersion, Unit
from vestry.hospital.language import SOURCE, for_entry, words_of
from vestry.hospital.record import first_aid
from vestry.hospital.record.models import Entry
from vestry.hospital.running_facts import operations_at
from vestry.sequence import program_of

MAY_LEAD = ("trained-observer", "shift-lead")
MAY_DECIDE = ("shift-lead", "programme-lead")
_ONE_AT_A_TIME = Lock()


def bundle_of(entry: Entry, language: str = SOURCE) -> bytes:
    """The bundle as JSON, for a tablet. BundleTooLarge.

    language  of its words; a real entry is given none that no speaker of the trade has reviewed, whoever asks
    """
    spoken = for_entry(language, entry.drill)
    with translation.override(spoken):
        return _bundle_of(entry, spoken)


def _bundle_of(entry: Entry, spoken: str) -> bytes:
    unit = Unit.current()
    with _ONE_AT_A_TIME:  # it takes seconds the first time: two tablets of one entry ask at once
        carries = _carried(entry.version_id, spoken)
    words = words_of(spoken)
    operations = operations_at(entry.created_at)
    made = Bundle(
        entry=str(entry.pk),
        drill=entry.drill,
        unit=unit.name,
        invented=unit.invented,
        carried=carries,
        people=people_of(entry),
        clocks=clocks_of(entry).model_copy(update={"hygiene": hygiene_clocks(operations)}),
        prepared=prepared(words, texts_at(entry.created_at)),
        door_things=door_things(operations, words),
        first_aid=first_aid.for_bundle(),
        before=before_of(entry, deciders()),
    )
    return json.dumps(made.as_json(), ensure_ascii=False, separators=(",", ":")).encode()


@lru_cache(maxsize=16)
def _carried(version: uuid.UUID, language: str) -> Carried:
    approved = approved_of(version)
    catalogue = facts.catalogue_of(approved.approval.facts)
    row = ProcedureVersion.objects.select_related("procedure").defer("approved").get(pk=version)
    basis = ApprovalBasis.objects.filter(version=version).first()
    program = Program.from_json(basis.program) if basis else program_of(approved.plan, catalogue)
    scenes = {one.name: answer_scenes_of(version, one.name) for one in approved.answers}
    scenes |= {own_course(one.role): own_scenes_of(version, one.role) for one in approved.plan.team}
    return carried(approved, program, scenes, catalogue, words_of(language), row.procedure.title)


def people_of(entry: Entry) -> tuple[BundlePerson, ...]:
    """Those of the entry, and those who may relieve its observer, each of them with a PIN to check at a hand-over."""
    reliefs = list(with_role(*MAY_LEAD))
    badges = _badges([entry.observer, *reliefs])
    found = {entry.wearer.pk: _person(entry.wearer, "wearer")}
    if entry.assistant:
        found[entry.assistant.pk] = _person(entry.assistant, "assistant")
    found[entry.observer.pk] = _leading(entry.observer, "observer", badges)
    for one in reliefs:
        if one.pk not in found:
            found[one.pk] = _leading(one, "relief", badges)
    return tuple(found.values())


def deciders() -> tuple[Decider, ...]:
    """Those who may override a rule by name, each with a PIN to sign with, where they have set one."""
    leads = list(with_role(*MAY_DECIDE))
    badges = _badges(leads)
    return tuple(
        Decider(
            sign_in=one.sign_in,
            name=one.name,
            badge=badges[one.pk].badge if one.pk in badges else None,
            pin=pin_of(badges[one.pk]) if one.pk in badges else None,
        )
        for one in leads
    )


def may_sign() -> frozenset[str]:
    """Sign-in names of those who can have signed an override on a tablet."""
    leads = list(with_role(*MAY_DECIDE))
    badges = _badges(leads)
    return frozenset(one.sign_in for one in leads if one.pk in badges)


def may_speak(entry: Entry) -> frozenset[str]:
    """Sign-in names of those whom a tablet may name as the one who acts in this entry."""
    return frozenset({entry.observer.sign_in, *with_role(*MAY_LEAD).values_list("sign_in", flat=True)})


def _badges(people: Iterable[User]) -> dict[object, Badge]:
    found: dict[object, Badge] = {}
    for badge in Badge.objects.filter(person__in=list(people)):
        found.setdefault(badge.person_id, badge)  # the newest first
    return found


def _person(person: User, part: str) -> BundlePerson:
    return BundlePerson.model_validate(
        {"sign-in": person.sign_in, "name": person.name, "given": person.given, "part": part}
    )


def _leading(person: User, part: str, badges: Mapping[object, Badge]) -> BundlePerson:
    badge = badges.get(person.pk)
    if badge is None:
        return _person(person, part)
    return _person(person, part).model_copy(update={"badge": badge.badge, "pin": pin_of(badge)})
