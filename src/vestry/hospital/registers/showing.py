"""One person in words: what is noted of them, as far as the one who looks may read it."""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from django.utils import timezone
from django.utils.formats import date_format
from django.utils.translation import gettext

from vestry.hospital import running_facts
from vestry.hospital.language import WORDS
from vestry.hospital.registers.able import ensemble_told, subjects
from vestry.hospital.registers.mapper import note_of
from vestry.hospital.registers.models import PersonNote, RegisteredPerson
from vestry.people import (
    Absence,
    Clearance,
    Competency,
    FitTest,
    Note,
    OffTheTable,
    Person,
    Tried,
    glove_size,
    gowns_long_enough,
    judge,
    mid_calf_length,
    person_of,
    standing,
)
from vestry.people.may import Viewer
from vestry.trade.dates import months_after


@dataclass(frozen=True)
class Told:
    """What the page says. `measures` None: not for this viewer."""

    value: Person
    duties: list[str]
    away: list[dict[str, Any]]
    competencies: list[dict[str, Any]]
    clearances: list[dict[str, Any]]
    clearance: str
    fit_tests: list[dict[str, Any]]
    tried: list[dict[str, Any]]
    measures: list[tuple[str, str]] | None


def person_told(person: RegisteredPerson, rows: list[PersonNote], viewer: Viewer, measures: bool, system: str) -> Told:
    """The person in words, for this viewer."""
    notes = standing(note_of(one) for one in rows)
    by_id = {str(one.pk): one for one in rows}
    value, today = person_of(str(person.pk), notes), timezone.localdate()
    findings = viewer in ("person", "health")
    newest = [one for one in reversed(notes) if isinstance(one.said, Clearance)]
    return Told(
        value=value,
        duties=[WORDS.term("duty", one) for one in value.duties],
        away=[_absence(one, by_id, findings) for one in _of(notes, Absence) if _not_over(one.said, today)],
        competencies=[_competency(one, by_id, today, system) for one in reversed(_of(notes, Competency))],
        clearances=[_clearance(one, by_id) for one in newest] if findings else [],
        clearance=_holds(newest[0].said if newest else None, today, system),
        fit_tests=[_fit_test(one, by_id, today, system) for one in reversed(_of(notes, FitTest))],
        tried=[_tried(one, by_id) for one in _latest_tried(notes)],
        measures=_measures(value) if measures else None,
    )


def _of(notes: Iterable[Note], shape: type) -> list[Note]:
    return [one for one in notes if isinstance(one.said, shape)]


def _not_over(said: Any, today: datetime.date) -> bool:
    return said.until is None or said.until >= today


def _absence(note: Note, rows: Mapping[str, PersonNote], findings: bool) -> dict[str, Any]:
    said, row = note.said, rows[note.id]
    reason = getattr(row, "reason", None) if findings else None
    return {"note": note.id, "said": said, "reason": reason.reason if reason else "", "by": row.by.name}


def _competency(note: Note, rows: Mapping[str, PersonNote], today: datetime.date, system: str) -> dict[str, Any]:
    said: Any = note.said
    until = months_after(said.on, said.months or running_facts.standards().months("competency", system))
    known = dict(subjects())
    subject = known.get(said.subject) or (ensemble_told(said.subject) if "." in said.subject else said.subject)
    return {
        "note": note.id,
        "subject": subject,
        "duty": WORDS.term("duty", said.duty),
        "on": said.on,
        "until": until,
        "lapsed": until < today,
        "by": rows[note.id].by.name,
    }


def _clearance(note: Note, rows: Mapping[str, PersonNote]) -> dict[str, Any]:
    said: Any = note.said
    return {"note": note.id, "said": said, "cleared": WORDS.term("cleared", said.cleared), "by": rows[note.id].by.name}


def _holds(said: Any, today: datetime.date, system: str) -> str:
    """What the lead reads: whether a full clearance holds, and to when. Never what else was found."""
    if said is None or said.cleared != "any":
        return gettext(
            "No clearance that holds for every respirator. Which procedures somebody may go in for stands above."
        )
    until = said.until or months_after(said.on, running_facts.standards().months("clearance", system))
    if until < today:
        return gettext("Clearance for a respirator lapsed on %(until)s.") % {"until": date_format(until, "j F Y")}
    return gettext("Cleared for a respirator to %(until)s.") % {"until": date_format(until, "j F Y")}


def _fit_test(note: Note, rows: Mapping[str, PersonNote], today: datetime.date, system: str) -> dict[str, Any]:
    said: Any = note.said
    judged = judge(said, today, running_facts.standards(), system)
    return {
        "note": note.id,
        "said": said,
        "item": WORDS.item(said.item),
        "system": WORDS.jurisdiction(said.system),
        "overall": None if judged.overall is None else f"{judged.overall:.0f}",
        "level": judged.level,
        "until": judged.until,
        "why": [WORDS.term("fit-fails", one) for one in judged.why],
        "by": rows[note.id].by.name,
    }


def _latest_tried(notes: Iterable[Note]) -> list[Note]:
    found: dict[str, Note] = {}
    for one in notes:
        if isinstance(one.said, Tried):
            found[one.said.what] = one
    return list(found.values())


def _tried(note: Note, rows: Mapping[str, PersonNote]) -> dict[str, Any]:
    said: Any = note.said
    words = WORDS.file
    name = WORDS.item(said.what) if said.what in words.item else WORDS.kind(said.what)
    return {"note": note.id, "name": name, "size": said.size.upper(), "by": rows[note.id].by.name}


def _measures(person: Person) -> list[tuple[str, str]]:
    """Measures with what the published tables make of them."""
    found: list[tuple[str, str]] = []
    standards = running_facts.standards()
    if person.hand is not None:
        length = (
            gettext(", %(length_mm)s mm long") % {"length_mm": person.hand.length_mm} if person.hand.length_mm else ""
        )
        found.append(
            (
                gettext("Hand"),
                gettext("%(circumference_mm)s mm round the palm%(length)s")
                % {"circumference_mm": person.hand.circumference_mm, "length": length},
            )
        )
        try:
            fit = glove_size(person.hand, standards)
            says = f"{fit.row.size.upper()} ({fit.row.number})"
            if fit.by_length is not None:
                says += gettext("; the length of the hand asks for %(upper)s: try both") % {
                    "upper": fit.by_length.size.upper()
                }
        except OffTheTable as off:
            says = gettext("none: %(off)s") % {"off": off}
        found.append((gettext("Gloves by the hand table (EN 420)"), says))
    if person.height_mm is not None:
        found.append(
            (gettext("Height"), gettext("%(height_mm_10)s cm") % {"height_mm_10": format(person.height_mm / 10, ".0f")})
        )
        found.append(
            (
                gettext("A gown reaches mid-calf from"),
                gettext("%(mid_calf_length)s mm of back length")
                % {"mid_calf_length": mid_calf_length(person.height_mm, standards)},
            )
        )
        sizes = ", ".join(
            f"{row.size.upper()} {WORDS.term('gown-length', says)}"
            for row, says in gowns_long_enough(person.height_mm, standards)
        )
        found.append((gettext("Gowns of the published table"), sizes))
    return found
