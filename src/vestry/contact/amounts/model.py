"""The numbers of one sequence, ready to be drawn: quantities as tables, operations as rows, events with their chances.

A model is plain arrays made from a compiled program (`binding.bind`, or `of_program` with numbers of one's own). It
names no item and no publisher; the ids in it are the program's and the evidence's.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Mapping
from dataclasses import dataclass, replace
from functools import cached_property
from statistics import NormalDist
from typing import Any

import numpy as np
import numpy.typing as npt

from vestry.contact.amounts.chance import F64
from vestry.contact.amounts.tables import CELLS, constant
from vestry.contact.program import NO_EVENT, Op, Program

I32 = npt.NDArray[np.int32]
I8 = npt.NDArray[np.int8]

CONTACT, PASS, CLEAN, FRESH = 0, 1, 2, 3
DRAWN, NEVER, LEFT_OUT, TOO_SHORT = 0, -1, 1, 2
WEARER, OBSERVER, ALONE = 0, 1, -1
LEVELS = 64  # of a chance that is itself uncertain
BINS = 32  # of the run-level effect
NONE = -1

_VERBS = {"contact": CONTACT, "slide": PASS, "stir": PASS, "breathe": PASS, "clean": CLEAN, "fresh": FRESH}


@dataclass(frozen=True, eq=False)
class Quantity:
    """Something that is drawn: its id (which is also its stream) and its inverse table, 2,049 values.

    The unit is that of its use: a fraction passed on, the fraction that a cleaning leaves, a load, or a chance.
    `together`: 1 drawn once in a run (what is unknown about it), 0 anew each time (what varies from touch to touch);
    between them, the share of touches that take the run's. `unknown` names what the run's draw belongs to, where
    several quantities share it; the id where it is not given.
    """

    id: str
    table: F64
    together: float = 1.0
    unknown: str = ""


@dataclass(frozen=True, eq=False)
class Chance:
    """A chance that events share: a quantity, and whose run-level effect shifts it (WEARER, OBSERVER, ALONE: none)."""

    quantity: Quantity
    effect: int = ALONE


@dataclass(frozen=True)
class Passing:
    """How much one operation passes on: `onward` from a to b, `back` from b to a (contact only), each a quantity and a
    scale (share of the face in the contact patch, wetness). For a cleaning: what it leaves, done well and too short."""

    onward: Quantity
    back: Quantity | None = None
    onward_scale: float = 1.0
    back_scale: float = 1.0


@dataclass(frozen=True)
class Going:
    """How an event goes: its chance; for an omission also the chance of `too_short`; `missed` is the observer's.

    below    number of another event, and the chance of this one where that one happened (a hole beneath a hole)
    """

    chance: Chance
    too_short: Chance | None = None
    missed: Chance | None = None
    below: tuple[int, Chance] | None = None


@dataclass(frozen=True, eq=False)
class Model:
    """Arrays for the engine. m operations, s surfaces, e events, q quantities, c chances, r reported surfaces.

    surfaces, events, steps     ids
    reported, classes           surface numbers whose amounts come out, and their endpoint class
    verb, a, b, event, step     (m) int32
    onward, back                (m) int32: rows of `tables`, NONE where nothing is drawn; for a cleaning well, too short
    onward_scale, back_scale    (m) float64
    touches                     stream names of the operations
    tables, quantities          (q, 2049) float64, and their ids; `unknowns` whose draw of the run each takes
    chances, chance_ids (and `chance_unknowns`), effect
                               (c, 64, 32): a chance by level of its law and bin of the run-level effect; whose effect
    going, short, missed        (e) int32: rows of `chances`, NONE where there is none
    given, given_chance         (e) int32: the event it hangs together with (NONE: no other), and the row of `chances`
                                that holds where that one happened; no event hangs on itself, however far round
    mode                        (e) int8: DRAWN, NEVER, LEFT_OUT (it happens), TOO_SHORT
    start, start_quantity       surfaces loaded on arrival (int32), the row of their load; start_scale beside
    is_source                   which of these make up the source that amounts are told relative to
    together                    (q) how far a quantity is the same all through a run: 0 each touch its own, 1 alike
    """

    surfaces: tuple[str, ...]
    events: tuple[str, ...]
    event_step: tuple[int, ...]
    sorts: tuple[str, ...]
    steps: tuple[str, ...]
    reported: I32
    classes: tuple[str, ...]
    verb: I32
    a: I32
    b: I32
    event: I32
    step: I32
    onward: I32
    back: I32
    onward_scale: F64
    back_scale: F64
    touches: tuple[str, ...]
    tables: F64
    quantities: tuple[str, ...]
    unknowns: tuple[str, ...]
    chances: F64
    chance_ids: tuple[str, ...]
    chance_unknowns: tuple[str, ...]
    effect: I32
    going: I32
    short: I32
    missed: I32
    given: I32
    given_chance: I32
    mode: I8
    start: I32
    start_quantity: I32
    start_scale: F64
    start_streams: tuple[str, ...]
    is_source: npt.NDArray[np.bool_]
    together: F64
    prefix: str = ""

    @cached_property
    def event_numbers(self) -> dict[str, int]:
        """Event id to its number."""
        return {name: number for number, name in enumerate(self.events)}

    @property
    def reported_names(self) -> tuple[str, ...]:
        """The surfaces whose amounts come out, in the order of the rows of an outcome."""
        return tuple(self.surfaces[number] for number in self.reported)

    def event_number(self, name: str) -> int:
        """The number of an event id; KeyError when there is none."""
        return self.event_numbers[name] if name in self.event_numbers else _unknown(name)

    def with_events(
        self, happening: Iterable[str] = (), never: Iterable[str] = (), too_short: Iterable[str] = ()
    ) -> Model:
        """The same with these events forced: happening (an omission: left out), never, or done too short."""
        mode = self.mode.copy()
        for names, value in ((never, NEVER), (happening, LEFT_OUT), (too_short, TOO_SHORT)):
            for name in names:
                mode[self.event_number(name)] = value
        return replace(self, mode=mode)

    def without_sorts(self, *sorts: str) -> Model:
        """The same with no event of these sorts (slip, omission, latent, residue) happening."""
        return self.with_events(never=[e for e, sort in zip(self.events, self.sorts, strict=True) if sort in sorts])

    def as_taught(self) -> Model:
        """No residue, no latent fault, and cleanings that leave nothing: what the Boolean verdict speaks of."""
        bare = self.without_sorts("residue", "latent")
        cleans = self.verb == CLEAN
        row = len(self.tables)
        onward, back = self.onward.copy(), self.back.copy()
        onward[cleans] = row
        back[cleans] = NONE
        return replace(
            bare,
            tables=np.vstack([self.tables, constant(0.0)]),
            quantities=(*self.quantities, "nothing-left"),
            unknowns=(*self.unknowns, "nothing-left"),
            together=np.append(self.together, 1.0),
            onward=onward,
            back=back,
        )

    def fixed(self) -> Model:
        """Every quantity at the middle of its table, so that only events differ between draws."""
        middle = np.repeat(self.tables[:, CELLS // 2 : CELLS // 2 + 1], self.tables.shape[1], axis=1)
        return replace(self, tables=np.ascontiguousarray(middle))

    def with_table(self, quantity: str, table: F64) -> Model:
        """The same with another table for one quantity."""
        tables = self.tables.copy()
        tables[self.quantities.index(quantity)] = table
        return replace(self, tables=tables)


def _unknown(name: str) -> int:
    raise KeyError(f"no event is called {name}")


class _Rows:
    """Quantities and chances as they are met, each once."""

    def __init__(self, spread: Mapping[int, float]) -> None:
        self.quantities: dict[str, int] = {}
        self.tables: list[F64] = []
        self.unknowns: list[str] = []
        self.chance_unknowns: list[str] = []
        self.together: list[float] = []
        self.chances: dict[tuple[str, int], int] = {}
        self.cubes: list[F64] = []
        self.effects: list[int] = []
        self.spread = spread

    def quantity(self, one: Quantity | None) -> int:
        if one is None:
            return NONE
        if one.id not in self.quantities:
            self.quantities[one.id] = len(self.tables)
            self.tables.append(one.table)
            self.unknowns.append(one.unknown or one.id)
            self.together.append(one.together)
        return self.quantities[one.id]

    def chance(self, one: Chance | None) -> int:
        if one is None:
            return NONE
        name = (one.quantity.id, one.effect)
        if name not in self.chances:
            self.chances[name] = len(self.cubes)
            self.cubes.append(recentred(one.quantity.table, self.spread.get(one.effect, 0.0)))
            self.effects.append(one.effect)
            self.chance_unknowns.append(one.quantity.unknown or one.quantity.id)
        return self.chances[name]


def of_program(
    program: Program,
    passing: Callable[[Op], Passing | None],
    going: Callable[[int], Going],
    load: Callable[[int, str], tuple[Quantity, float, bool]],
    *,
    spread: Mapping[int, float] | None = None,
    reported: Collection[int] | None = None,
    prefix: str = "",
    arrival: bool = True,
) -> Model:
    """The model of a program.

    passing     operation -> how much it passes on (None for `fresh`)
    going       event number -> how it goes
    load        surface number, load class -> its load, a scale, and whether it belongs to the source
    spread      standard deviation of the run-level effect in log-odds, for WEARER and OBSERVER
    reported    surfaces whose amounts come out; all endpoints when not given
    prefix      put before the streams of events and touches (a continuation must not draw again what was drawn)
    arrival     False leaves out what happens on arrival
    """
    rows = _Rows(spread or {})
    ops = [op for op in program.ops if arrival or op.step >= 0]
    passings = [passing(op) for op in ops]
    goings = [going(number) for number in range(len(program.events))]
    endpoints = dict(program.endpoints)
    wanted = sorted(endpoints) if reported is None else sorted(reported)
    starts = [(number, *load(number, name), name) for number, name in program.start] if arrival else []

    def ints(values: Iterable[int]) -> I32:
        return np.array(list(values), dtype=np.int32)

    arrays: dict[str, Any] = {
        "onward": ints(rows.quantity(p.onward if p else None) for p in passings),
        "back": ints(rows.quantity(p.back if p else None) for p in passings),
        "start_quantity": ints(rows.quantity(one[1]) for one in starts),
        "going": ints(rows.chance(g.chance) for g in goings),
        "short": ints(rows.chance(g.too_short) for g in goings),
        "missed": ints(rows.chance(g.missed) for g in goings),
        "given": ints(g.below[0] if g.below else NONE for g in goings),
        "given_chance": ints(rows.chance(g.below[1] if g.below else None) for g in goings),
    }
    return Model(
        surfaces=program.surfaces,
        events=tuple(event.id for event in program.events),
        event_step=tuple(event.step for event in program.events),
        sorts=tuple(event.sort for event in program.events),
        steps=program.steps,
        reported=ints(wanted),
        classes=tuple(endpoints.get(number, "") for number in wanted),
        verb=ints(_VERBS[op.verb] for op in ops),
        a=ints(op.a for op in ops),
        b=ints(op.b for op in ops),
        event=ints(op.event for op in ops),
        step=ints(op.step for op in ops),
        onward_scale=np.array([p.onward_scale if p else 1.0 for p in passings]),
        back_scale=np.array([p.back_scale if p else 1.0 for p in passings]),
        touches=_touch_names(program, ops),
        tables=np.ascontiguousarray(np.array(rows.tables)) if rows.tables else np.zeros((0, CELLS + 1)),
        quantities=tuple(rows.quantities),
        unknowns=tuple(rows.unknowns),
        chances=np.ascontiguousarray(np.array(rows.cubes)) if rows.cubes else np.zeros((0, LEVELS, BINS)),
        chance_ids=tuple(name for name, _ in rows.chances),
        chance_unknowns=tuple(rows.chance_unknowns),
        effect=ints(rows.effects),
        mode=np.zeros(len(program.events), dtype=np.int8),
        start=ints(one[0] for one in starts),
        start_scale=np.array([one[2] for one in starts], dtype=np.float64),
        start_streams=tuple(program.surfaces[one[0]] for one in starts),
        is_source=np.array([one[3] for one in starts], dtype=np.bool_),
        together=np.array(rows.together),
        prefix=prefix,
        **arrays,
    )


def _touch_names(program: Program, ops: Iterable[Op]) -> tuple[str, ...]:
    """What each operation is, by content: step, verb, surfaces, event, and the how-manieth of that name."""
    seen: dict[str, int] = {}
    names = []
    for op in ops:
        step = program.steps[op.step] if op.step >= 0 else "arrival"
        b = program.surfaces[op.b] if op.b >= 0 else "-"
        event = program.events[op.event].id if op.event != NO_EVENT else "-"
        name = f"{step}|{op.verb}|{program.surfaces[op.a]}|{b}|{event}"
        seen[name] = seen.get(name, 0) + 1
        names.append(f"{name}|{seen[name]}")
    return tuple(names)


def recentred(table: F64, spread: float) -> F64:
    """A chance by level of its law (64) and bin of the run-level effect (32), each row's mean the level's own chance.

    The effect shifts the log-odds by `spread` times a standard normal, taken at the middle of 32 equally likely bins;
    the centre is moved until the mean over the bins is the chance as published.
    """
    fine = (table[1:] + table[:-1]) / 2
    levels = fine.reshape(LEVELS, -1).mean(axis=1)
    if spread == 0.0:
        return np.repeat(levels[:, None], BINS, axis=1)
    shifts = spread * _normal_bins()
    inner = np.clip(levels, 1e-300, 1 - 1e-16)
    centre_odds = np.log(inner) - np.log1p(-inner)
    reach = np.abs(shifts).max() + 1.0
    low, high = centre_odds - reach, centre_odds + reach
    for _ in range(80):
        middle = (low + high) / 2
        above = _logistic(middle[:, None] + shifts).mean(axis=1) > inner
        high, low = np.where(above, middle, high), np.where(above, low, middle)
    cube = _logistic(((low + high) / 2)[:, None] + shifts)
    cube[levels <= 0] = 0.0
    cube[levels >= 1] = 1.0
    return cube


def _logistic(x: F64) -> F64:
    value: F64 = 1.0 / (1.0 + np.exp(-x))
    return value


def _normal_bins() -> F64:
    law = NormalDist()
    return np.array([law.inv_cdf((k + 0.5) / BINS) for k in range(BINS)])
