"""A case and a policy checked against the catalogue: every unknown id at once, with what would be right."""

from __future__ import annotations

from collections.abc import Iterable
from difflib import get_close_matches

from vestry.sequence.case import Case
from vestry.sequence.policy import Policy
from vestry.trade import BadFacts, Catalogue, Problem


def check_case_and_policy(case: Case, policy: Policy, catalogue: Catalogue) -> None:
    """BadFacts naming each field that names something unknown or impossible."""
    found = [
        *_unknown("case.hazard", [case.hazard], catalogue.hazards, "hazard"),
        *_unknown("case.gear", case.gear, catalogue.items, "item"),
        *_unknown("policy.switched-off", policy.switched_off, catalogue.rules, "rule"),
        *_unknown(
            "policy.doffing-order",
            policy.doffing_order,
            {item.kind for item in catalogue.items.values()},
            "kind of item",
        ),
        *_agent("policy.glove-agent", policy.glove_agent, "gloves", catalogue),
        *_agent("policy.hand-agent", policy.hand_agent, "hands", catalogue),
        *_agent("policy.surface-agent", policy.surface_agent, "surfaces", catalogue),
    ]
    if len(set(case.gear)) != len(case.gear):
        found.append(Problem("case", 0, "case.gear", "an item stands twice"))
    if found:
        raise BadFacts(found)


def _unknown(field: str, words: Iterable[str], known: Iterable[str], sort: str) -> Iterable[Problem]:
    names = list(known)
    for word in words:
        if word not in names:
            near = get_close_matches(word, names, 1)
            hint = f"; did you mean {near[0]}?" if near else ""
            yield Problem("case", 0, field, f"no {sort} is called {word}{hint}")


def _agent(field: str, word: str, on: str, catalogue: Catalogue) -> Iterable[Problem]:
    problems = list(_unknown(field, [word], catalogue.agents, "hygiene agent"))
    if not problems and on not in catalogue.agents[word].on:
        problems.append(Problem("case", 0, field, f"{word} is not for {on}"))
    return problems
