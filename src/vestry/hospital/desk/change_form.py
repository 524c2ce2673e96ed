"""What the page of a changed case is asked: the case now, and who is inside, from the record or by hand."""

from __future__ import annotations

import datetime
from dataclasses import dataclass, field
from typing import Any

from django.http import HttpRequest, QueryDict
from django.utils import timezone
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _
from pydantic import ValidationError

from vestry.contact.surfaces import surface
from vestry.entry.courses import PLAN
from vestry.entry.state import EntryState
from vestry.hospital.desk.forms import TASKS
from vestry.hospital.desk.mapper import approved_of
from vestry.hospital.record.models import Entry
from vestry.hospital.record.store import state_of
from vestry.sequence import Case, Inside, Plan, program_of, say
from vestry.sequence.case_change import MOST_INSIDE
from vestry.sequence.change_telling import told_site
from vestry.sequence.ensemble import donning_order
from vestry.sequence.whereabouts import worn_at
from vestry.trade import BadFacts, Catalogue, Problem
from vestry.trade.words import Words

ZONES = (
    ("room", _("in the room")),
    ("doffing-area", _("in the doffing area")),
    ("anteroom", _("in the anteroom")),
)


@dataclass
class Row:
    """One of those inside as the page holds them: `counts` says whether they are meant; `entry`: the record's own."""

    number: int
    name: str = ""
    code: str = ""
    counts: bool = True
    worn: list[str] = field(default_factory=list)
    at: str = ""
    zone: str = "room"
    minutes: str = ""
    contaminated: list[str] = field(default_factory=list)
    happened: list[str] = field(default_factory=list)
    entry: str = ""
    told: str = ""

    def inside(self, plan: Plan, catalogue: Catalogue) -> Inside:
        """The value that the row says; ValidationError names the field."""
        at = self.at or None
        return Inside.model_validate(
            {
                "code": self.code,
                "worn": None if at else _donned(self.worn, plan, catalogue),
                "at": at,
                "zone": None if at else self.zone,
                "happened": tuple(self.happened) if at else (),
                "contaminated": tuple(self.contaminated),
                "minutes": _whole(self.minutes),
            }
        )


def rows_of_record(plan: Plan, version: str, catalogue: Catalogue) -> list[Row]:
    """Those with an open entry who have gone in and not come out, with what they wear by the record."""
    entries = Entry.objects.exclude(stage__in=["closed", "abandoned"]).select_related("wearer", "version__procedure")
    rows: list[Row] = []
    for entry in entries.order_by("created_at"):
        state = state_of(entry)
        if state.entered_at is None or state.left_at is not None or state.over:
            continue
        rows.append(_row_of(len(rows), entry, state, plan, version, catalogue))
    return rows


def _row_of(number: int, entry: Entry, state: EntryState, plan: Plan, version: str, catalogue: Catalogue) -> Row:
    at, out = _reached(entry, state, plan, version, catalogue)
    drill = ", drill" if entry.drill else ""
    return Row(
        number=number,
        name=entry.wearer.name,
        code=entry.wearer.sign_in,
        counts=not entry.drill,
        worn=list(state.worn),
        at=at or "",
        zone="doffing-area" if out else "room",
        minutes=str(_minutes(state.entered_at)),
        happened=[event for one in state.deviations for event in one.events] if at else [],
        entry=str(entry.pk),
        told=gettext("%(version)s%(drill)s. Went in at %(str)s UTC.")
        % {"version": entry.version, "drill": drill, "str": str(state.entered_at)[11:16]},
    )


def _reached(
    entry: Entry, state: EntryState, plan: Plan, version: str, catalogue: Catalogue
) -> tuple[str | None, bool]:
    """The last step of this plan's way out that was done, where record and plan agree on it; whether any was done."""
    if str(entry.version_id) != version:
        return None, set(state.worn) != set(approved_of(entry.version_id).plan.worn)
    led = [step.id for step in plan.phase("doffing")]
    done = [one.step for one in state.steps if one.course == PLAN and one.done and one.step in led]
    if not done:
        return None, state.course != PLAN
    program, last = program_of(plan, catalogue), max(done, key=led.index)
    agrees = state.course == PLAN and set(worn_at(program, last)) == set(state.worn)
    said = {event for one in state.deviations for event in one.events}
    return (last if agrees and said <= {event.id for event in program.events} else None), True


