"""From an order to its delivery: the one fact that ready, the forecast and its orders read.

The unit keeps it, by item or for all that have none of their own. Where it keeps none the planning figure stands
(vestry.trade.staying, judgement), and whoever reads it is told so.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType

from vestry.trade.staying import load_stay_figures

MOST_LEAD_HOURS = 10_000


@dataclass(frozen=True)
class LeadTime:
    """How long an order takes, in hours. `kept`: the unit keeps it; else it is the planning figure, a judgement."""

    hours: int
    kept: bool


@dataclass(frozen=True)
class LeadTimes:
    """What the unit keeps, in hours.

    by_item   item or supply to its own
    of_all    of all else; None: the unit keeps none
    """

    by_item: Mapping[str, int] = field(default_factory=lambda: MappingProxyType({}))
    of_all: int | None = None

    def of(self, item: str | None) -> LeadTime:
        """The item's own, else that of all, else the planning figure. None: something that is no one item."""
        own = self.by_item.get(item, self.of_all) if item is not None else self.of_all
        if own is not None:
            return LeadTime(own, kept=True)
        return LeadTime(int(load_stay_figures().find("lead-hours").value), kept=False)
