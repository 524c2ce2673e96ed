"""What one entry puts on and throws away, item by item: from a plan's steps, or as the unit lists it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from vestry.readiness.stay import Ensemble
from vestry.sequence import Plan, PlanStep
from vestry.stock.using import put_on
from vestry.trade import Catalogue

OUTER = ("outer", "single")


@dataclass(frozen=True)
class Bill:
    """One ensemble.

    wearer, observer, assistant   pieces that each puts on for one entry, item to count (gloves: pairs)
    changed                       the gloves that a wearer changes inside: the outermost pair
    streams                       item to waste stream
    limit                         minutes inside that the plan allows, None without a plan
    """

    wearer: Mapping[str, int]
    observer: Mapping[str, int]
    assistant: Mapping[str, int]
    changed: tuple[str, ...]
    streams: Mapping[str, str]
    limit: float | None

    @property
    def items(self) -> tuple[str, ...]:
        """Every item that anyone puts on, each once."""
        return tuple(dict.fromkeys([*self.wearer, *self.observer, *self.assistant]))


def bill_of(
    ensemble: Ensemble, not_counted: Iterable[str], drawn_from: Mapping[str, str], catalogue: Catalogue
) -> Bill:
    """The bill of an ensemble, without what is not counted. With a plan, its steps are counted and the lists are not.

    drawn_from    item to the item on the shelf that serves as it
    """
    plan, free = ensemble.plan, frozenset(not_counted)
    if plan is None:
        lists = {"wearer": ensemble.wearer, "observer": ensemble.observer, "assistant": ensemble.assistant}
        worn = {role: Counter(items) for role, items in lists.items()}
        streams = dict.fromkeys((item for items in lists.values() for item in items), ensemble.stream)
    else:
        worn = {"wearer": _all_put_on(plan.steps)} | {member.role: _all_put_on(member.steps) for member in plan.team}
        streams = _streams(plan, ensemble.stream)
    kept = {role: _counted(count, free, drawn_from) for role, count in worn.items()}
    return Bill(
        wearer=kept["wearer"],
        observer=kept.get("observer", {}),
        assistant=kept.get("assistant", {}),
        changed=tuple(drawn_from.get(item, item) for item in _outermost(worn["wearer"], catalogue) if item not in free),
        streams={
            drawn_from.get(item, item): "reusable-parts" if catalogue.items[item].reusable else stream
            for item, stream in streams.items()
        },
        limit=float(plan.policy.limit_minutes) if plan else None,
    )


def _counted(count: Mapping[str, int], free: frozenset[str], drawn_from: Mapping[str, str]) -> dict[str, int]:
    found: Counter[str] = Counter()
    for item, number in count.items():
        if item not in free:
            found[drawn_from.get(item, item)] += number
    return dict(found)


def _all_put_on(steps: Iterable[PlanStep]) -> Counter[str]:
    return Counter(item for step in steps for item in put_on(step))


def _streams(plan: Plan, otherwise: str) -> dict[str, str]:
    steps = [*plan.steps, *(step for member in plan.team for step in member.steps)]
    found = {item: step.waste for step in steps if step.waste for item in step.items}
    return {item: found.get(item, otherwise) for step in steps for item in step.items}


def _outermost(wearer: Mapping[str, int], catalogue: Catalogue) -> tuple[str, ...]:
    return tuple(item for item in wearer if catalogue.items[item].layer in OUTER)
