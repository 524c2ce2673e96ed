"""A stay made ready for simulation: who dresses at which hour, in what, out of which pool.

A pool is one item in one size. A dressing is a group that dresses by a bill: it starts at regular hours and at random
ones, and others (observer, assistant) may dress because of it.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime, time

import numpy as np
import numpy.typing as npt

from vestry.readiness.billing import Bill
from vestry.readiness.stay import Stay, Work
from vestry.readiness.stay_checks import Sizing, bills
from vestry.trade import Catalogue
from vestry.trade.dates import day_after
from vestry.trade.staying import StayFigures

I64 = npt.NDArray[np.int64]
Pool = tuple[str, str]
NEVER = 1 << 30


@dataclass(frozen=True, eq=False)
class Party:
    """A group that dresses.

    members   (24, m) people by hour of the stay's day, padded; crowd (24) how many of them are on shift
    pool      (people, s) where each person takes each of the s pieces from
    wastes    (s) a piece that may be found damaged (what is used again goes to service and comes back)
    """

    name: str
    members: I64
    crowd: I64
    pool: I64
    wastes: npt.NDArray[np.bool_]


@dataclass(frozen=True, eq=False)
class Dressing:
    """One reason to dress.

    regular   (24) how many start at each hour of the stay's day
    extra     entries an hour at random
    changes   (people, c) pools of the gloves that are changed inside; change_mean: pairs an entry, on average
    minutes   inside, at most
    parties   who dresses: the one who goes in first, then those who dress because of it
    enters    somebody goes in (an observer who dresses for a shift does not)
    """

    name: str
    group: str
    regular: I64
    extra: float
    changes: I64
    change_mean: float
    minutes: float
    parties: tuple[Party, ...]
    enters: bool = True


@dataclass(frozen=True)
class Batch:
    """Pieces of one pool that expire together: on the shelf at the start, or coming at an hour from a range.

    expires   hour of the stay at whose start they may no longer be used; NEVER
    """

    pool: int
    count: int
    expires: int
    arrives: tuple[int, int] | None = None
    name: str = ""


@dataclass(frozen=True, eq=False)
class Model:
    """Everything that is simulated.

    again          hours until a pool's piece is ready again, 0: thrown away
    lead           of each pool, hours from an order to its delivery;  lead_hours: of what has none of its own
    lead_judged    pools whose lead time is the planning figure
    """

    hours: int
    seed: int
    transfer: tuple[int, int] | None
    pools: tuple[Pool, ...]
    dressings: tuple[Dressing, ...]
    batches: tuple[Batch, ...]
    reserve: I64
    again: I64
    damage: float
    lead: I64
    lead_hours: int
    lead_judged: frozenset[int]
    taken_from_figures: tuple[str, ...]
    bills: Mapping[str, Bill] = field(default_factory=dict)


def model_of(stay: Stay, catalogue: Catalogue, figures: StayFigures) -> Model:
    """The model of a stay that has been checked."""
    return _Maker(stay, catalogue, figures).make()


class _Maker:
    def __init__(self, stay: Stay, catalogue: Catalogue, figures: StayFigures) -> None:
        self.stay, self.catalogue, self.figures = stay, catalogue, figures
        self.sizing = Sizing(stay, catalogue)
        self.bills = bills(stay, catalogue)
        self.people = [person for person in stay.people for _ in range(person.count)]
        self.numbers: dict[Pool, int] = {}
        self.used: dict[str, None] = {}

    def make(self) -> Model:
        stay = self.stay
        dressings = tuple(self._dressings())
        batches = (*self._shelf(), *self._coming())
        again = {one.item: one.hours for one in stay.again}
        reusable = {pool: self.catalogue.items[pool[0]].reusable for pool in self.numbers}
        hours = [
            again.get(item) or int(self._figure("cleaning-hours", None)) if reusable[(item, size)] else 0
            for item, size in self.numbers
        ]
        reserve = np.zeros(len(self.numbers), dtype=np.int64)
        for one in stay.reserves:
            if (one.item, one.size) in self.numbers:
                reserve[self.numbers[(one.item, one.size)]] += one.count
        own = stay.lead_times
        judged = frozenset(n for (item, _), n in self.numbers.items() if stay.lead_hours is None and item not in own)
        # Told as taken from the figures only where something hangs on it.
        lead = self._figure("lead-hours", stay.lead_hours) if judged else stay.lead_hours
        lead = int(self.figures.find("lead-hours").value if lead is None else lead)
        return Model(
            hours=stay.hours,
            seed=stay.seed,
            transfer=stay.transfer_hours,
            pools=tuple(self.numbers),
            dressings=dressings,
            batches=batches,
            reserve=reserve,
            again=np.array(hours, dtype=np.int64),
            damage=self._damage(dressings),
            lead=np.array([own.get(item, lead) for item, _ in self.numbers], dtype=np.int64),
            lead_hours=lead,
            lead_judged=judged,
            taken_from_figures=tuple(self.used),
            bills=self.bills,
        )

    def _figure(self, name: str, own: float | None) -> float:
        """The unit's own figure, else ours, and then it is told."""
        if own is not None:
            return own
        self.used[name] = None
        return next(one.value for one in self.figures.figure if one.id == name)

    # ---- who dresses ----

    def _dressings(self) -> list[Dressing]:
        found = [self._of_work(work) for work in self.stay.work]
        if self.stay.team == "each-shift":
            found += self._of_shifts()
        return found

    def _of_work(self, work: Work) -> Dressing:
        bill = self.bills[work.ensemble]
        minutes = work.minutes_inside or bill.limit or self._figure("minutes-inside", None)
        parties = [self._party(f"{work.id}|{work.by}", work.by, bill.wearer)]
        if self.stay.team == "each-exit":
            beside = (("observer", bill.observer), ("assistant", bill.assistant))
            parties += [self._party(f"{work.id}|{role}", role, worn) for role, worn in beside if worn]
        rate = self._figure("glove-changes-an-hour", self.stay.rates.glove_changes_an_hour)
        return Dressing(
            name=work.id,
            group=work.by,
            regular=_regular(work, minutes),
            extra=work.extra_a_day / 24,
            changes=self._pools_of(bill.changed),
            change_mean=rate * minutes / 60,
            minutes=minutes,
            parties=tuple(parties),
        )

    def _of_shifts(self) -> list[Dressing]:
        """Observer and assistant, once at the start of each shift and at the start of the stay."""
        starts = {0, *((one.from_hour - self.stay.starts.hour) % 24 for one in self.stay.shifts)}
        regular = np.array([hour in starts for hour in range(24)], dtype=np.int64)
        found = []
        for role in ("observer", "assistant"):
            worn: dict[str, int] = {}
            for bill in self.bills.values():  # the fuller of several
                for item, count in getattr(bill, role).items():
                    worn[item] = max(worn.get(item, 0), count)
            if worn:
                party = self._party(f"shift|{role}", role, worn)
                none = np.zeros((len(self.people), 0), dtype=np.int64)
                found.append(Dressing(f"shift-{role}", role, regular, 0.0, none, 0.0, 0.0, (party,), enters=False))
        return found

    def _party(self, name: str, group: str, worn: Mapping[str, int]) -> Party:
        pieces = [item for item, count in worn.items() for _ in range(count)]
        on = [self._on_shift(group, hour) for hour in range(24)]
        members = np.zeros((24, max(1, *map(len, on))), dtype=np.int64)
        for hour, numbers in enumerate(on):
            members[hour, : len(numbers)] = numbers
        return Party(
            name=name,
            members=members,
            crowd=np.array([len(numbers) for numbers in on], dtype=np.int64),
            pool=self._pools_of(pieces),
            wastes=np.array([not self.catalogue.items[item].reusable for item in pieces], dtype=np.bool_),
        )

    def _on_shift(self, group: str, hour: int) -> list[int]:
        clock = (self.stay.starts.hour + hour) % 24
        on = {one.id for one in self.stay.shifts if (clock - one.from_hour) % 24 < one.hours}
        return [n for n, one in enumerate(self.people) if group in one.may and on & set(one.shifts)]

    def _pools_of(self, pieces: list[str] | tuple[str, ...]) -> I64:
        """(people, pieces) where each takes each piece from; those alike are looked at once."""
        found = np.zeros((len(self.stay.people), len(pieces)), dtype=np.int64)
        for row, person in enumerate(self.stay.people):
            for column, item in enumerate(pieces):
                size = self.sizing.of(person.sizes, item)
                # Whoever has no size of it is in no group that wears it; the check has seen to that.
                found[row, column] = -1 if size is None else self._pool(item, size)
        return np.repeat(found, [person.count for person in self.stay.people], axis=0)

    def _pool(self, item: str, size: str) -> int:
        return self.numbers.setdefault((item, size), len(self.numbers))

    # ---- what is there ----

    def _shelf(self) -> list[Batch]:
        return [
            Batch(self._pool(one.item, one.size), one.count, self._hour_of_expiry(one.expires), None, one.lot or "")
            for one in self.stay.stock
        ]

    def _coming(self) -> list[Batch]:
        return [
            Batch(
                self._pool(one.item, one.size),
                one.count,
                self._hour_of_expiry(one.expires),
                one.arrives_hours,
                f"delivery-{number}",
            )
            for number, one in enumerate(self.stay.deliveries)
        ]

    def _hour_of_expiry(self, day: object) -> int:
        """Usable through the day of expiry: the first hour of the stay that begins after it."""
        from datetime import date

        if not isinstance(day, date) or day == date.max:  # with which lists from elsewhere say `never`
            return NEVER
        starts = self.stay.starts.replace(tzinfo=None)
        seconds = (datetime.combine(day_after(day), time()) - starts).total_seconds()
        return int(min(NEVER, max(0, -(-seconds // 3600))))

    def _damage(self, dressings: tuple[Dressing, ...]) -> float:
        """The chance that a piece is found damaged: as given, or as many a day spread over the pieces of a day."""
        rates = self.stay.rates
        if rates.damage_per_piece is not None:
            return rates.damage_per_piece
        a_day = self._figure("damaged-pieces-a-day", rates.damaged_a_day)
        pieces = sum(
            (one.regular.sum() + 24 * one.extra) * sum(int(party.wastes.sum()) for party in one.parties)
            for one in dressings
        )
        return a_day / (a_day + float(pieces)) if pieces else 0.0


def _regular(work: Work, minutes: float) -> I64:
    """(24) entries that start in each hour of the stay's day: reliefs of those inside, and visits at even distance."""
    found = np.zeros(24, dtype=np.int64)
    last = work.hours_a_day * 60
    relief = 0.0
    while relief < last - 1e-9:
        found[int(relief // 60)] += work.inside
        relief += minutes
    for visit in range(work.regular_a_day):
        found[visit * 24 // work.regular_a_day] += 1
    return found
