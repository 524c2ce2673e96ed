"""What stands on the sheets, as plain JSON: words found, numbers counted, pictures drawn. The template lays it out.

1. A step bears the number that it has in the plan, on the tablet and on the wall.
2. The pages that observer and wearer use hold steps alone: no margin and no quantity. The verdict stands in front.
3. Without an approval every page says that there is none.
"""

from __future__ import annotations

import io
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any, Literal

import segno

from vestry.papers.answers import Led, answers_rows
from vestry.papers.beside import Beside
from vestry.papers.labels import Labels
from vestry.papers.pictures import picture
from vestry.sequence import Assurance, Plan, PlanStep, Route, StepState, member_states, say, states
from vestry.sequence.states import technique_of
from vestry.trade import Catalogue
from vestry.trade.jurisdictions import waste_stream
from vestry.trade.words import Words

Kind = Literal["donning", "doffing", "team"]
KINDS: tuple[Kind, ...] = ("donning", "doffing", "team")

# Signs above which a step may break across pages; below, it never is longer than a page.
LONG = 520

# What gives an ensemble its short name: what covers the body, the airways and the eyes.
_NAMING = (
    ("gown", "coverall"),
    ("apron",),
    ("mask", "respirator", "papr-hood", "papr-helmet"),
    ("hood",),
    ("shield", "goggles"),
)


class NotOfThisPlan(ValueError):
    """An assurance of another plan than the one to be printed."""


@dataclass(frozen=True)
class Approval:
    """What the sheet says of the approval.

    approved_on   ISO 8601 day, as text
    practised     who has practised it, in the unit's words; None when not known
    """

    version: int
    approved_by: str
    approved_on: str
    practised: str | None
    unit: str


def sheet_content(
    plan: Plan,
    assurance: Assurance,
    words: Words,
    catalogue: Catalogue,
    approval: Approval | None,
    labels: Labels,
    kinds: Sequence[Kind] = KINDS,
    unit: str = "",
    printed_on: str | None = None,
    call: str = "",
    answers: Sequence[Led] = (),
    beside: Beside | None = None,
) -> dict[str, Any]:
    """Everything that the template lays out. NotOfThisPlan when the assurance is of another plan."""
    if assurance.plan != plan.hash:
        raise NotOfThisPlan(f"the plan is {plan.hash[:12]}, the assurance is of {(assurance.plan or 'none')[:12]}")
    unknown = [kind for kind in kinds if kind not in KINDS]
    if unknown or not kinds:
        raise ValueError(f"kinds may be {', '.join(KINDS)}; given: {', '.join(unknown) or 'none'}")
    title = ensemble_title(plan, words, catalogue)
    return {
        "language": words.language.tag,
        "rtl": words.language.direction == "rtl",
        "labels": labels.as_json(),
        "title": title,
        "hazard": words.hazard(plan.case.hazard),
        "presentation": _capital(words.term("presentation", plan.case.presentation)),
        "tasks": ", ".join(words.term("task", task) for task in plan.case.tasks),
        "unit": approval.unit if approval else unit,
        "banners": _banners(approval, words, labels),
        "approval": _approval(approval, labels),
        "practised": approval.practised if approval else None,
        "plan": short_hash(plan.hash),
        "plan-whole": plan.hash,
        "facts": short_hash(assurance.facts),
        "printed": labels.printed.format(on=printed_on) if printed_on else "",
        "qr": qr_svg(plan, approval),
        "caution": words.cautions[0],
        "answers": answers_rows(plan, answers, words, catalogue, labels),
        "beside": beside.as_json() if beside else None,
        "front": _front(plan, assurance, words, catalogue, labels, call),
        "sheets": [
            *(_sheet(kind, plan, words, catalogue, labels) for kind in KINDS if kind in kinds and kind != "team"),
            *(team_sheets(plan, words, catalogue, labels) if "team" in kinds else ()),
        ],
    }


# ---- names ----


def ensemble_title(plan: Plan, words: Words, catalogue: Catalogue) -> str:
    """The ensemble in short words: what covers body, airways and eyes."""
    named = [words.item_short(item) for kinds in _NAMING for item in plan.worn if catalogue.items[item].kind in kinds]
    return " · ".join(named or [words.item_short(item) for item in plan.worn])


def short_hash(digest: str) -> str:
    """The first sixteen signs of a digest, in fours, to be compared by eye."""
    return " ".join(digest[at : at + 4] for at in range(0, 16, 4))


def qr_text(plan: Plan, approval: Approval | None) -> str:
    """What the QR code holds: the plan's whole hash and the version. Capitals make a smaller code."""
    return f"PLAN:{plan.hash.upper()}:{f'VERSION:{approval.version}' if approval else 'UNAPPROVED'}"


