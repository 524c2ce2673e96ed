"""The people beside the wearer: what they wear, how they dress, and how they undress once everyone is out."""

from __future__ import annotations

from collections.abc import Collection, Iterator

from vestry.contact.exposure import loads_by_zone
from vestry.contact.taught import step_id, taught_step, worn_after
from vestry.sequence.case import Case
from vestry.sequence.ensemble import donning_order
from vestry.sequence.errors import NoPlan
from vestry.sequence.plan import EnsembleItem, Member, PlanStep, Reason, numbered
from vestry.sequence.policy import Policy
from vestry.sequence.removal import Hands, Hygiene, Placed, top_gloves
from vestry.sequence.rules import rules_in_force
from vestry.sequence.search import Search, Start
from vestry.sequence.setting import setting_for
from vestry.sequence.waste import stream_for
from vestry.trade import Catalogue, Lane, Order, OrderCase, Step
from vestry.trade.values import Colleague, LoadClass, Role, Who, Zone

ZONE: Zone = "doffing-area"


def team_of(case: Case, policy: Policy, catalogue: Catalogue, left: Collection[str]) -> tuple[Member, ...]:
    """Those who are there by policy, in the order in which they undress.

    left   things of the place that the wearers leave contaminated. NoPlan when no order of removals is possible.
    """
    there: dict[Role, bool] = {"assistant": policy.assistant, "observer": policy.observer}
    records = [record_for(role, case, catalogue) for role, present in there.items() if present]
    records.sort(key=lambda record: record.undresses)
    return tuple(_member(record, case, policy, catalogue, left) for record in records)


def record_for(role: Role, case: Case, catalogue: Catalogue) -> Colleague:
    """The record that says what this role wears: the one for the hazard's family, else the general one."""
    family = catalogue.hazards[case.hazard].family
    records = [one for one in catalogue.colleagues.values() if one.role == role]
    fitting = [one for one in records if family in one.for_families] or [one for one in records if not one.for_families]
    if not fitting:
        raise NoPlan((), f"no record says what the {role} wears")
    return fitting[0]


def order_of_member(member: Member, case: Case, catalogue: Catalogue, left: Collection[str] = ()) -> Order:
    """The member's own way out as an order, with what their work and the lane are taken to have put on it."""
    return Order(
        format_version=1,
        title=f"{member.role}'s own way out",
        case=OrderCase(hazard=case.hazard, presentation=case.presentation),
        worn=member.worn,
        zone=ZONE,
        loads=assumed_loads(member, catalogue),
        lane=Lane(contaminated=tuple(sorted(left))),
        steps=tuple(
            Step(
                act=step.act,
                items=step.items if step.act in ("doff", "don", "wipe", "release") else (),
                technique=step.technique,
                agent=step.agent,
                to=step.to,
            )
            for step in member.steps
            if step.phase == "doffing"
        ),
    )


def assumed_loads(member: Member, catalogue: Catalogue) -> dict[str, LoadClass]:
    """Surface to load class: what the work beside the wearer is taken to put on what the member wears."""
    record = catalogue.colleagues[member.record]
    loads = loads_by_zone(catalogue, member.worn, lambda zone: record.loads.get(zone, "none"))
    return {name: "high" if load == "high" else "low" for name, load in loads.items()}


def beyond_assumed(member: Member, catalogue: Catalogue, reached: Collection[str]) -> tuple[str, ...]:
    """Faces of this helper that the wearers' way out reaches, and that the assumed loads do not stand for."""
    record = catalogue.colleagues[member.record]
    found = []
    for name in sorted(reached):
        owner, _, face = name.partition(".")
        if owner != member.role or face not in record.seen_as:
            continue
        if not all(record.loads.get(zone, "none") != "none" for zone in record.seen_as[face]):
            found.append(name)
    return tuple(found)


