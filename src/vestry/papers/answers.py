"""The approved answers in compact form: at which step, what happened, and the way on by the short names of its steps.

Where the way on comes back to the plan, its number is said instead of the steps from there.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from vestry.papers.labels import Labels
from vestry.sequence import Plan, PlanStep, Recovery
from vestry.sequence.telling import told_event, told_step, told_surface
from vestry.trade import Catalogue
from vestry.trade.words import Words

Led = tuple[Recovery, tuple[PlanStep, ...]]
"""A recovery, and its steps as they are led to the end of the way out."""


def answers_rows(
    plan: Plan, answers: Sequence[Led], words: Words, catalogue: Catalogue, labels: Labels
) -> list[dict[str, Any]]:
    """One row for each step that has answers: its number, its short name, and what to do after what."""
    rows = []
    for number, step in enumerate(plan.steps, 1):
        here = [answer for answer in answers if answer[0].at == step.id]
        if here:
            told = [_told(one, number, plan, words, catalogue, labels) for one in here]
            rows.append({"number": number, "short": told_step(step, words, catalogue), "answers": _together(told)})
    return rows


def _told(
    answer: Led, number: int, plan: Plan, words: Words, catalogue: Catalogue, labels: Labels
) -> tuple[str, str, str]:
    recovery, steps = answer
    events = [one for one in recovery.happened if one != "envelope"]
    happened = " + ".join(told_event(one, words) for one in events) or labels.anything
    reached = ", ".join(told_surface(one, words) for one in recovery.exposed)
    if not recovery.clean:
        return happened, labels.hold_card_short, reached
    own, back = _until_the_plan(steps, plan, number)
    does = [told_step(one, words, catalogue) for one in steps[:own]]
    if back is not None:
        does.append(labels.go_on.format(step=back))
    return happened, " → ".join(does), reached


def _until_the_plan(steps: tuple[PlanStep, ...], plan: Plan, number: int) -> tuple[int, int | None]:
    """How many steps are the answer's own, and the number of the plan's step at which it comes back to the plan."""
    tail = plan.steps[number:]
    same = 0
    while same < min(len(steps), len(tail)) and _content(steps[-1 - same]) == _content(tail[-1 - same]):
        same += 1
    return len(steps) - same, len(plan.steps) - same + 1 if same else None


def _content(step: PlanStep) -> tuple[object, ...]:
    return step.act, step.items, step.technique, step.agent, step.to, step.topic


def _together(told: Sequence[tuple[str, str, str]]) -> list[dict[str, str]]:
    """What has one answer is told once."""
    merged: dict[tuple[str, str], list[str]] = {}
    for happened, does, reached in told:
        merged.setdefault((does, reached), []).append(happened)
    return [
        {"happened": "; ".join(dict.fromkeys(happened)), "does": does, "reached": reached}
        for (does, reached), happened in merged.items()
    ]
