"""The sequence that an arm stands for: a shipped order or its own steps, with the set-up's agent, case and loads."""

from __future__ import annotations

from fnmatch import fnmatchcase

from vestry.experiment.setup import Setup
from vestry.trade import Catalogue, Order, OrderCase, Step, read_order
from vestry.trade.order import Lane
from vestry.trade.orders import packaged_orders

NEEDS = {"disinfect-gloves": "gloves", "hand-hygiene": "hands", "wipe": "surfaces"}
ARRIVED = (Step(act="inspect"),)


def order_of(arm: Setup, catalogue: Catalogue, title: str, *, only_arrival: bool = False) -> Order:
    """The order of an arm that has steps or a protocol.

    only_arrival    a single look in place of the steps: what is where before anything is done
    """
    if arm.protocol is not None:
        base = read_order(packaged_orders()[arm.protocol], arm.protocol + ".toml")
    else:
        base = Order(format_version=1, title=title, worn=arm.worn or (), steps=arm.steps or ARRIVED)
    worn = arm.worn if arm.worn is not None else base.worn
    case = OrderCase(
        hazard=base.case.hazard,
        presentation=arm.presentation or base.case.presentation,
        air_contaminated=False if arm.air_contaminated is None else arm.air_contaminated,
        virus_class=arm.virus_class or base.case.virus_class,
    )
    return base.model_copy(
        update={
            "title": title,
            "case": case,
            "worn": worn,
            "roles": arm.roles if arm.roles is not None else base.roles,
            "zone": arm.zone or base.zone,
            "lane": arm.lane or Lane(),
            "published": None,
            "loads": None if arm.loads is None else dict.fromkeys(loaded(arm, worn, catalogue), "high"),
            "steps": ARRIVED if only_arrival else tuple(_with_agent(step, arm, catalogue) for step in base.steps),
        }
    )


def loaded(arm: Setup, worn: tuple[str, ...], catalogue: Catalogue) -> dict[str, object]:
    """Surface to what the set-up puts on it; patterns opened over what is worn, body, place and helpers."""
    faces = [f"{item}.{face.id}" for item in worn for face in catalogue.items[item].faces]
    other = [f"body.{site}" for site in catalogue.body] + [f"place.{place}" for place in catalogue.places]
    other += [f"{helper.id}.{face}" for helper in catalogue.helpers.values() for face in helper.faces]
    found: dict[str, object] = {}
    for pattern, amount in (arm.loads or {}).items():
        names = [name for name in (*faces, *other) if fnmatchcase(name, pattern)] or [pattern]
        found.update({name: amount for name in names if name not in found or name == pattern})
    return found


def _with_agent(step: Step, arm: Setup, catalogue: Catalogue) -> Step:
    """A hygiene step that names no agent takes the arm's, where that agent is used on what the step cleans."""
    on = NEEDS.get(step.act)
    if arm.agent is None or step.agent is not None or on not in catalogue.agents[arm.agent].on:
        return step
    return step.model_copy(update={"agent": arm.agent})