def qr_svg(plan: Plan, approval: Approval | None) -> str:
    """The QR code as SVG."""
    out = io.BytesIO()
    code = segno.make(qr_text(plan, approval), error="m", micro=False)
    code.save(out, kind="svg", dark="#1B2230", border=2, omitsize=True, xmldecl=False, svgclass=None, lineclass=None)
    return out.getvalue().decode()


def _banners(approval: Approval | None, words: Words, labels: Labels) -> list[dict[str, str]]:
    found = []
    if approval is None:
        found.append({"name": labels.unapproved, "why": labels.unapproved_why})
    if words.language.status == "draft":
        found.append({"name": labels.draft, "why": ""})
    return found


def _approval(approval: Approval | None, labels: Labels) -> dict[str, str]:
    if approval is None:
        return {"version": labels.unapproved, "by": ""}
    return {
        "version": labels.version.format(version=approval.version),
        "by": labels.approved.format(on=approval.approved_on, by=approval.approved_by),
    }


# ---- the steps ----


def team_sheets(plan: Plan, words: Words, catalogue: Catalogue, labels: Labels) -> Iterable[dict[str, Any]]:
    """What is done between two exits, then the own dressing and undressing of assistant and observer.

    Their steps are numbered apart from the plan's, with a letter: T for the turnaround, A and O for the two.
    """
    if plan.turnaround:
        steps = [_turnaround(number, key, words, catalogue, labels) for number, key in enumerate(plan.turnaround, 1)]
        yield {"own": True, "name": labels.turnaround, "lead": labels.turnaround_lead, "steps": steps}
    for member in plan.team:
        letter = member.role[0].upper()
        seen = member_states(member, plan.case, catalogue)
        lead = labels.own_lead
        for place in member.missing:
            lead += " " + labels.nothing_of.format(items=", ".join(words.item(item) for item in place))
        yield {
            "own": True,
            "name": labels.own.format(who=_capital(words.term("who", member.role))),
            "lead": lead,
            "steps": [
                {
                    **_step(f"{letter}{number}", step, state, words, catalogue, labels),
                    "grouped": False,
                    "first": False,
                    "more": False,
                }
                for number, (step, state) in enumerate(zip(member.steps, seen, strict=True), 1)
            ],
        }


def _turnaround(number: int, key: str, words: Words, catalogue: Catalogue, labels: Labels) -> dict[str, Any]:
    said = words.turnaround(key)
    return {
        "number": f"T{number}",
        "who": _capital(words.term("who", catalogue.turnarounds[key].who)),
        "say": said.say,
        "watch": said.watch,
        "waste": "",
        "stop": None,
        "pictures": [],
        "alt": "",
        "long": False,
        "grouped": False,
        "first": False,
        "more": False,
    }


def steps_of(kind: Kind, plan: Plan) -> tuple[tuple[int, PlanStep], ...]:
    """The numbered steps of a sheet: donning ends with going in, doffing begins with coming out."""
    numbered = tuple(enumerate(plan.steps, 1))
    going_in = max(
        (
            number
            for number, step in numbered
            if step.phase in ("before", "donning") or (step.phase == "entry" and step.to == "room")
        ),
        default=0,
    )
    return tuple(one for one in numbered if (one[0] <= going_in) == (kind == "donning"))


def _sheet(kind: Kind, plan: Plan, words: Words, catalogue: Catalogue, labels: Labels) -> dict[str, Any]:
    chosen = steps_of(kind, plan)
    before = states(plan, catalogue)
    own = labels.donning if kind == "donning" else labels.doffing
    groups = [step.group for _, step in chosen]
    return {
        "name": own,
        "lead": labels.donning_lead if kind == "donning" else labels.doffing_lead,
        "steps": [
            {
                **_step(number, step, before[number - 1], words, catalogue, labels),
                # Kept with the next one, on the same page where it can be.
                "grouped": step.group is not None,
                "first": step.group is not None and (at == 0 or groups[at - 1] != step.group),
                "more": step.group is not None and at + 1 < len(groups) and groups[at + 1] == step.group,
            }
            for at, (number, step) in enumerate(chosen)
        ],
    }


