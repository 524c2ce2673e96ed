"""What a reader hands in, checked against the catalogue: every unknown id at once, with what would be right.

A plan that comes out of the planner needs no check; one that comes out of a file does.
"""

from __future__ import annotations

from collections.abc import Iterable
from difflib import get_close_matches

from vestry.contact.compiler import compile_order
from vestry.sequence.assuring import program_of
from vestry.sequence.case import Case
from vestry.sequence.plan import Plan
from vestry.sequence.policy import Policy
from vestry.sequence.states import technique_of
from vestry.sequence.team import order_of_member
from vestry.trade import BadFacts, Catalogue, Problem
from vestry.trade.crosscheck import NO_SOURCE_NEEDED


def check_case_and_policy(case: Case, policy: Policy, catalogue: Catalogue) -> None:
    """BadFacts naming each field that names something unknown or impossible."""
    found = [*case_and_policy_problems(case, policy, catalogue)]
    if found:
        raise BadFacts(found)


def check_plan(plan: Plan, catalogue: Catalogue) -> None:
    """BadFacts naming each field of a plan that names something unknown, or a step that cannot be done."""
    found = [
        *case_and_policy_problems(plan.case, plan.policy, catalogue),
        *_unknown("ensemble", plan.worn, catalogue.items, "item"),
        *_twice("ensemble", plan.worn),
        *_twice("steps", [step.id for step in plan.steps]),
    ]
    for one in plan.ensemble:
        sources = [reason.source for reason in one.reasons if reason.source not in NO_SOURCE_NEEDED]
        found += _unknown("ensemble", sources, catalogue.sources, "source")
    for number, step in enumerate(plan.steps):
        found += _unknown(f"steps.{number}.items", step.items, catalogue.items, "item")
        if step.waste is not None:
            found += _unknown(f"steps.{number}.waste", [step.waste], catalogue.waste_streams, "waste stream")
        if step.agent is not None:
            found += _unknown(f"steps.{number}.agent", [step.agent], catalogue.agents, "hygiene agent")
        if step.act in ("don", "doff", "wipe", "release") and not step.items:
            found.append(Problem("plan", 0, f"steps.{number}.items", f"{step.act} needs an item"))
    if not plan.phase("doffing"):
        found.append(Problem("plan", 0, "steps", "a plan needs steps of the way out"))
    found += _team_unknown(plan, catalogue)
    if not found:
        found += _steps_undone(plan, catalogue)
        found += _members_undone(plan, catalogue)
    if found:
        raise BadFacts(found)


def _steps_undone(plan: Plan, catalogue: Catalogue) -> Iterable[Problem]:
    """Steps whose technique is not there, and a way out that is not the one that its step ids name."""
    for number, step in enumerate(plan.steps):
        if step.technique is not None and technique_of(step, catalogue) is None:
            yield Problem("plan", 0, f"steps.{number}.technique", f"no technique {step.technique} for this act")
    ids = program_of(plan, catalogue).steps
    numbers = [number for number, step in enumerate(plan.steps) if step.phase == "doffing"]
    if len(ids) != len(numbers):
        yield Problem("plan", 0, "steps", "change-gloves is three steps in a plan")
    for number, right in zip(numbers, ids, strict=False):
        if plan.steps[number].id != right:
            yield Problem("plan", 0, f"steps.{number}.id", f"{plan.steps[number].id} stands where {right} would be")


def _team_unknown(plan: Plan, catalogue: Catalogue) -> Iterable[Problem]:
    for member in plan.team:
        items = [*member.worn, *(item for step in member.steps for item in step.items)]
        at = f"team.{member.role}"
        yield from _unknown(f"{at}.record", [member.record], catalogue.colleagues, "record of what one wears")
        yield from _unknown(at, dict.fromkeys(items), catalogue.items, "item")
    yield from _unknown("turnaround", plan.turnaround, catalogue.turnarounds, "thing done between two exits")
    yield from _twice("team", [member.role for member in plan.team])


def _members_undone(plan: Plan, catalogue: Catalogue) -> Iterable[Problem]:
    """Ways out of observer or assistant that cannot be done, or are not those that their step ids name."""
    for member in plan.team:
        own = [step.id for step in member.steps if step.phase == "doffing"]
        if not own:
            yield Problem("plan", 0, f"team.{member.role}.steps", "a member needs steps of the way out")
            continue
        program = compile_order(
            order_of_member(member, plan.case, catalogue), catalogue, file=f"plan, team.{member.role}"
        )
        if own != [f"{member.role}.{step}" for step in program.steps]:
            yield Problem("plan", 0, f"team.{member.role}.steps", "the way out is not the one that its step ids name")


def case_and_policy_problems(case: Case, policy: Policy, catalogue: Catalogue) -> Iterable[Problem]:
    """Each field of a case and a policy that names something unknown or impossible."""
    kinds = {item.kind for item in catalogue.items.values()}
    return [
        *_unknown("case.hazard", [case.hazard], catalogue.hazards, "hazard"),
        *_unknown("case.gear", case.gear, catalogue.items, "item"),
        *_unknown("policy.switched-off", policy.switched_off, catalogue.rules, "rule"),
        *_unknown("policy.switched-on", policy.switched_on, catalogue.rules, "rule"),
        *_both_ways(policy),
        *_unknown("policy.add-inside", policy.add_inside, kinds, "kind of item"),
        *_unknown("policy.doffing-order", policy.doffing_order, kinds, "kind of item"),
        *_twice("policy.doffing-order", [kind for kind in policy.doffing_order if kind != "gloves"]),
        *_agent("policy.glove-agent", policy.glove_agent, "gloves", catalogue),
        *_agent("policy.hand-agent", policy.hand_agent, "hands", catalogue),
        *_agent("policy.surface-agent", policy.surface_agent, "surfaces", catalogue),
        *_twice("case.gear", case.gear),
        *_jurisdiction(policy, catalogue),
    ]


def _jurisdiction(policy: Policy, catalogue: Catalogue) -> Iterable[Problem]:
    """A country, or `unstated`; the list for transport binds no hospital."""
    known = [one.id for one in catalogue.jurisdictions.values() if one.of != "transport"]
    return _unknown("policy.jurisdiction", [policy.jurisdiction], known, "jurisdiction of a hospital")


def _twice(field: str, words: Iterable[str]) -> Iterable[Problem]:
    seen: set[str] = set()
    for word in words:
        if word in seen:
            yield Problem("case", 0, field, f"{word} stands twice")
        seen.add(word)


def _unknown(field: str, words: Iterable[str], known: Iterable[str], sort: str) -> Iterable[Problem]:
    names = list(known)
    for word in words:
        if word not in names:
            near = get_close_matches(word, names, 1)
            hint = f"; did you mean {near[0]}?" if near else ""
            yield Problem("case", 0, field, f"no {sort} is called {word}{hint}")


def _both_ways(policy: Policy) -> Iterable[Problem]:
    for rule in policy.switched_on:
        if rule in policy.switched_off:
            yield Problem("case", 0, "policy.switched-on", f"{rule} is switched off as well; one of the two")


def _agent(field: str, word: str, on: str, catalogue: Catalogue) -> Iterable[Problem]:
    problems = list(_unknown(field, [word], catalogue.agents, "hygiene agent"))
    if not problems and on not in catalogue.agents[word].on:
        problems.append(Problem("case", 0, field, f"{word} is not for {on}"))
    return problems
