"""Hygiene agents of a plan that the contact model counts as clearing nothing, and those it would count."""

from __future__ import annotations

from dataclasses import dataclass

from vestry.contact.exposure import clears
from vestry.sequence.plan import Plan
from vestry.sequence.setting import setting_for
from vestry.trade import Catalogue
from vestry.trade.words import Words

ON = {"disinfect-gloves": "gloves", "hand-hygiene": "hands", "wipe": "surfaces"}


@dataclass(frozen=True)
class NotCounted:
    """An agent on gloves, hands or surfaces whose central reduction is too small for this agent of illness.

    others   those of the catalogue that count there
    """

    agent: str
    on: str
    others: tuple[str, ...]


def not_counted(plan: Plan, catalogue: Catalogue) -> tuple[NotCounted, ...]:
    """The agents of the way out that clear nothing here, each once, in the order of their use."""
    setting = setting_for(plan.case, catalogue)
    used = dict.fromkeys(
        (step.agent, ON[step.act]) for step in plan.phase("doffing") if step.act in ON and step.agent is not None
    )
    return tuple(
        NotCounted(
            agent,
            on,
            tuple(
                other
                for other, one in catalogue.agents.items()
                if on in one.on and clears(catalogue, other, on, setting)
            ),
        )
        for agent, on in used
        if not clears(catalogue, agent, on, setting)
    )


def told_not_counted(one: NotCounted, plan: Plan, words: Words, catalogue: Catalogue) -> str:
    """The same as a sentence."""
    hazard = catalogue.hazards[plan.case.hazard]
    others = ", ".join(words.agent(other) for other in one.others)
    return words.finding(
        "agent.not-counted",
        item=words.agent(one.agent)[:1].upper() + words.agent(one.agent)[1:],
        surface=words.term("agent-on", one.on),
        says=words.hazard(hazard.id),
        other=words.finding("agent.others", items=others) if others else words.finding("agent.no-others"),
    )
