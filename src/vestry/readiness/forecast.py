"""The forecast: how long a stay can be sustained, what runs out first, what to order now."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, fields
from math import ceil

import numpy as np

from vestry.readiness.forecast_draws import Asked, ask
from vestry.readiness.forecast_found import (
    FigureUsed,
    Forecast,
    OrderNow,
    PoolFound,
    Share,
    ShiftFound,
    Sustains,
    WasteFound,
)
from vestry.readiness.forecast_ledger import Kept, keep, points_of
from vestry.readiness.forecast_model import I64, NEVER, Model, model_of
from vestry.readiness.instead import Instead, instead_of
from vestry.readiness.monte_carlo import AT, mean_of, quantiles_of, share_of
from vestry.readiness.shift_hours import shift_hours
from vestry.readiness.stay import Ensemble, Stay
from vestry.trade import Catalogue
from vestry.trade.staying import FigureId, StayFigures, load_stay_figures

BLOCK_CELLS = 6_000_000
MOST_INSTEAD = 4
Progress = Callable[[int, int], None]


@dataclass(frozen=True, eq=False)
class Drawn:
    """All draws of a stay together. As Kept, with what was asked: entries (g, h, d), uncovered (d), damaged (d, p)."""

    kept: Kept
    entries: np.ndarray
    uncovered: I64
    damaged: I64
    ends: I64


def forecast(
    stay: Stay,
    catalogue: Catalogue,
    figures: StayFigures | None = None,
    progress: Progress | None = None,
    proposals: bool = True,
) -> Forecast:
    """The forecast of a stay that has been checked (`checked`). The same seed gives the same numbers everywhere.

    proposals    without them nothing is worked out to be worn instead of what runs out, which takes the most time
    """
    figures = figures or load_stay_figures()
    model = model_of(stay, catalogue, figures)
    drawn = simulate(model, np.arange(stay.draws), progress)
    return _Told(stay, model, drawn, catalogue, figures).forecast(proposals)


def simulate(model: Model, draws: I64, progress: Progress | None = None) -> Drawn:
    """These draws, in blocks whose size changes nothing."""
    size = max(20, BLOCK_CELLS // max(1, model.hours * len(model.pools)))
    blocks = []
    for first in range(0, len(draws), size):
        some = draws[first : first + size]
        asked = ask(model, some)
        blocks.append((asked, keep(model, asked, some)))
        if progress:
            progress(min(len(draws), first + size), len(draws))
    return _joined(model, blocks)


def _joined(model: Model, blocks: list[tuple[Asked, Kept]]) -> Drawn:
    kept = {
        field.name: np.concatenate([getattr(one, field.name) for _, one in blocks], axis=int(field.name == "levels"))
        for field in fields(Kept)
        if field.name != "points"
    }
    return Drawn(
        kept=Kept(**kept, points=points_of(model.hours)),
        entries=np.concatenate([asked.entries for asked, _ in blocks], axis=2),
        uncovered=np.concatenate([asked.uncovered.sum(axis=0) for asked, _ in blocks]),
        damaged=np.concatenate([asked.damaged for asked, _ in blocks]),
        ends=np.concatenate([asked.ends for asked, _ in blocks]),
    )


class _Told:
    """From draws to what is told."""

    def __init__(self, stay: Stay, model: Model, drawn: Drawn, catalogue: Catalogue, figures: StayFigures) -> None:
        self.stay, self.model, self.drawn = stay, model, drawn
        self.catalogue, self.figures = catalogue, figures
        self.kept = drawn.kept
        self.short = self.kept.short_at  # (d, p)
        self.any_short = self.short.min(axis=1, initial=model.hours)

    def forecast(self, proposals: bool) -> Forecast:
        stay, model = self.stay, self.model
        sustains = self._share(self.any_short >= model.hours)
        shifts = tuple(self._shifts())
        people = bool(self.drawn.uncovered.sum() == 0) and all(one.enough.value >= stay.target for one in shifts)
        pools = tuple(self._pools())
        entering = [n for n, one in enumerate(model.dressings) if one.enters]
        return Forecast(
            title=stay.title,
            asked_hours=stay.hours,
            draws=stay.draws,
            seed=stay.seed,
            target=stay.target,
            lead_hours=model.lead_hours,
            enough=_enough(sustains, stay.target),
            sustains=sustains,
            cover=quantiles_of(self.any_short),
            by_day=tuple(
                self._share(self.any_short >= min(24 * day, model.hours))
                for day in range(1, ceil(model.hours / 24) + 1)
            ),
            people_enough=people,
            uncovered=mean_of(self.drawn.uncovered),
            entries=mean_of(self.drawn.entries[entering].sum(axis=(0, 1)), 24 / model.hours),
            doffings=mean_of(self._doffings(), 24 / model.hours),
            damage=model.damage,
            hours=self.kept.points,
            fan=AT,
            pools=pools,
            orders=tuple(self._orders()),
            shifts=shifts,
            waste=tuple(self._waste()),
            instead=tuple(self._instead(pools)) if proposals else (),
            defaults=tuple(self._figure(name) for name in model.taken_from_figures),
            beside=tuple(
                self._figure(name) for name in ("waste-cubic-metres", "waste-kilograms", "waste-litres-liquid")
            ),
        )

    def _doffings(self) -> np.ndarray:
        """(d) sets taken off in the stay: one of each party that dresses."""
        parties = np.array([len(one.parties) for one in self.model.dressings], dtype=np.int64)
        return np.asarray(parties @ self.drawn.entries.sum(axis=1))

    def _share(self, hits: np.ndarray) -> Share:
        return share_of(int(hits.sum()), len(hits))

    def _figure(self, name: str | FigureId) -> FigureUsed:
        one = next(figure for figure in self.figures.figure if figure.id == name)
        return FigureUsed(
            id=one.id, value=one.value, unit=one.unit, range=one.range, source=one.source, certainty=one.certainty
        )

    # ---- the shelf ----

    def _pools(self) -> list[PoolFound]:
        """First to run out first; what is never asked for is left out."""
        first_of_all = (self.short == self.any_short[:, None]) & (self.any_short < self.model.hours)[:, None]
        found = []
        for pool, (item, size) in enumerate(self.model.pools):
            if not self.kept.used[:, pool].any() and not self.kept.lacking[:, pool].any():
                continue
            short = self.short[:, pool]
            levels = np.quantile(self.kept.levels[:, :, pool], AT, axis=1, method="inverted_cdf")
            found.append(
                PoolFound(
                    item=item,
                    size=size,
                    on_shelf=self._on_shelf(pool),
                    reserve=int(self.model.reserve[pool]),
                    coming=sum(one.count for one in self.model.batches if one.pool == pool and one.arrives),
                    cover=quantiles_of(short),
                    lasts=self._share(short >= self.model.hours),
                    lacking_by=self._lacking_by(pool),
                    first=self._share(first_of_all[:, pool]),
                    used=mean_of(self.kept.used[:, pool]),
                    lacking=mean_of(self.kept.lacking[:, pool]),
                    expired=mean_of(self.kept.expired[:, pool]),
                    left=mean_of(self.kept.left[:, pool]),
                    levels=tuple(tuple(int(level) for level in row) for row in levels),
                )
            )
        return sorted(found, key=_soonest)

    def _on_shelf(self, pool: int) -> int:
        return sum(one.count for one in self.model.batches if one.pool == pool and not one.arrives and one.expires > 0)

    def _lacking_by(self, pool: int) -> tuple[int, int, int]:
        """Each such as the orders are: every pool may fail in an equal part of what the target allows."""
        kept = (self.kept.by_lead, self.kept.by_next, self.kept.lacking)
        pools = int(self.kept.lacking.any(axis=0).sum())
        before, until_next, in_all = (self._enough_of(one[:, pool], pools) for one in kept)
        return before, until_next, in_all

    def _enough_of(self, wanted: np.ndarray, pools: int) -> int:
        """So many that no more is wanted but in this pool's part of what the target allows, of so many pools."""
        allowed = int(len(wanted) * (1 - self.stay.target) / max(1, pools) + 1e-9)
        return int(np.sort(wanted)[len(wanted) - 1 - allowed])

    def _orders(self) -> list[OrderNow]:
        """For each pool that may lack something after the lead time: enough for all together to hold at the target.

        An order that does not expire in the stay covers exactly what would be lacking from its arrival on. Each pool
        may fail in an equal part of what the target allows, so that all together fail in no more than that.
        """
        late = self.kept.wanted
        wanting = np.flatnonzero(late.any(axis=0))
        found = []
        for pool in wanting:
            count = self._enough_of(late[:, pool], len(wanting))
            if count:
                item, size = self.model.pools[pool]
                lead = int(self.model.lead[pool])
                before = self._share(self.short[:, pool] < min(lead, self.model.hours))
                _, until_next, in_all = self._lacking_by(int(pool))
                found.append(
                    OrderNow(
                        item=item,
                        size=size,
                        count=count,
                        later=min(count, in_all - until_next) if lead else 0,
                        before=before,
                        lead_hours=lead,
                        lead_judged=int(pool) in self.model.lead_judged,
                    )
                )
        return sorted(found, key=lambda one: (-one.before.value, one.item, one.size))

    # ---- people, waste, what instead ----

    def _shifts(self) -> list[ShiftFound]:
        return shift_hours(self.stay, self.model, self.drawn.entries, self.figures)

    def _waste(self) -> list[WasteFound]:
        streams: dict[str, list[int]] = {}
        of_item = {item: stream for bill in self.model.bills.values() for item, stream in bill.streams.items()}
        for pool, (item, _) in enumerate(self.model.pools):
            if item in of_item and not self.model.again[pool]:
                streams.setdefault(of_item[item], []).append(pool)
        found = []
        for stream, pools in streams.items():
            used = self.kept.used[:, pools]
            pieces = [self.figures.piece.get(self.catalogue.items[self.model.pools[pool][0]].kind) for pool in pools]
            grams = used @ np.array([piece.grams if piece else 0.0 for piece in pieces])
            litres = used @ np.array([piece.litres if piece else 0.0 for piece in pieces])
            found.append(
                WasteFound(
                    stream=stream,
                    pieces=mean_of(used.sum(axis=1)),
                    kilograms=quantiles_of(grams, scale=0.001),
                    litres=quantiles_of(litres),
                )
            )
        return found

    def _instead(self, pools: tuple[PoolFound, ...]) -> list[Instead]:
        """For the items that run out first in too many draws: what each plan would be without them."""
        return [
            instead_of(ensemble.id, ensemble.plan, item, hand, self.catalogue)
            for ensemble, item, hand in wanting(self.stay, pools)
            if ensemble.plan is not None and item in self.model.bills[ensemble.id].items
        ]


def wanting(stay: Stay, pools: Sequence[PoolFound]) -> Iterator[tuple[Ensemble, str, set[str]]]:
    """Ensembles with a plan, an item that runs out in too many draws, and what else is at hand."""
    short = dict.fromkeys(one.item for one in pools if one.lasts.value < stay.target)
    there = {one.item for one in stay.stock if one.count} | {one.item for one in stay.deliveries if one.count}
    hand = there - set(short)
    hand |= {item for item, drawn in stay.drawn_from.items() if drawn in hand} | set(stay.not_counted)
    for item in [*short][:MOST_INSTEAD]:
        for ensemble in stay.ensembles:
            if ensemble.plan is not None:
                yield ensemble, item, hand


def _soonest(one: PoolFound) -> tuple[float, float, float, str, str]:
    return one.cover[2].value, one.cover[0].value, one.lasts.value, one.item, one.size


def _enough(share: Share, target: float) -> Sustains:
    if share.low >= target:
        return "yes"
    return "no" if share.high < target else "not-clear"


__all__ = ["NEVER", "Drawn", "forecast", "simulate"]
