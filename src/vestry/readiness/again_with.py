"""A forecast with what could be worn instead of what runs out, and each of these played again beside the first."""

from __future__ import annotations

from dataclasses import dataclass

from vestry.readiness.forecast import forecast, wanting
from vestry.readiness.forecast_found import Forecast
from vestry.readiness.instead import Instead, planned_instead
from vestry.readiness.stay import Stay, StockLot
from vestry.readiness.stay_checks import bills, checked
from vestry.sequence import Plan
from vestry.trade import BadFacts, Catalogue


@dataclass(frozen=True, eq=False)
class Again:
    """One substitution. `found`: the forecast of the same stay with it; None: it could not be played, and `why`."""

    instead: Instead
    found: Forecast | None = None
    why: str = ""


@dataclass(frozen=True, eq=False)
class Beside:
    """The forecast of a stay, its substitutions included, and what each of them would make of it."""

    first: Forecast
    again: tuple[Again, ...]


def beside(stay: Stay, catalogue: Catalogue) -> Beside:
    """The forecast, and for each substitution that is clean as taught the same stay on the same chance with it."""
    first = forecast(stay, catalogue, proposals=False)
    worn = bills(stay, catalogue)
    again = []
    for ensemble, item, hand in wanting(stay, first.pools):
        if ensemble.plan is not None and item in worn[ensemble.id].items:
            instead, plan = planned_instead(ensemble.id, ensemble.plan, item, hand, catalogue)
            again.append(_played(stay, ensemble.id, instead, plan, catalogue))
    return Beside(first.model_copy(update={"instead": tuple(one.instead for one in again)}), tuple(again))


def _played(stay: Stay, ensemble: str, instead: Instead, plan: Plan | None, catalogue: Catalogue) -> Again:
    if plan is None or not instead.clean:
        return Again(instead)
    other = with_plan(stay, ensemble, plan, catalogue)
    try:
        return Again(instead, forecast(checked(other, catalogue, "the stay", {}), catalogue, proposals=False))
    except BadFacts as bad:
        return Again(instead, why="; ".join(problem.what for problem in bad.problems))


def with_plan(stay: Stay, ensemble: str, plan: Plan, catalogue: Catalogue) -> Stay:
    """The stay with another plan for one of its ensembles.

    Everybody takes of a new item the size that they take of its kind. What is new and not on the shelf counts as none
    of it. Whether a respirator of the new kind fits them is not looked at.
    """
    ensembles = tuple(
        one.model_copy(update={"plan": plan, "wearer": (), "observer": (), "assistant": ()})
        if one.id == ensemble
        else one
        for one in stay.ensembles
    )
    people = tuple(one.model_copy(update={"sizes": _by_kind(one.sizes, catalogue) | one.sizes}) for one in stay.people)
    other = stay.model_copy(update={"ensembles": ensembles, "people": people})
    there = {one.item for one in stay.stock} | {one.item for one in stay.deliveries}
    missing = [item for bill in bills(other, catalogue).values() for item in bill.items if item not in there]
    rows = tuple(StockLot(item=item, count=0) for item in dict.fromkeys(missing))
    return other.model_copy(update={"stock": (*other.stock, *rows)})


def _by_kind(sizes: dict[str, str], catalogue: Catalogue) -> dict[str, str]:
    """Kind of item to size, where all items of the kind are worn in one."""
    found: dict[str, set[str]] = {}
    for item, size in sizes.items():
        if item in catalogue.items:
            found.setdefault(catalogue.items[item].kind, set()).add(size)
    return {kind: next(iter(all_)) for kind, all_ in found.items() if len(all_) == 1}
