"""Draws through a model: one lane a draw, in blocks, so that memory does not grow with the number of draws.

An observer who sees a deviation stops the wearer; from the end of that step the lane goes on with the continuation for
what was seen. Only the first seen deviation of a run does that, and nothing drawn is drawn again in the continuation
but what belongs to its own steps.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from concurrent.futures import ThreadPoolExecutor
from copy import copy
from dataclasses import dataclass, field, replace
from itertools import islice

import numpy as np
import numpy.typing as npt

from vestry.contact.amounts.chance import F64, U64, keys, short_uniform, uniform, weyl
from vestry.contact.amounts.engine import Choice, Engine, engine
from vestry.contact.amounts.model import BINS, DRAWN, LEVELS, NEVER, Model
from vestry.contact.amounts.plain import LEVEL_SHIFT, U8, U32

ENVELOPE = "envelope"
BATCH = 16_384
RUN_STREAMS = ("run|wearer", "run|observer")
SORTS_SEEN = ("slip", "omission")
I32 = npt.NDArray[np.int32]
I64 = npt.NDArray[np.int64]


@dataclass(frozen=True, eq=False)
class Continuation:
    """The way on from the end of a step, as a model whose surfaces are matched by name with those of the run."""

    model: Model


Continuations = Mapping[tuple[int, str], Continuation]
"""(step number, event id seen, or ENVELOPE for any other or several at once) -> the way on."""


@dataclass(frozen=True, eq=False)
class Outcome:
    """What came of some draws. n draws, r reported surfaces, e events of the run (those of a continuation left out).

    draws      (n) their numbers
    end, peak  (r, n) load at the end, and the highest it ever was, in the unit of the loads
    source     (n) the whole load on arrival, what amounts are told relative to
    happened   (e, n) 0 nothing, 1 it happened (an omission: left out), 2 done too short
    left_at    (n) the step after which a seen deviation led into a recovery, -1 for none
    """

    draws: I64
    end: F64
    peak: F64
    source: F64
    happened: U8
    left_at: I32


@dataclass(frozen=True, eq=False)
class Prepared:
    """A model with its keys for one seed; made once, used for every block."""

    model: Model
    seed: int
    events: U64 = field(init=False)
    touches: U64 = field(init=False)
    starts: U64 = field(init=False)
    quantities: U64 = field(init=False)
    chances: U64 = field(init=False)
    seen: U64 = field(init=False)
    runs: U64 = field(init=False)
    conditional: tuple[int, ...] = field(init=False)
    report: I32 = field(init=False)
    threshold: U64 = field(init=False)

    def __post_init__(self) -> None:
        model, seed = self.model, self.seed
        events = tuple(
            name if sort == "latent" else model.prefix + name
            for name, sort in zip(model.events, model.sorts, strict=True)
        )
        report = np.full(len(model.surfaces), -1, dtype=np.int32)
        report[model.reported] = np.arange(len(model.reported), dtype=np.int32)
        values = {
            "events": keys(seed, tuple(f"event|{name}" for name in events)),
            "touches": keys(seed, tuple(f"touch|{model.prefix}{name}" for name in model.touches)),
            "starts": keys(seed, tuple(f"load|{name}" for name in model.start_streams)),
            "quantities": keys(seed, tuple(f"quantity|{name}" for name in model.unknowns)),
            "chances": keys(seed, tuple(f"quantity|{name}" for name in model.chance_unknowns)),
            "seen": keys(seed, tuple(f"seen|{name}" for name in events)),
            "runs": keys(seed, RUN_STREAMS),
            "conditional": _outermost_first(model.given),
            "report": report,
            "threshold": np.round(256 * model.together).astype(np.uint64),
        }
        for name, value in values.items():
            object.__setattr__(self, name, value)


class Runner:
    """A model made ready once and run often, with other events knocked out each time."""

    def __init__(
        self,
        model: Model,
        seed: int = 1,
        continuations: Continuations | None = None,
        choice: Choice = "auto",
        work: int = 0,
    ) -> None:
        self.prepared = Prepared(model, seed)
        self.ways = _prepared(continuations, seed)
        self.engine = engine(choice, work)

    def run(self, draws: I64, never: Iterable[int] = ()) -> Outcome:
        """These draws, the events of these numbers never happening."""
        prepared, numbers = self.prepared, list(never)
        if numbers:
            mode = prepared.model.mode.copy()
            mode[numbers] = NEVER
            prepared = copy(prepared)
            object.__setattr__(prepared, "model", replace(prepared.model, mode=mode))
        return _simulate(prepared, self.ways, draws, self.engine, self.engine.lanes)


def simulate(
    model: Model,
    draws: I64,
    seed: int = 1,
    continuations: Continuations | None = None,
    choice: Choice = "auto",
    lanes: int = 0,
) -> Outcome:
    """These draws (any numbers, in any order) through a model. `lanes`: size of a block; 0: what the engine likes.

    The outcome of a draw depends on the seed and its number alone, never on what it is drawn together with. The two
    engines agree bit for bit.
    """
    prepared = Prepared(model, seed)
    ways = _prepared(continuations, seed)
    chosen = engine(choice, len(model.verb) * len(draws))
    return _simulate(prepared, ways, draws, chosen, lanes or chosen.lanes)


def stream(
    model: Model,
    draws: int,
    seed: int = 1,
    continuations: Continuations | None = None,
    *,
    choice: Choice = "auto",
    threads: int = 1,
    batch: int = BATCH,
    lanes: int = 0,
    progress: Callable[[int, int], bool | None] | None = None,
) -> Iterator[Outcome]:
    """Draws 0 to `draws`-1 in batches, in order; memory is that of `threads` + 1 batches.

    progress    called with (draws done, draws) after each batch; when it returns False, no more is drawn
    """
    prepared = Prepared(model, seed)
    ways = _prepared(continuations, seed)
    chosen = engine(choice, len(model.verb) * draws)
    starts = iter(range(0, draws, batch))

    def one(start: int) -> Outcome:
        numbers = np.arange(start, min(start + batch, draws), dtype=np.int64)
        return _simulate(prepared, ways, numbers, chosen, lanes or chosen.lanes)

    done = 0
    with ThreadPoolExecutor(max(1, threads)) as pool:
        waiting = [pool.submit(one, start) for start in islice(starts, threads)]
        while waiting:
            outcome = waiting.pop(0).result()
            waiting += [pool.submit(one, start) for start in islice(starts, 1)]
            done += len(outcome.draws)
            yield outcome
            if progress is not None and progress(done, draws) is False:
                for future in waiting:
                    future.cancel()
                return


def collected(outcomes: Iterator[Outcome]) -> Outcome:
    """Several outcomes as one; for few draws."""
    every = list(outcomes)
    return Outcome(
        draws=np.concatenate([one.draws for one in every]),
        end=np.concatenate([one.end for one in every], axis=1),
        peak=np.concatenate([one.peak for one in every], axis=1),
        source=np.concatenate([one.source for one in every]),
        happened=np.concatenate([one.happened for one in every], axis=1),
        left_at=np.concatenate([one.left_at for one in every]),
    )


def uniforms_of(unknown: str, draws: I64, seed: int = 1) -> F64:
    """Where in its law an unknown lies in each draw, 0 to 1: what is alike all through a run."""
    (start,) = keys(seed, (f"quantity|{unknown}",))
    return np.asarray(short_uniform(start, weyl(draws.astype(np.uint64))) * 2.0**-28)


def _prepared(continuations: Continuations | None, seed: int) -> dict[tuple[int, str], Prepared]:
    """Each way on made ready once, however many deviations lead into it."""
    made: dict[int, Prepared] = {}
    for way in (continuations or {}).values():
        if id(way.model) not in made:
            made[id(way.model)] = Prepared(way.model, seed)
    return {key: made[id(way.model)] for key, way in (continuations or {}).items()}


# ---- inside -----------------------------------------------------------------------------------------------------


def _simulate(
    prepared: Prepared, ways: Mapping[tuple[int, str], Prepared], draws: I64, eng: Engine, lanes: int
) -> Outcome:
    model, n = prepared.model, len(draws)
    outcome = Outcome(
        draws=draws,
        end=np.empty((len(model.reported), n)),
        peak=np.empty((len(model.reported), n)),
        source=np.empty(n),
        happened=np.empty((len(model.events), n), dtype=np.uint8),
        left_at=np.full(n, -1, dtype=np.int32),
    )
    leaving = _Leaving(prepared, ways)
    for lo in range(0, n, lanes):
        _block(prepared, outcome, slice(lo, min(lo + lanes, n)), leaving, eng)
    leaving.go_on(outcome, eng, lanes)
    return outcome


def _block(prepared: Prepared, outcome: Outcome, where: slice, leaving: _Leaving, eng: Engine) -> None:
    model = prepared.model
    steps = weyl(outcome.draws[where].astype(np.uint64))
    n = len(steps)
    on = np.empty((len(model.events), n), dtype=np.uint8)
    bins = _events(prepared, steps, eng, on)
    shared = np.empty((len(model.quantities), n), dtype=np.uint32)
    eng.common(prepared.quantities, steps, shared)
    state = np.zeros((len(model.surfaces), n))
    eng.load(
        prepared.starts, steps, model.start, model.start_quantity, model.start_scale, model.tables, shared,
        prepared.threshold, state,
    )  # fmt: skip
    source: F64 = state[model.start[model.is_source]]
    outcome.source[where] = source.sum(axis=0)
    peak: F64 = state[model.reported].copy()
    left_at, by = leaving.who(on, steps, bins, n)
    stops = [int(step) for step in np.unique(left_at[left_at >= 0])]
    lo = 0
    for step in stops:
        hi = int(np.searchsorted(model.step, step, side="right"))
        _run(prepared, eng, lo, hi, steps, shared, on, state, peak)
        leaving.take(step, np.flatnonzero(left_at == step), by, where.start, state, peak)
        lo = hi
    if lo < len(model.verb) and not (len(stops) and np.all(left_at >= 0)):
        _run(prepared, eng, lo, len(model.verb), steps, shared, on, state, peak)
    if stops:  # what would have gone wrong later in a run that was stopped did not
        on[np.array(model.event_step)[:, None] > np.where(left_at >= 0, left_at, len(model.steps))[None, :]] = 0
    outcome.end[:, where] = state[model.reported]
    outcome.peak[:, where] = peak
    outcome.happened[:, where] = on
    outcome.left_at[where] = left_at


def _run(
    prepared: Prepared, eng: Engine, lo: int, hi: int, steps: U64, shared: U32, on: U8, state: F64, peak: F64
) -> None:
    m = prepared.model
    eng.run(
        lo, hi, prepared.touches, steps, m.verb, m.a, m.b, m.event, m.onward, m.back, m.onward_scale, m.back_scale,
        m.tables, shared, prepared.threshold, on, prepared.report, state, peak,
    )  # fmt: skip


def _events(prepared: Prepared, steps: U64, eng: Engine, on: U8, known: Mapping[int, U8] | None = None) -> I32:
    """Draws what becomes of each event, but of those `known`; returns the bins of the run-level effects."""
    model = prepared.model
    bins = np.empty((len(RUN_STREAMS), len(steps)), dtype=np.int32)
    for row, start in enumerate(prepared.runs):
        bins[row] = (uniform(start, steps) * BINS).astype(np.int32)
    levels = np.empty((len(model.chance_ids), len(steps)), dtype=np.uint32)
    eng.common(prepared.chances, steps, levels)
    eng.happen(
        prepared.events, steps, model.going, model.short, model.mode, model.chances, levels, model.effect, bins, on
    )
    known = known or {}
    for number, row_ in known.items():
        on[number] = row_
    for number in prepared.conditional:
        if model.mode[number] == DRAWN and number not in known:
            lanes = np.flatnonzero(on[model.given[number]])
            row = model.given_chance[number]
            effect = model.effect[row]
            bin_ = bins[effect, lanes] if effect >= 0 else np.zeros(len(lanes), dtype=np.intp)
            chance = model.chances[row, levels[row, lanes] >> LEVEL_SHIFT, bin_]
            on[number, lanes] = uniform(prepared.events[number], steps[lanes]) < chance
    return bins


def _outermost_first(given: I32) -> tuple[int, ...]:
    """The events that hang on another, each after that one."""

    def depth(number: int) -> int:
        return 0 if given[number] < 0 else 1 + depth(int(given[number]))

    return tuple(sorted((n for n in range(len(given)) if given[n] >= 0), key=lambda n: (depth(n), n)))


class _Leaving:
    """Lanes in which the observer sees a deviation: who, when, and their way on."""

    def __init__(self, prepared: Prepared, ways: Mapping[tuple[int, str], Prepared]) -> None:
        self.prepared, self.ways = prepared, ways
        self.waiting: dict[int, list[tuple[I64, F64, F64]]] = {}
        self.by_id = {id(way): way for way in ways.values()}
        model = prepared.model
        self.watched = [
            number
            for number, sort in enumerate(model.sorts)
            if ways and model.missed[number] >= 0 and sort in SORTS_SEEN and self._way(number) is not None
        ]

    def _way(self, event: int) -> tuple[int, str] | None:
        model = self.prepared.model
        step = model.event_step[event]
        return next((key for key in ((step, model.events[event]), (step, ENVELOPE)) if key in self.ways), None)

    def who(self, on: U8, steps: U64, bins: I32, n: int) -> tuple[I32, dict[tuple[int, str], npt.NDArray[np.bool_]]]:
        """The step after which each lane leaves (-1: never), and for each way on the lanes that take it."""
        never = len(self.prepared.model.steps)
        left_at = np.full(n, never, dtype=np.int32)
        seen = {event: lanes for event in self.watched if (lanes := self._seen(event, on, steps, bins)).any()}
        for event, lanes in seen.items():
            step = self.prepared.model.event_step[event]
            left_at[lanes] = np.minimum(left_at[lanes], step)
        by: dict[tuple[int, str], npt.NDArray[np.bool_]] = {}
        taken = np.full(n, -1)
        for event, lanes in seen.items():
            step = self.prepared.model.event_step[event]
            mine = lanes & (left_at == step)
            taken[mine] = np.where(taken[mine] < 0, event, -2)
        for event in seen:
            key = self._way(event)
            if key is not None and (taken == event).any():
                by[key] = by.get(key, np.zeros(n, dtype=np.bool_)) | (taken == event)
        self._several(taken, left_at, seen, by)
        left_at[left_at == never] = -1
        return left_at, by

    def _several(
        self, taken: I64, left_at: I32, seen: Mapping[int, npt.NDArray[np.bool_]],
        by: dict[tuple[int, str], npt.NDArray[np.bool_]],
    ) -> None:  # fmt: skip
        """Several deviations seen at one step: the envelope's way, or where there is none that of the first."""
        for step in np.unique(left_at[taken == -2]):
            lanes = (taken == -2) & (left_at == step)
            key = (int(step), ENVELOPE)
            if key in self.ways:
                by[key] = by.get(key, np.zeros(len(lanes), dtype=np.bool_)) | lanes
                continue
            for event, there in seen.items():
                mine = lanes & there
                way = self._way(event)
                if self.prepared.model.event_step[event] == step and way is not None and mine.any():
                    by[way] = by.get(way, np.zeros(len(lanes), dtype=np.bool_)) | mine
                    lanes = lanes & ~mine

    def _seen(self, event: int, on: U8, steps: U64, bins: I32) -> npt.NDArray[np.bool_]:
        happened: npt.NDArray[np.bool_] = on[event] != 0
        if not happened.any():
            return happened
        model = self.prepared.model
        row = model.missed[event]
        lanes = np.flatnonzero(happened)
        levels = (uniform(self.prepared.chances[row], steps[lanes]) * LEVELS).astype(np.intp)
        effect = model.effect[row]
        bin_ = bins[effect, lanes] if effect >= 0 else np.zeros(len(lanes), dtype=np.intp)
        seen = np.zeros(len(happened), dtype=np.bool_)
        seen[lanes] = uniform(self.prepared.seen[event], steps[lanes]) >= model.chances[row, levels, bin_]
        return seen

    def take(
        self, step: int, lanes: npt.NDArray[np.intp], by: Mapping[tuple[int, str], npt.NDArray[np.bool_]], base: int,
        state: F64, peak: F64,
    ) -> None:  # fmt: skip
        """Keep what these lanes carry as they leave after a step."""
        for key, going in by.items():
            mine = lanes[going[lanes]]
            if key[0] == step and mine.size:
                self.waiting.setdefault(id(self.ways[key]), []).append(
                    (mine + base, state[:, mine].copy(), peak[:, mine].copy())
                )

    def go_on(self, outcome: Outcome, eng: Engine, lanes: int) -> None:
        """Every lane that left, to the end of its way on; its amounts take the place of the run's."""
        for way, kept in self.waiting.items():
            where = np.concatenate([one[0] for one in kept])
            state = np.concatenate([one[1] for one in kept], axis=1)
            peak = np.concatenate([one[2] for one in kept], axis=1)
            for lo in range(0, len(where), lanes):
                part = slice(lo, lo + lanes)
                self._continue(self.by_id[way], outcome, where[part], state[:, part], peak[:, part], eng)

    def _continue(self, way: Prepared, outcome: Outcome, where: I64, state: F64, peak: F64, eng: Engine) -> None:
        main, model = self.prepared.model, way.model
        steps = weyl(outcome.draws[where].astype(np.uint64))
        numbers = {name: number for number, name in enumerate(main.surfaces)}
        same = [(there, numbers[name]) for there, name in enumerate(model.surfaces) if name in numbers]
        now = np.zeros((len(model.surfaces), len(where)))
        for there, here in same:
            now[there] = state[here]
        highest = now[model.reported].copy()
        rows = {name: row for row, name in enumerate(main.reported_names)}
        for row, name in enumerate(model.reported_names):
            if name in rows:
                highest[row] = peak[rows[name]]
        on = np.empty((len(model.events), len(where)), dtype=np.uint8)
        known = main.event_numbers  # a hole that is there stays there
        _events(way, steps, eng, on, {
            number: outcome.happened[known[name], where]
            for number, name in enumerate(model.events)
            if model.sorts[number] == "latent" and name in known
        })  # fmt: skip
        shared = np.empty((len(model.quantities), len(where)), dtype=np.uint32)
        eng.common(way.quantities, steps, shared)
        _run(way, eng, 0, len(model.verb), steps, shared, on, now, highest)
        outcome.end[:, where] = state[main.reported]
        outcome.peak[:, where] = peak
        for row, name in enumerate(model.reported_names):
            if name in rows:
                outcome.end[rows[name], where] = now[model.reported[row]]
                outcome.peak[rows[name], where] = highest[row]