def _step(
    number: int | str, step: PlanStep, state: StepState, words: Words, catalogue: Catalogue, labels: Labels
) -> dict[str, Any]:
    said = say(step, words, catalogue)
    seen = picture(step, state, words, labels, catalogue)
    stop = words.stop(step.stop_point) if step.stop_point else None
    return {
        "number": number,
        "who": _capital(words.term("who", step.who)),
        "say": said.say,
        "watch": said.watch,
        "waste": words.waste(step.waste) if step.waste else "",
        "stop": {"name": stop.name, "say": stop.say} if stop else None,
        "pictures": list(seen.svgs) if seen else [],
        "alt": seen.alt if seen else "",
        "long": len(said.say) + len(said.watch) > LONG,
    }


# ---- the front ----


def _front(
    plan: Plan, assurance: Assurance, words: Words, catalogue: Catalogue, labels: Labels, call: str
) -> dict[str, Any]:
    verdict, stop = words.verdict(assurance.verdict), words.spoken("stop")
    return {
        "verdict": {"short": verdict.short, "says": verdict.says},
        "stop": {"say": stop.say, "watch": stop.watch, "call": call},
        "ensemble": [
            {
                "item": words.item(one.item),
                "why": [_sentence(words.why(why)) for why in dict.fromkeys(reason.why for reason in one.reasons)],
            }
            for one in plan.ensemble
        ],
        "rests": [
            {
                "name": words.convention(one).name,
                "says": words.convention(one).says,
                "flips": one in assurance.flips,
            }
            for one in assurance.conventions
        ],
        "start": _start(plan, words, labels),
        "gaps": [gap if gap == "airways" else words.surface(f"body.{gap}") for gap in assurance.gaps],
        "reached": [_route(route, plan, words, labels) for route in assurance.reached],
        "cautions": list(words.cautions),
        "sources": sources_used(plan, assurance, words, catalogue, labels),
    }


def _start(plan: Plan, words: Words, labels: Labels) -> str:
    """What may be contaminated when a way out starts that does not start fully dressed and fresh from the room."""
    if plan.start is None:
        return ""
    names = ", ".join(dict.fromkeys(words.surface(one) for one in plan.start.contaminated)) or labels.nothing
    return (labels.starts_alone if plan.start.alone else labels.starts_besides).format(items=names)


def _route(route: Route, plan: Plan, words: Words, labels: Labels) -> str:
    """Where it gets to, and at which steps of the plan."""
    numbers = {step.id: number for number, step in enumerate(plan.steps, 1)}
    at = dict.fromkeys(
        labels.step.format(first=numbers[link.step]) if link.step in numbers else labels.at_arrival
        for link in route.chain
    ) or [labels.at_arrival]
    later = "" if route.when == "at-end" else f", {labels.clean_later}"
    return f"{_capital(words.surface(route.surface))} ({words.endpoint(route.endpoint)}{later}): {', '.join(at)}."


def sources_used(
    plan: Plan, assurance: Assurance, words: Words, catalogue: Catalogue, labels: Labels
) -> list[dict[str, Any]]:
    """Every source of a reason, a technique, a convention or a waste stream on these sheets, with how sure each is."""
    sure: dict[str, dict[str, None]] = {}
    for source, certainty in _cited(plan, assurance, catalogue):
        sure.setdefault(source, {})[certainty] = None
    rows = []
    for source in sorted(sure, key=lambda one: (one not in catalogue.sources, one)):
        record = catalogue.sources.get(source)
        certain = sorted(sure[source])
        rows.append(
            {
                "publisher": _capital(record.publisher if record else words.term("certainty", source)),
                "title": record.title if record else "",
                "year": record.year if record and record.year != "unknown" else labels.unknown_year,
                "certainty": "; ".join(words.term("certainty", one) for one in certain),
                "memory": "from-memory" in certain,
            }
        )
    return rows


def _cited(plan: Plan, assurance: Assurance, catalogue: Catalogue) -> Iterable[tuple[str, str]]:
    for item in plan.ensemble:
        for reason in item.reasons:
            need = catalogue.requirements.get(reason.why)
            yield reason.source, need.certainty if need else _read_as(reason.source, catalogue)
    for step in plan.steps:
        technique = technique_of(step, catalogue)
        if technique is not None:
            yield technique.source, technique.certainty
        if step.waste is not None:
            stream = catalogue.waste_streams[step.waste]
            yield stream.source, stream.certainty
            if step.waste != "reusable-parts":
                told = waste_stream(catalogue, plan.case.hazard, plan.policy.jurisdiction)
                yield told.source, told.certainty
    for convention in assurance.conventions:
        fact = catalogue.conventions[convention]
        yield fact.source, fact.certainty


def _read_as(source: str, catalogue: Catalogue) -> str:
    record = catalogue.sources.get(source)
    return record.read_as if record else source


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


def _sentence(text: str) -> str:
    return _capital(text if text.endswith((".", "?", "!", "…")) else f"{text}.")
