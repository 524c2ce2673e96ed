"""Procedures in words: what a changed fact touched, what came of it, two versions side by side, the answers."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from vestry.hospital import facts
from vestry.hospital.desk.models import LaterAssurance
from vestry.hospital.language import words_now
from vestry.procedure import Again, Approved, Touched
from vestry.sequence import Plan, PlanStep, say
from vestry.sequence.aligning import Pair, align
from vestry.sequence.telling import told_event, told_route, told_step, told_surface
from vestry.trade import Catalogue
from vestry.trade.words import UnknownWord, Words

HOW = {
    "changed": _("says something else, or applies no more"),
    "retired": _("is retired"),
    "new": _("applies now and did not before"),
}


def name_of(kind: str, key: str, words: Words) -> str:
    """A record in words, as far as there are any; else by its id."""
    try:
        match kind:
            case "item":
                return words.item(key)
            case "hazard":
                return words.hazard(key)
            case "agent":
                return words.agent(key)
            case "waste-stream":
                return words.waste(key)
            case "convention":
                return words.convention(key).name
            case "rule" | "requirement":
                return words.why(key)
            case "body" | "place":
                return words.surface(f"{kind}.{key}")
    except UnknownWord:
        pass
    return key


def touched_told(touched: tuple[Touched, ...]) -> list[dict[str, Any]]:
    """The facts beneath a procedure that are others now: what blocks, then what changed, then what applies anew."""
    words = words_now()
    worst_first = sorted(touched, key=lambda one: (not one.blocks, list(HOW).index(one.how)))
    return [
        {
            "kind": one.kind.replace("-", " "),
            "id": one.id,
            "name": name_of(one.kind, one.id, words),
            "how": HOW[one.how],
            "blocks": one.blocks,
        }
        for one in worst_first
    ]


# ---- assured again ----


def finding_told(later: LaterAssurance, approved: Approved) -> dict[str, Any] | None:
    """What came of assuring again: verdict, routes, steps to watch, counts, and whether another plan would come out."""
    if later.found is None:
        return None
    found = Again.model_validate(later.found)
    words, catalogue = words_now(), facts.catalogue_of(approved.approval.facts)
    numbers = {step.id: number for number, step in enumerate(approved.plan.steps, 1)}
    by_id = {step.id: step for step in approved.plan.steps}

    def steps(ids: tuple[str, ...]) -> list[str]:
        return [f"{numbers[one]}. {told_step(by_id[one], words, catalogue)}" for one in ids if one in by_id]

    def routes(of: Any) -> list[str]:
        return [_capital(told_route(one, numbers, words)) for one in of]

    return {
        "same": found.same,
        "problems": found.problems,
        "verdict_was": words.verdict(found.verdict_was).short,
        "verdict_now": words.verdict(found.assurance.verdict).short if found.assurance else "",
        "verdict_changed": found.assurance is not None and found.assurance.verdict != found.verdict_was,
        "reached_new": routes(found.reached_new),
        "reached_gone": routes(found.reached_gone),
        "weak_new": routes(found.weak_new[:12]),
        "weak_gone": routes(found.weak_gone[:12]),
        "weak_counts": (len(found.weak_new), len(found.weak_gone)),
        "watch_new": steps(found.watch_new),
        "watch_gone": steps(found.watch_gone),
        "counts": [
            {
                "endpoint": words.endpoint(one.endpoint),
                "when": gettext("at the end") if one.when == "at-end" else gettext("at any time"),
                "errors": one.size,
                "loads": gettext("all that may be contaminated")
                if one.loads == "all"
                else gettext("what is surely contaminated"),
                "latent": gettext("with hidden faults") if one.latent else "without",
                "was": one.was,
                "now": one.now,
            }
            for one in found.counts
            if one.size <= 1
        ],
        "planned": found.planned,
        "refused": found.refused,
        "plan_differs": _short_differences(approved.plan, found.plan, words, catalogue) if found.plan else None,
    }


def _short_differences(old: Plan, new: Plan, words: Words, catalogue: Catalogue) -> list[str]:
    told = []
    for row in _rows(old, new, words, catalogue, facts.catalogue()):
        if row["change"] != "kept":
            told.append(f"{row['own']}: {row['says']}" if row["own"] else row["says"])
    return told[:12]


# ---- two versions ----


def differences_told(old: Approved, new: Approved) -> dict[str, Any]:
    """From an older version to a newer one, step by step, in words."""
    words = words_now()
    then, now = (facts.catalogue_of(one.approval.facts) for one in (old, new))
    rows = _rows(old.plan, new.plan, words, then, now)
    return {
        "items_added": [words.item(item) for item in new.plan.worn if item not in old.plan.worn],
        "items_dropped": [words.item(item) for item in old.plan.worn if item not in new.plan.worn],
        "case": _case_differences(old.plan, new.plan, words),
        "rows": rows,
        "changes": sum(row["change"] != "kept" for row in rows),
        "answers": (len(old.answers), len(new.answers)),
        "facts_same": old.approval.facts == new.approval.facts,
        "verdicts": tuple(words.verdict(one.assurance.verdict).short for one in (old, new)),
        "watch": tuple(sum(step.watch for step in one.assurance.steps) for one in (old, new)),
    }


def _case_differences(old: Plan, new: Plan, words: Words) -> list[str]:
    told = []
    if old.case.hazard != new.case.hazard:
        told.append(
            gettext("Hazard: %(hazard)s, then %(hazard2)s.")
            % {"hazard": words.hazard(old.case.hazard), "hazard2": words.hazard(new.case.hazard)}
        )
    if old.case.presentation != new.case.presentation:
        was, is_ = (words.term("presentation", one.case.presentation) for one in (old, new))
        told.append(gettext("Presentation: %(was)s, then %(is)s.") % {"was": was, "is": is_})
    if old.case.tasks != new.case.tasks:
        was, is_ = (", ".join(words.term("task", task) for task in one.case.tasks) for one in (old, new))
        told.append(gettext("Tasks: %(was)s, then %(is)s.") % {"was": was, "is": is_})
    changed = [key for key, value in old.policy.model_dump().items() if new.policy.model_dump()[key] != value]
    if changed:
        told.append(gettext("Policy differs in ") + ", ".join(one.replace("_", " ") for one in changed) + ".")
    return told


def _rows(old: Plan, new: Plan, words: Words, then: Catalogue, now: Catalogue) -> list[dict[str, Any]]:
    """Every step of wearer, observer and assistant, and what is done between two exits, each under its own head."""
    rows = _side_by_side(old.steps, new.steps, "", words, then, now)
    for role in dict.fromkeys(one.role for one in (*new.team, *old.team)):
        was, is_ = (tuple(step for one in plan.team if one.role == role for step in one.steps) for plan in (old, new))
        head = words.finding("team.title", item=words.term("who", role))
        rows += _side_by_side(was, is_, head[:1].upper() + head[1:], words, then, now)
    for pair in align(old.turnaround, new.turnaround):
        at = new.turnaround[pair.second] if pair.second is not None else old.turnaround[pair.first or 0]
        short = words.turnaround(at).short
        lane = words.finding("lane.title")
        rows.append(_row(pair, lane, short, pair.change, "") | {"own": lane})
    return rows


def _side_by_side(
    old: Sequence[PlanStep],
    new: Sequence[PlanStep],
    own: str,
    words: Words,
    then: Catalogue,
    now: Catalogue,
) -> list[dict[str, Any]]:
    """Two lists of steps; `own` is the head over a member's own list, empty for the wearer's phases."""
    rows = []
    for pair in align([step.id for step in old], [step.id for step in new]):
        was = old[pair.first] if pair.first is not None else None
        is_ = new[pair.second] if pair.second is not None else None
        step = is_ or was
        assert step is not None
        changed = _detail(was, is_, words) if was and is_ else ""
        change = "changed" if pair.change == "kept" and changed else pair.change
        short = told_step(step, words, now if is_ else then)
        rows.append(_row(pair, own or words.term("phase", step.phase), short, change, changed) | {"own": own})
    return rows


def _row(pair: Pair, head: str, short: str, change: str, changed: str) -> dict[str, Any]:
    return {
        "change": change,
        "was": pair.first + 1 if pair.first is not None else None,
        "now": pair.second + 1 if pair.second is not None else None,
        "phase": head,
        "short": short,
        "says": _says(change, short, pair.first, pair.second, changed),
    }


def _says(change: str, short: str, first: int | None, second: int | None, changed: str) -> str:
    if change == "gone":
        return gettext("Step %(it)s is gone: %(short)s.") % {"it": (first or 0) + 1, "short": short}
    if change == "new":
        return gettext("Step %(it)s is new: %(short)s.") % {"it": (second or 0) + 1, "short": short}
    if change == "moved":
        tail = f" {changed}" if changed else ""
        return gettext("Step %(it)s is now step %(it2)s: %(short)s.%(tail)s") % {
            "it": (first or 0) + 1,
            "it2": (second or 0) + 1,
            "short": short,
            "tail": tail,
        }
    if change == "changed":
        return gettext("Step %(it)s, %(short)s: %(changed)s") % {
            "it": (second or 0) + 1,
            "short": short,
            "changed": changed,
        }
    return f"{short}."


def _detail(was: PlanStep, is_: PlanStep, words: Words) -> str:
    """What differs in a step whose act, items and technique are the same."""
    told = []
    if was.who != is_.who:
        told.append(
            gettext("done by %(term)s, then by %(term2)s.")
            % {"term": words.term("who", was.who), "term2": words.term("who", is_.who)}
        )
    if was.agent != is_.agent:
        told.append(
            gettext("with %(agent)s, then with %(agent2)s.")
            % {"agent": _agent(was.agent, words), "agent2": _agent(is_.agent, words)}
        )
    if was.waste != is_.waste:
        told.append(
            gettext("into %(waste)s, then into %(waste2)s.")
            % {"waste": _waste(was.waste, words), "waste2": _waste(is_.waste, words)}
        )
    if was.stop_point != is_.stop_point:
        told.append(gettext("the spoken stop before it differs."))
    return " ".join(told)


def _agent(agent: str | None, words: Words) -> str:
    return words.agent(agent) if agent else "nothing"


def _waste(stream: str | None, words: Words) -> str:
    return words.waste(stream) if stream else "nothing"


# ---- answers ----


def answers_told(approved: Approved) -> list[dict[str, Any]]:
    """The unit's answers to deviations, by the step at which they apply, each with its steps as they are read aloud."""
    words, catalogue = words_now(), facts.catalogue_of(approved.approval.facts)
    found = []
    for number, step in enumerate(approved.plan.steps, 1):
        here = [answer for answer in approved.answers if answer.recovery.at == step.id]
        if not here:
            continue
        rows = []
        for answer in here:
            recovery = answer.recovery
            events = [one for one in recovery.happened if one != "envelope"]
            rows.append(
                {
                    "happened": " and ".join(told_event(one, words) for one in events)
                    or gettext("whatever may have gone wrong"),
                    "clean": recovery.clean,
                    "exposed": [told_surface(one, words) for one in recovery.exposed],
                    "steps": [say(one, words, catalogue).say for one in answer.steps],
                }
            )
        found.append({"number": number, "short": told_step(step, words, catalogue), "answers": _same_together(rows)})
    return found


def _same_together(rows: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """Answers with the same steps are told once, with all that they answer."""
    merged: list[dict[str, Any]] = []
    for row in rows:
        like = [one for one in merged if all(one[key] == row[key] for key in ("steps", "clean", "exposed"))]
        if like:
            like[0]["happened"].append(row["happened"])
        else:
            merged.append({**row, "happened": [row["happened"]]})
    return merged


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]
