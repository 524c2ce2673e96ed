"""The contract `Forecast`: what a simulation of a stay found. Ids and numbers; no words.

Every share comes with its interval of 95 in 100 from the number of draws alone (Wilson), every quantile with the order
statistics around it. They say how far more draws could move the number, never how right the figures are.
"""

from __future__ import annotations

from typing import Any, Literal

from vestry.readiness.instead import Instead
from vestry.trade.values import Certainty, Id, Value

Sustains = Literal["yes", "no", "not-clear"]


class Share(Value):
    """A share of the draws, with its interval from their number."""

    value: float
    low: float
    high: float


class Quantile(Value):
    """A quantile over the draws with the order statistics around it. `value` is one that was drawn."""

    at: float
    value: float
    low: float
    high: float


class Mean(Value):
    """A mean over the draws, and its standard error."""

    value: float
    error: float


class PoolFound(Value):
    """One item in one size.

    on_shelf    pieces usable at the start; reserve: of them kept back
    coming      pieces ordered
    cover       hours until something is first lacking; the end of the stay where nothing is
    lasts       share of draws in which nothing is lacking to the end of the stay
    lacking_by  pieces that have to come besides so that nothing is lacking, with the chance that is enough: before an
                order of now is there, before one that is placed then is there, to the end of the stay
    first       share of draws in which this is the first to run out, alone or with others
    used        pieces; lacking, expired, left: likewise
    levels      usable pieces at `hours` of the forecast: of each quantile in `fan` of the forecast
    """

    item: Id
    size: str
    on_shelf: int
    reserve: int
    coming: int
    cover: tuple[Quantile, ...]
    lasts: Share
    lacking_by: tuple[int, int, int]
    first: Share
    used: Mean
    lacking: Mean
    expired: Mean
    left: Mean
    levels: tuple[tuple[int, ...], ...]


class OrderNow(Value):
    """What to order now.

    count       pieces; with all orders placed nothing is lacking after the lead time, with the chance that is enough
    before      share of draws in which it runs out before the order could be there
    later       of them, how many need not be there before an order that is placed only when this one comes
    lead_hours  from the order to its delivery; lead_judged: the planning figure, for want of the unit's own
    """

    item: Id
    size: str
    count: int
    later: int
    before: Share
    lead_hours: int
    lead_judged: bool


class ShiftFound(Value):
    """Work of one group in one shift, of one day: hours of people.

    there       people on shift; hours: what they have between them
    need        hours that entries, dressing, undressing and rest take
    enough      share of the shifts drawn in which `need` is no more than `hours`
    """

    shift: Id
    group: Id
    there: int
    hours: float
    need: tuple[Quantile, ...]
    enough: Share


class WasteFound(Value):
    """What one stream takes in the stay: pieces thrown away, kilograms and litres by the weight of a piece."""

    stream: Id
    pieces: Mean
    kilograms: tuple[Quantile, ...]
    litres: tuple[Quantile, ...]


class FigureUsed(Value):
    """A figure that the forecast took because the unit had set none, or that is shown beside its own."""

    id: Id
    value: float
    unit: str
    range: tuple[float, float] | None
    source: Id
    certainty: Certainty


class Forecast(Value):
    """Everything that is told of a stay.

    cover          hours until the first thing is lacking
    sustains       share of draws in which nothing is lacking to the end (or to the transfer)
    enough         whether it reaches the target: with its whole interval, with none of it, with part (not-clear)
    by_day         the share that lasts one day, two, and so on
    uncovered      entries a stay for which nobody of some group was on shift
    entries        entries a day
    doffings       sets taken off a day: of who went in, and of observer and assistant where they dress anew
    lead_hours     from an order to its delivery, of what has no time of its own
    damage         chance that a piece is found damaged, as it was simulated
    hours, fan     points in time and quantiles of `levels`
    defaults       what was taken from the planning figures; beside: published figures to hold the answer against
    """

    format_version: Literal[1] = 1
    title: str
    asked_hours: int
    draws: int
    seed: int
    target: float
    lead_hours: int
    enough: Sustains
    sustains: Share
    cover: tuple[Quantile, ...]
    by_day: tuple[Share, ...]
    people_enough: bool
    uncovered: Mean
    entries: Mean
    doffings: Mean
    damage: float
    hours: tuple[int, ...]
    fan: tuple[float, ...]
    pools: tuple[PoolFound, ...]
    orders: tuple[OrderNow, ...]
    shifts: tuple[ShiftFound, ...]
    waste: tuple[WasteFound, ...]
    instead: tuple[Instead, ...]
    defaults: tuple[FigureUsed, ...]
    beside: tuple[FigureUsed, ...]

    def as_json(self) -> dict[str, Any]:
        """Plain JSON, kebab-case keys."""
        return dict(self.model_dump(mode="json", by_alias=True))
