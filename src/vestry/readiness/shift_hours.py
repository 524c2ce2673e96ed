"""Hours of people that entries take, shift by shift, against the hours that those on shift have."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import numpy.typing as npt

from vestry.readiness.forecast_found import ShiftFound
from vestry.readiness.forecast_model import Model
from vestry.readiness.monte_carlo import quantiles_of, share_of
from vestry.readiness.stay import Shift, Stay
from vestry.trade.staying import FigureId, StayFigures

Entries = npt.NDArray[np.int32]


def shift_hours(stay: Stay, model: Model, entries: Entries, figures: StayFigures) -> list[ShiftFound]:
    """Each group in each shift, where it has work. entries: (g, h, d) dressings that begin.

    A wearer dresses, is inside for the full time, undresses and rests; the observer is there for dressing and
    undressing, the assistant for undressing. Only whole shifts of the stay are counted; each drawn shift is one.
    """
    found = []
    for shift in stay.shifts:
        hours = list(_whole_shifts(shift, stay, model.hours))
        if not hours:
            continue
        for group, minutes in _groups(stay, model, figures).items():
            need = np.zeros((len(hours), entries.shape[2]))
            for number, each in minutes.items():
                for row, first in enumerate(hours):
                    need[row] += entries[number, first : first + shift.hours].sum(axis=0) * each
            there = sum(one.count for one in stay.people if group in one.may and shift.id in one.shifts)
            drawn = need.reshape(-1) / 60
            enough = int((drawn <= there * shift.hours + 1e-9).sum())
            if drawn.any():
                found.append(
                    ShiftFound(
                        shift=shift.id,
                        group=group,
                        there=there,
                        hours=float(there * shift.hours),
                        need=quantiles_of(drawn),
                        enough=share_of(enough, len(drawn)),
                    )
                )
    return found


def _whole_shifts(shift: Shift, stay: Stay, hours: int) -> Iterator[int]:
    first = (shift.from_hour - stay.starts.hour) % 24
    yield from range(first, hours - shift.hours + 1, 24)


def _groups(stay: Stay, model: Model, figures: StayFigures) -> dict[str, dict[int, float]]:
    """Group to dressing number to minutes that one entry takes of it."""
    don = _minutes(stay.minutes.don, "don-minutes", figures)
    doff = _minutes(stay.minutes.doff, "doff-minutes", figures)
    rest = _minutes(stay.minutes.rest, "rest-minutes", figures)
    found: dict[str, dict[int, float]] = {}
    for number, one in enumerate(model.dressings):
        if not one.enters:
            continue
        found.setdefault(one.group, {})[number] = don + one.minutes + doff + rest
        bill = model.bills[next(work.ensemble for work in stay.work if work.id == one.name)]
        if stay.team != "not-counted":
            if bill.observer:
                found.setdefault("observer", {})[number] = don + doff
            if bill.assistant:
                found.setdefault("assistant", {})[number] = doff
    return found


def _minutes(own: float | None, name: FigureId, figures: StayFigures) -> float:
    return own if own is not None else figures.find(name).value
