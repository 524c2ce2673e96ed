"""Substitute an item of a plan: a new ensemble that meets the requirements, its order, and what differs.

1. What is lost is not at hand; what is asked for in its place is. All else that the case calls at hand stays so.
2. Where the unit's policy would rather wear something else than what is asked for, that is left aside.
3. Where items are named, the new case calls at hand exactly what the plan uses, observer and assistant included. So a
   substitution and its inverse end at the same plan: the settled one, the same ensembles and steps with its own gear
   named. What the inverse calls lost is lost to observer and assistant too: who wore it before wears something else.
4. The unit's own order of removals is kept where it fits; a kind lost for one kind gained is renamed in it; else the
   order is searched.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from difflib import get_close_matches
from itertools import combinations

from vestry.sequence.assuring import assure
from vestry.sequence.case import Case
from vestry.sequence.comparing import compare
from vestry.sequence.ensemble import ensemble_of
from vestry.sequence.errors import NoPlan
from vestry.sequence.plan import Plan
from vestry.sequence.planner import plan_case
from vestry.sequence.removal import STAYS_ON
from vestry.sequence.subject import subject_of_plan
from vestry.sequence.substitution import Because, OwnOrder, Substitution
from vestry.trade import BadFacts, Catalogue, Problem

MOST_LEFT_ASIDE = 3
SPARED = frozenset({*STAYS_ON, "gloves"})


def substitute(
    plan: Plan,
    without: str,
    catalogue: Catalogue,
    instead: tuple[str, ...] = (),
    because: Because = "shelf",
) -> Substitution:
    """The plan without an item. BadFacts names what is wrong with the question; NoPlan says what stays open and why."""
    _check(plan, without, instead, because, catalogue)
    hand = _at_hand(plan.case, without, instead, catalogue)
    left_aside = _left_aside(plan, hand, instead, catalogue)
    case = plan.case.model_copy(update={"gear": _in_order(hand - set(left_aside), catalogue)})
    made, own_order = _planned(plan, case, catalogue)
    _still_clothed(without, made, catalogue)
    if instead:
        made = settled(made, catalogue)
    before = subject_of_plan(plan, plan.hash, f"plan {plan.hash[:12]}", catalogue)
    after = subject_of_plan(made, made.hash, f"plan {made.hash[:12]}", catalogue)
    return Substitution(
        before=plan.hash,
        without=without,
        instead=instead,
        because=because,
        left_aside=left_aside,
        own_order=own_order,
        plan=made,
        assurance=assure(made, catalogue),
        comparison=compare(before, after),
    )


def _still_clothed(without: str, made: Plan, catalogue: Catalogue) -> None:
    """Nobody goes in without work clothing because the shelf lacks it."""
    clothed = {site for item in made.worn for site in catalogue.items[item].clothes}
    if not clothed >= set(catalogue.items[without].clothes):
        raise NoPlan((), f"{without} is worn to work, and nothing at hand is worn in its place")


def settled(plan: Plan, catalogue: Catalogue) -> Plan:
    """The same plan for a case in which exactly what it uses is called at hand. Settling twice changes nothing.

    What observer and assistant wear is part of it: they dress from the same shelf.
    """
    steps = [*plan.steps, *(step for member in plan.team for step in member.steps)]
    used = {*plan.worn, *(item for step in steps for item in step.items)}
    used |= {item for member in plan.team for item in member.worn}
    case = plan.case.model_copy(update={"gear": _in_order(used, catalogue)})
    return plan.model_copy(update={"case": case})


def _in_order(items: Iterable[str], catalogue: Catalogue) -> tuple[str, ...]:
    wanted = set(items)
    return tuple(item for item in catalogue.items if item in wanted)


# ---- the question ----


def _check(plan: Plan, without: str, instead: tuple[str, ...], because: str, catalogue: Catalogue) -> None:
    found = []
    if without not in plan.worn:
        worn = ", ".join(plan.worn)
        found.append(_problem("without", f"{without} is not worn in this plan; worn are {worn}"))
    elif because == "fit-test" and not catalogue.items[without].fit_tested:
        tested = ", ".join(item.id for item in catalogue.items.values() if item.fit_tested)
        found.append(_problem("because", f"{without} needs no fit test; these do: {tested}"))
    for item in instead:
        if item not in catalogue.items:
            near = get_close_matches(item, catalogue.items, 1)
            hint = f"; did you mean {near[0]}?" if near else "; `vestry catalog` lists them"
            found.append(_problem("with", f"no item is called {item}{hint}"))
        elif item == without:
            found.append(_problem("with", f"{item} cannot stand in for itself"))
        elif item in plan.worn:
            found.append(_problem("with", f"{item} is worn in this plan already"))
    if found:
        raise BadFacts(found)


def _problem(field: str, what: str) -> Problem:
    return Problem("substitute", 0, field, what)


# ---- what is at hand ----


def _at_hand(case: Case, without: str, instead: tuple[str, ...], catalogue: Catalogue) -> set[str]:
    hand = set(case.gear) or set(catalogue.items)
    return (hand | _units(instead, catalogue)) - {without}


def _units(items: Iterable[str], catalogue: Catalogue) -> set[str]:
    """Items, and what they are of no use without: the parts that are tied together."""
    found = set(items)
    while True:
        more = {one.tied_to for one in catalogue.items.values() if one.id in found and one.tied_to}
        more |= {one.id for one in catalogue.items.values() if one.tied_to in found}
        if more <= found:
            return found
        found |= more


def _left_aside(plan: Plan, hand: set[str], instead: tuple[str, ...], catalogue: Catalogue) -> tuple[str, ...]:
    """The fewest items whose absence brings on those asked for; NoPlan when nothing does."""
    if not instead:
        return ()
    for aside in _sets_to_leave(hand - set(instead), instead, catalogue):
        case = plan.case.model_copy(update={"gear": _in_order(hand - set(aside), catalogue)})
        try:
            worn = {one.item for one in ensemble_of(case, plan.policy, catalogue)}
        except NoPlan:
            continue
        if set(instead) <= worn:
            return aside
    # What stands open with those asked for is told; where nothing does, they are not worn in this case.
    ensemble_of(plan.case.model_copy(update={"gear": _in_order(hand, catalogue)}), plan.policy, catalogue)
    raise NoPlan((), f"no ensemble for this case and policy wears {' and '.join(instead)}")


def _sets_to_leave(hand: set[str], instead: tuple[str, ...], catalogue: Catalogue) -> Iterator[tuple[str, ...]]:
    """Small sets of items at hand that lie where those asked for would, smallest first, in catalogue order.

    Work clothing and gloves are never left aside.
    """
    sites = _sites(instead, catalogue)
    able = [
        item
        for item in catalogue.items
        if item in hand and catalogue.items[item].kind not in SPARED and sites & _sites((item,), catalogue)
    ]
    for size in range(MOST_LEFT_ASIDE + 1):
        yield from combinations(able, size)


def _sites(items: Iterable[str], catalogue: Catalogue) -> set[str]:
    return {site for item in items for face in catalogue.items[item].faces for site in face.at}


# ---- the order ----


def _planned(plan: Plan, case: Case, catalogue: Catalogue) -> tuple[Plan, OwnOrder]:
    policy = plan.policy
    if not policy.doffing_order:
        return plan_case(case, policy, catalogue), "none"
    renamed = _renamed(plan, case, catalogue)
    try:
        made = plan_case(case, policy.model_copy(update={"doffing_order": renamed}), catalogue)
    except NoPlan as none:
        if none.reasons:
            raise
        return plan_case(case, policy.model_copy(update={"doffing_order": ()}), catalogue), "dropped"
    return made, "kept" if renamed == policy.doffing_order else "renamed"


def _renamed(plan: Plan, case: Case, catalogue: Catalogue) -> tuple[str, ...]:
    """The unit's order with the one kind that was lost replaced by the one kind that was gained."""
    before = [catalogue.items[item].kind for item in plan.worn]
    after = [catalogue.items[one.item].kind for one in ensemble_of(case, plan.policy, catalogue)]
    lost = [kind for kind in before if kind not in after]
    gained = [kind for kind in after if kind not in before]
    if len(lost) != 1 or len(gained) != 1:
        return plan.policy.doffing_order
    return tuple(gained[0] if kind == lost[0] else kind for kind in plan.policy.doffing_order)