def _minutes(since: str | None) -> int:
    if since is None:
        return 0
    gone = timezone.now() - datetime.datetime.fromisoformat(since)
    return max(0, int(gone.total_seconds() // 60))


def rows_asked(said: QueryDict) -> list[Row]:
    """The rows as they were sent."""
    numbers = [int(one) for one in said.getlist("row") if one.isascii() and one.isdigit()][:MOST_INSIDE]
    return [
        Row(
            number=number,
            name=said.get(f"{number}-name", "").strip()[:120],
            code=said.get(f"{number}-code", "").strip().lower(),
            counts=f"{number}-counts" in said,
            worn=said.getlist(f"{number}-worn"),
            at=said.get(f"{number}-at", ""),
            zone=said.get(f"{number}-zone", "room"),
            minutes=said.get(f"{number}-minutes", "").strip(),
            contaminated=said.getlist(f"{number}-contaminated"),
            happened=said.getlist(f"{number}-happened"),
            entry=said.get(f"{number}-entry", ""),
            told=said.get(f"{number}-told", "")[:300],
        )
        for number in numbers
    ]


def by_hand(rows: list[Row], plan: Plan) -> Row:
    """One more row, for someone without an entry."""
    number = max((one.number for one in rows), default=-1) + 1
    return Row(number=number, code=f"person-{number + 1}", worn=list(plan.worn))


@dataclass(frozen=True)
class Asked:
    """The question as values. `after` None: ruled out, and nothing else is suspected."""

    after: Case | None
    ruled_out: bool
    inside: tuple[Inside, ...]
    names: dict[str, str]


def asked(request: HttpRequest, plan: Plan, rows: list[Row], catalogue: Catalogue) -> Asked:
    """The question that was sent. BadFacts with everything that is no value at all."""
    said, problems = request.POST, list[Problem]()
    ruled_out = "ruled-out" in said
    hazard = said.get("hazard", "")
    after = None
    if hazard or not ruled_out:
        try:
            after = Case.model_validate(
                plan.case.model_dump()
                | {
                    "hazard": hazard,
                    "presentation": said.get("presentation", ""),
                    "tasks": tuple(said.getlist("tasks")),
                }
            )
        except ValidationError as bad:
            problems += [_problem(f"case.{'.'.join(map(str, one['loc']))}", one["msg"]) for one in bad.errors()]
    inside = []
    for row in rows:
        if not row.counts:
            continue
        try:
            inside.append(row.inside(plan, catalogue))
        except ValidationError as bad:
            problems += [
                _problem(f"{row.name or row.code or 'someone'}, {'.'.join(map(str, one['loc']))}", one["msg"])
                for one in bad.errors()
            ]
    if problems:
        raise BadFacts(problems)
    return Asked(after, ruled_out, tuple(inside), {row.code: row.name or row.code for row in rows})


def _donned(worn: list[str], plan: Plan, catalogue: Catalogue) -> tuple[str, ...]:
    """What is ticked, in the order in which it was put on: the plan's, else that of the donning rules."""
    if set(worn) <= set(plan.worn):
        return tuple(item for item in plan.worn if item in worn)
    if not set(worn) <= set(catalogue.items):
        return tuple(worn)
    return donning_order(tuple(worn), catalogue)


def _whole(text: str) -> int | str | None:
    if not text:
        return None
    return int(text) if text.isascii() and text.isdigit() and len(text) < 6 else text


def _problem(field: str, what: str) -> Problem:
    return Problem("change", 0, field, what)


# ---- what may be chosen ----


def choices(plan: Plan, catalogue: Catalogue, words: Words) -> dict[str, Any]:
    """What the page offers to choose from."""
    return {
        "hazards": [(one, words.hazard(one)) for one in catalogue.hazards],
        "presentations": [(one, words.term("presentation", one)) for one in ("dry", "wet")],
        "task_list": [(one, words.term("task", one)) for one in TASKS],
        "zones": ZONES,
        "items": [(one, words.item(one)) for one in catalogue.items],
        "steps": [
            (step.id, f"{number}. {say(step, words, catalogue).short}")
            for number, step in enumerate(plan.steps, 1)
            if step.phase == "doffing"
        ],
        "sites": [(surface("body", one), told_site(one, words)) for one in catalogue.body],
        "faces": [
            (surface(item, face.id), words.surface(surface(item, face.id)))
            for item in plan.worn
            for face in catalogue.items[item].faces
            if face.at and item in catalogue.items
        ],
    }
