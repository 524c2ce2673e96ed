"""The stay that the form begins with, from the registers: along one procedure, with where each default is from."""

from __future__ import annotations

import datetime
from dataclasses import dataclass

from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from vestry.hospital import facts, running_facts
from vestry.hospital.desk.mapper import approved_of
from vestry.hospital.desk.models import ProcedureVersion, TeamNeedVersion
from vestry.hospital.desk.ready_here import Registers
from vestry.hospital.numbers import written
from vestry.people import May, need_of, who_can_go_in
from vestry.people.values import Duty
from vestry.readiness import Here, ProcedureHere, Question, Stay
from vestry.readiness.stay_here import stay_for, with_all_at_hand
from vestry.readiness.today import DUTIES
from vestry.sequence import Plan
from vestry.trade.staying import FigureId, load_stay_figures

HOURS = 120
DRAWS = 1000


@dataclass(frozen=True)
class Default:
    """A value that the form begins with, and where it is from in words."""

    value: float | int | str | None
    source: str


@dataclass(frozen=True, eq=False)
class Begun:
    """A procedure, the stay along it by the registers (None: nobody may go in), and the defaults of the form."""

    version: ProcedureVersion
    stay: Stay | None
    defaults: dict[str, Default]


def begun(version: ProcedureVersion) -> Begun:
    """The registers read once."""
    plan = approved_of(version.pk).plan
    today = timezone.localdate()
    registers, standards, catalogue = Registers(today, names=False), running_facts.standards(), facts.catalogue()
    here = Here(
        procedures=(),
        people=registers.people,
        lots=registers.lots,
        counts=registers.counts,
        held=registers.held,
        units=registers.units,
        system=registers.system,
    )
    shelf = here.shelf(today)
    may: dict[Duty, dict[str, May]] = {}
    for duty in DUTIES:
        need = need_of(plan, catalogue, duty, version.procedure.slug)
        answers = who_can_go_in(need, here.people, shelf, today, catalogue, standards, here.system).answers
        may[duty] = {one.person: one for one in answers}
    team = TeamNeedVersion.current()
    question = Question(hazard=plan.case.hazard, on=today, hours=HOURS)
    along = ProcedureHere(plan.case.presentation, slug=version.procedure.slug, version=version.number, plan=plan)
    starts = datetime.datetime.combine(today, datetime.time(timezone.localtime().hour))
    stay = stay_for(question, along, here, team, may, starts, catalogue, standards, draws=DRAWS)
    if stay is not None:
        title = f"{version.procedure.title}, {_('version')} {version.number}"
        known = catalogue.items.keys()
        own = {item: hours for item, hours in registers.lead_times.by_item.items() if item in known}
        update = {"lead_hours": registers.lead_times.of_all, "lead_times": own, "title": title[:200]}
        stay = stay.model_copy(update=update)
        stay = with_all_at_hand(stay, here, today, catalogue)
    return Begun(version, stay, _defaults(plan, stay, team.wearer))


def _lead(stay: Stay | None) -> Default:
    """What the unit keeps for all that have no lead time of their own, else the planning figure."""
    own = len(stay.lead_times) if stay else 0
    beside = (
        ngettext("; {count} item has its own", "; {count} items have their own", own).format(count=own) if own else ""
    )
    if stay is not None and stay.lead_hours is not None:
        return Default(stay.lead_hours, _("kept with the stock") + beside)
    one = _of_figure("lead-hours")
    return Default(one.value, one.source + beside)


def figure(name: FigureId) -> float:
    """A planning figure."""
    return load_stay_figures().find(name).value


def _defaults(plan: Plan, stay: Stay | None, wearers: int) -> dict[str, Default]:
    work = stay.work[0] if stay else None
    team = stay.team if stay else "each-exit"
    return {
        "hours": Default(HOURS, _("five days; set your own")),
        "inside": Default(
            work.inside if work else 1,
            ngettext(
                "one for every two wearers of a shift; your team has {count} wearer",
                "one for every two wearers of a shift; your team has {count} wearers",
                wearers,
            ).format(count=wearers),
        ),
        "minutes_inside": Default(plan.policy.limit_minutes, _("the limit of the procedure")),
        "hours_a_day": Default(24, _("all day; set your own")),
        "regular": Default(0, _("none; no register holds visits")),
        "extra": Default(0, _("none; no register holds them")),
        "minutes_visit": Default(plan.policy.limit_minutes, _("the limit of the procedure")),
        "team": Default(
            team,
            _("the cautious reading")
            if team == "each-exit"
            else _("nobody on the register may observe or assist today, so they are not counted"),
        ),
        "damaged_a_day": _of_figure("damaged-pieces-a-day"),
        "glove_changes": _of_figure("glove-changes-an-hour"),
        "don": _of_figure("don-minutes"),
        "doff": _of_figure("doff-minutes"),
        "rest": _of_figure("rest-minutes"),
        "lead_hours": _lead(stay),
        "transfer_from": Default(None, _("empty: the patient stays")),
        "transfer_to": Default(None, _("empty: the patient stays")),
        "target": Default(95, _("per cent; set your own")),
        "draws": Default(DRAWS, _("more narrow the ranges, and take longer")),
        "seed": Default(1, _("the same number gives the same stays")),
    }


def _of_figure(name: FigureId) -> Default:
    one = load_stay_figures().find(name)
    span = f", {written(one.range[0])} – {written(one.range[1])}" if one.range else ""
    value = int(one.value) if one.value.is_integer() else one.value
    if one.source == one.certainty:
        return Default(value, f"{_('planning figure')}: {one.certainty}{span}")
    return Default(value, f"{_('planning figure')}: {one.source}, {one.certainty}{span}")