def _member(record: Colleague, case: Case, policy: Policy, catalogue: Catalogue, left: Collection[str]) -> Member:
    chosen, missing = _gear(record, case, catalogue)
    worn = donning_order(tuple(chosen), catalogue)
    reason = Reason(why=f"{record.role}-wears", source=record.source)
    member = Member(
        role=record.role,
        record=record.id,
        ensemble=tuple(EnsembleItem(item=item, reasons=(reason,)) for item in worn),
        missing=missing,
        steps=(),
    )
    placed = _undressing(member, case, policy, catalogue, left)
    steps = (*_dressing(member, policy, catalogue), *_written(member, placed, case, policy, catalogue))
    return member.model_copy(update={"steps": numbered(steps)})


def _gear(record: Colleague, case: Case, catalogue: Catalogue) -> tuple[list[str], tuple[tuple[str, ...], ...]]:
    """An item for each place, and the places that nothing at hand fills."""
    hazard = catalogue.hazards[case.hazard]
    airborne = "airborne" in (hazard.routes.value or hazard.routes.default or ())
    hand = set(case.gear) or set(catalogue.items)
    chosen: list[str] = []
    missing = []
    for place in (*(record.wears_airborne if airborne else ()), *record.wears):
        if any(item in chosen for item in place):
            continue
        item = next((item for item in place if item in hand), None)
        if item is None:
            missing.append(place)
        else:
            chosen.append(item)
    return chosen, tuple(missing)


def _undressing(
    member: Member, case: Case, policy: Policy, catalogue: Catalogue, left: Collection[str]
) -> tuple[Placed, ...]:
    """The best order of removals, alone: nobody is left who could help."""
    alone = policy.model_copy(
        update={"assistant": False, "hands_on": "nobody", "doffing_order": (), "doffing_zone": ZONE}
    )
    search = Search(
        Hygiene(case, alone, catalogue),
        catalogue,
        setting_for(case, catalogue),
        rules_in_force(case, alone, catalogue),
        ZONE,
    )
    contaminated = frozenset({*assumed_loads(member, catalogue), *left})
    return search.run(Start(member.worn, Hands(top_gloves(member.worn, catalogue), False), contaminated)).placed


def _dressing(member: Member, policy: Policy, catalogue: Catalogue) -> Iterator[PlanStep]:
    cleaned = False
    for item in member.worn:
        kind = catalogue.items[item].kind
        if kind == "gloves" and not cleaned:
            cleaned = True
            yield PlanStep(
                id=f"{member.role}.donning.hand-hygiene",
                phase="donning",
                act="hand-hygiene",
                technique="rub-bare-hands",
                agent=policy.hand_agent,
                who=member.role,
            )
        yield PlanStep(
            id=f"{member.role}.donning.don:{item}", phase="donning", act="don", items=(item,), who=member.role
        )
        if kind == "respirator":
            yield _confirm(member, "seal-check", member.role)
    yield _confirm(member, "integrity-check", _second_person(member, policy))


def _second_person(member: Member, policy: Policy) -> Who:
    """Who looks the member over: the other of the two, or the wearer where that one is away."""
    other: Role = "observer" if member.role == "assistant" else "assistant"
    return other if {"observer": policy.observer, "assistant": policy.assistant}[other] else "wearer"


def _confirm(member: Member, topic: str, who: Who) -> PlanStep:
    return PlanStep(id=f"{member.role}.donning.confirm:{topic}", phase="donning", act="confirm", topic=topic, who=who)


def _written(
    member: Member, placed: tuple[Placed, ...], case: Case, policy: Policy, catalogue: Catalogue
) -> Iterator[PlanStep]:
    """The way out as steps of a plan."""
    worn = member.worn
    for one in placed:
        taught = taught_step(one.step, worn, catalogue)
        worn = worn_after(taught, worn, catalogue)
        content = step_id(taught.act, taught.items or ((taught.to,) if taught.to else ()), taught.technique.id)
        watched = member.role == "assistant" and one.step.act == "inspect"
        yield PlanStep(
            id=f"{member.role}.{content}",
            phase="doffing",
            act=one.step.act,
            items=taught.items,
            technique=taught.technique.id,
            who="observer" if watched else member.role,
            agent=taught.agent,
            to=one.step.to,
            topic=one.topic,
            group=one.group,
            waste=stream_for(taught.items, case, policy, catalogue) if one.step.act == "doff" else None,
        )
