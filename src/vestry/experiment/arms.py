"""One arm run: amounts on its surfaces, draw by draw, and what was loaded and went wrong.

Nothing is decided here; `running` looks at it and compares.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, field, replace
from difflib import get_close_matches
from fnmatch import fnmatchcase

import numpy as np
import numpy.typing as npt

from vestry.contact.amounts import (
    Bound,
    Going,
    Model,
    Passing,
    Quantity,
    bind,
    collected,
    compile_for_amounts,
    of_program,
    stream,
)
from vestry.contact.amounts import Context as Circumstances
from vestry.contact.amounts.chance import keys, uniform, weyl
from vestry.contact.amounts.tables import constant, fractions, quantiles
from vestry.contact.program import NO_EVENT, Op, Program
from vestry.experiment.protocol import loaded, order_of
from vestry.experiment.setup import Amount, Context, Edge, Experiment, Setup
from vestry.trade import BadFacts, Catalogue, Evidence, Problem
from vestry.trade.law import Law
from vestry.trade.values import Id

F64 = npt.NDArray[np.float64]
GIVEN = "given-load:"


@dataclass(frozen=True)
class Chances:
    """How much is drawn: number of draws and seed."""

    draws: int
    seed: int

    def of(self, law: Law, name: str) -> F64:
        """A law drawn once for each draw; the same name gives the same numbers."""
        (key,) = keys(self.seed, (f"experiment|{name}",))
        place = uniform(key, weyl(np.arange(self.draws, dtype=np.uint64)))
        table = quantiles(law)
        return np.interp(place, np.linspace(0.0, 1.0, len(table)), table)


@dataclass(frozen=True, eq=False)
class Run:
    """What came of an arm with surfaces. n draws, s surfaces.

    arrival, end, peak    surface to (n) amounts
    source                (n) all that was loaded
    faultless             (n) whether nothing slipped and nothing was left out (too short does not count)
    steps                 number of steps in which something can go wrong
    rests_on, defaults    ids of the records it rests on; quantities for which there was none
    """

    arrival: dict[str, F64]
    end: dict[str, F64]
    peak: dict[str, F64]
    source: F64
    faultless: npt.NDArray[np.bool_]
    steps: int
    rests_on: tuple[str, ...] = ()
    defaults: tuple[str, ...] = ()

    def at(self, when: str) -> dict[str, F64]:
        """Amounts by surface at `arrival`, `end`, or `ever`."""
        return {"arrival": self.arrival, "end": self.end, "ever": self.peak}[when]


def law_of(amount: Amount) -> Law:
    """An amount as a law."""
    return amount if isinstance(amount, Law) else Law(kind="fixed", value=float(amount))


@dataclass(frozen=True)
class Bench:
    """Where arms are run: the facts, the evidence, and how much is drawn."""

    catalogue: Catalogue
    evidence: Evidence
    chances: Chances
    file: str = "experiment"
    progress: Callable[[int, int], bool | None] | None = field(default=None, compare=False)

    def run(self, experiment: Experiment, arm: Id, never: Iterable[str] = ()) -> Run:
        """One arm that has steps, a protocol or an edge.

        never    patterns of step ids in which nothing goes wrong, besides what the arm itself says
        BadFacts when a step cannot be done, or a pattern meets no event.
        """
        whole = experiment.whole(arm)
        if whole.edge is not None:
            return self._edge(whole.edge)
        model, bound = self.model(experiment, arm, whole)
        steps = tuple(never)
        if steps:
            model = model.with_events(never=[*_events_of_steps(model, steps)])
        out = collected(stream(model, self.chances.draws, self.chances.seed, progress=self.progress))
        human = [n for n, sort in enumerate(model.sorts) if sort in ("slip", "omission")]
        return Run(
            arrival={} if steps else self._arrival(experiment, arm, whole),
            end=dict(zip(model.surfaces, out.end, strict=True)),
            peak=dict(zip(model.surfaces, out.peak, strict=True)),
            source=out.source,
            faultless=~np.any(out.happened[human] == 1, axis=0),
            steps=len({model.event_step[n] for n in human}),
            rests_on=tuple(use.id for use in bound.rests_on if use.record is not None),
            defaults=tuple(use.quantity for use in bound.defaults),
        )

    # ---- an arm with steps ------------------------------------------------------------------------------------

    def model(
        self, experiment: Experiment, arm: Id, whole: Setup, *, only_arrival: bool = False
    ) -> tuple[Model, Bound]:
        """The model of an arm with its lapses, and what it rests on."""
        order = order_of(whole, self.catalogue, f"{experiment.id}: {arm}", only_arrival=only_arrival)
        try:
            program, steps, setting = compile_for_amounts(order, self.catalogue)
        except BadFacts as bad:
            raise BadFacts(
                [replace(one, file=self.file, field=f"arm {arm}: {one.field}") for one in bad.problems]
            ) from None
        loads = self._loads(whole, program, order.worn)
        circumstances = _circumstances(whole)
        bound = bind(program, steps, self.catalogue, self.evidence, setting, circumstances, loads)
        model = _all_reported(bound.model)
        if not only_arrival:
            model = self._lapses(model, arm, whole)
        return model, bound

    def _loads(self, whole: Setup, program: Program, worn: tuple[str, ...]) -> dict[str, Law] | None:
        """Law of the load of each surface; None: as the room loads it."""
        if whole.loads is not None:
            given = loaded(whole, worn, self.catalogue)
            return {name: self._load(whole, amount) for name, amount in given.items()}
        if whole.amounts is not None:
            return {program.surfaces[number]: self._load(whole, name) for number, name in program.start}
        return None

    def _load(self, whole: Setup, amount: object) -> Law:
        if isinstance(amount, str):
            for name, own in (whole.amounts or {}).items():
                if name == amount:
                    return law_of(own)
            return self.evidence.find("load", load_class=amount, presentation=whole.presentation or "dry").law
        assert isinstance(amount, int | float | Law), "the file was validated when it was read"
        return law_of(amount)

    def _lapses(self, model: Model, arm: Id, whole: Setup) -> Model:
        off = {"latent"} if whole.latent is False else set()
        off |= {"residue"} if whole.residue is False else set()
        off |= {"slip", "omission"} if whole.lapses == "none" else set()
        model = model.without_sorts(*off)
        forced, short = whole.forced or (), whole.too_short or ()
        problems = [
            Problem(self.file, 0, f"arm {arm}", f"no event fits {pattern}{_events_like(pattern, model.events)}")
            for pattern in (*forced, *short)
            if not any(fnmatchcase(name, pattern) for name in model.events)
        ]
        if problems:
            raise BadFacts(problems)
        return model.with_events(
            happening=[name for name in model.events if any(fnmatchcase(name, one) for one in forced)],
            too_short=[name for name in model.events if any(fnmatchcase(name, one) for one in short)],
        )

    def _arrival(self, experiment: Experiment, arm: Id, whole: Setup) -> dict[str, F64]:
        model, _ = self.model(experiment, arm, whole, only_arrival=True)
        model = model.without_sorts("latent")
        out = collected(stream(model, self.chances.draws, self.chances.seed))
        return dict(zip(model.surfaces, out.end, strict=True))

    # ---- one contact alone ------------------------------------------------------------------------------------

    def _edge(self, edge: Edge) -> Run:
        there = self._transfer(edge.donor, edge.recipient, edge)
        back = self._transfer(edge.recipient, edge.donor, edge)
        passing = Passing(there, back, edge.shares[0], edge.shares[1])
        program = Program(
            surfaces=("donor", "recipient"),
            events=(),
            ops=(Op("contact", 0, 1, NO_EVENT, 0, "judgement"),) * edge.touches,
            start=((0, "high"),),
            endpoints=(),
            steps=("touch",),
            worn=((), ()),
        )
        one = Quantity("one", constant(1.0))
        model = of_program(program, lambda op: passing, _no_event, lambda number, name: (one, 1.0, True))
        model = _all_reported(model)
        out = collected(stream(model, self.chances.draws, self.chances.seed))
        nothing = np.zeros(self.chances.draws)
        return Run(
            arrival={"donor": out.source, "recipient": nothing},
            end=dict(zip(model.surfaces, out.end, strict=True)),
            peak=dict(zip(model.surfaces, out.peak, strict=True)),
            source=out.source,
            faultless=np.ones(self.chances.draws, dtype=np.bool_),
            steps=1,
            rests_on=(there.id, back.id),
        )

    def _transfer(self, giver: str, taker: str, edge: Edge) -> Quantity:
        record = self.evidence.find(
            "transfer-fraction", from_material=giver, to_material=taker, wetness=edge.wetness, verb="contact"
        )
        return Quantity(record.id, fractions(record.law), 1.0 if record.drawn == "once" else 0.0)


def _events_like(pattern: str, events: tuple[str, ...]) -> str:
    """What can go wrong in this arm, the nearest names first."""
    slips = list(dict.fromkeys(name.partition("@")[0].rpartition(":")[2] for name in events if ":" in name))
    wanted = pattern.partition("@")[0].rpartition(":")[2].strip("*")
    near = get_close_matches(wanted, slips, 3)
    shown = [*near, *(one for one in slips if one not in near)][:8]
    return f"; what can go wrong in this arm is called {', '.join(shown)} (as in *:{shown[0]}@*)" if shown else ""


def _no_event(number: int) -> Going:
    raise AssertionError(f"one contact alone has no event {number}")


def _circumstances(whole: Setup) -> Circumstances:
    context = whole.context or Context()
    return Circumstances(
        observer=context.observer,
        read_aloud=context.read_aloud,
        trained=context.trained,
        months=context.months,
        minutes=context.minutes,
        climate=context.climate,
        soil=whole.soil or "none",
        wetness=whole.wetness,
    )


def _all_reported(model: Model) -> Model:
    """Every surface reported, and each given load drawn on its own, not once for all with the same law."""
    together = model.together.copy()
    together[[n for n, name in enumerate(model.quantities) if name.startswith(GIVEN)]] = 0.0
    every = np.arange(len(model.surfaces), dtype=np.int32)
    return replace(model, reported=every, classes=("",) * len(every), together=together)


def _events_of_steps(model: Model, patterns: tuple[str, ...]) -> Iterator[str]:
    for name, step, sort in zip(model.events, model.event_step, model.sorts, strict=True):
        if sort in ("slip", "omission") and step >= 0 and any(fnmatchcase(model.steps[step], one) for one in patterns):
            yield name
