"""Recovery: after a deviation, a tear or soiling at one step, the best way on from there.

The worn set is known, and what may be contaminated is what the model says with the events that happened. The
continuation
is searched from that state, once going straight on and once with a glove change first, and replayed by the checker
from its
stated start before it is returned. A recovery cannot undo an exposure: what was reached already is named. A tear stays
a tear: it goes on acting until its item is off, and torn gloves next to the skin are changed before anything else.
What must not be broken is not broken here either: once the hose is off, the hood comes off, whatever happened.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace

from vestry.contact.check import as_taught, check
from vestry.contact.compiler import compile_order
from vestry.contact.program import NO_EVENT, Program
from vestry.contact.reach import reach
from vestry.sequence.assurance import EndpointCounts, Recovery
from vestry.sequence.assuring import order_of, program_of
from vestry.sequence.plan import Plan
from vestry.sequence.removal import TOGETHER, Hands, Hygiene, Placed, Removal, lowest_gloves, removals_of, top_gloves
from vestry.sequence.rules import rules_in_force
from vestry.sequence.search import Search, Start
from vestry.sequence.setting import setting_for
from vestry.trade import BadFacts, Catalogue, Problem, Step

ENVELOPE = "envelope"
REPLAY_ORDER = 2
TORN_GLOVE_RULE = "damaged-inner-glove-changed"


@dataclass(frozen=True)
class Happened:
    """What happened at a step: slips and faults by event id, and surfaces seen soiled.

    envelope    whatever may have gone wrong at the step: all its slips
    """

    events: tuple[str, ...] = ()
    soiled: tuple[str, ...] = ()
    envelope: bool = False


@dataclass(frozen=True)
class _Start:
    """Where a recovery starts: what is worn, where, what may be contaminated, seen soiled, or torn.

    unbroken    the rest of an unbroken group of removals that has begun
    """

    worn: tuple[str, ...]
    zone: str
    assumed: frozenset[str]
    soiled: tuple[str, ...]
    faults: frozenset[str]
    unbroken: tuple[Step, ...]


class Recoverer:
    """Recoveries of one plan; searches are kept, since many deviations leave the same state."""

    def __init__(self, plan: Plan, catalogue: Catalogue) -> None:
        self.plan, self.catalogue = plan, catalogue
        self.program = program_of(plan, catalogue)
        self.order = order_of(plan)
        self.hygiene = Hygiene(plan.case, plan.policy, catalogue)
        self.kept: dict[_Start, tuple[tuple[Placed, ...], bool, tuple[EndpointCounts, ...]]] = {}

    def recover(self, at: str, happened: Happened) -> Recovery:
        """The recovery for what happened at a step; BadFacts when the step or an event is unknown."""
        number = self._number(at)
        events = self._events(number, happened)
        names = happened.events + ((ENVELOPE,) if happened.envelope else ())
        worn, zone = self.program.worn[number + 1], self._zone(number)
        soiled = tuple(name for name in happened.soiled if not self._is_gone(name, worn))
        assumed = frozenset(self._contaminated(number, events) | set(soiled))
        start = _Start(worn, zone, assumed, soiled, self._faults(happened.events, worn), self._unbroken(number))
        if start not in self.kept:
            self.kept[start] = self._best(start)
        placed, clean, further = self.kept[start]
        return Recovery(
            at=at,
            happened=(*names, *(f"soiled:{name}" for name in happened.soiled)),
            worn=worn,
            assumed=tuple(sorted(assumed)),
            zone=zone,
            exposed=tuple(sorted(self._exposed(assumed))),
            steps=tuple(one.step for one in placed),
            clean=clean,
            further=further,
        )

    def slips_at(self, number: int) -> tuple[str, ...]:
        """The slips and omissions that can happen at a step of the program."""
        return tuple(
            event.id for event in self.program.events if event.step == number and event.sort in ("slip", "omission")
        )

    # ---- the start ------------------------------------------------------------------------------------------

    def _number(self, at: str) -> int:
        if at not in self.program.steps:
            raise BadFacts([Problem("recover", 0, "at", f"no step of the way out is called {at}")])
        return self.program.steps.index(at)

    def _events(self, number: int, happened: Happened) -> set[int]:
        known = {event.id: index for index, event in enumerate(self.program.events)}
        unknown = [event for event in happened.events if event not in known]
        unknown += [name for name in happened.soiled if name not in self.program.surfaces]
        if unknown:
            raise BadFacts([Problem("recover", 0, "happened", f"nothing here is called {name}") for name in unknown])
        events = {known[event] for event in happened.events}
        if happened.envelope:
            events |= {known[event] for event in self.slips_at(number)}
        return events

    def _contaminated(self, number: int, events: Iterable[int]) -> set[str]:
        after = reach(self.program, tuple(events)).after[number + 1]
        names = {self.program.surfaces[surface] for surface in after}
        return {name for name in names if not self._is_gone(name, self.program.worn[number + 1])}

    def _is_gone(self, surface: str, worn: tuple[str, ...]) -> bool:
        owner = surface.partition(".")[0]
        return (owner in self.catalogue.items and owner not in worn) or owner == "air"

    def _faults(self, events: Iterable[str], worn: tuple[str, ...]) -> frozenset[str]:
        """The faults among these events that are on something still worn."""
        return frozenset(event for event in events if event.startswith("latent:") and event.split(":")[1] in worn)

    def _zone(self, number: int) -> str:
        zone: str = self.order.zone
        for step in self.plan.phase("doffing")[: number + 1]:
            zone = step.to or zone
        return zone

    def _unbroken(self, number: int) -> tuple[Step, ...]:
        """What is left of the unbroken group that this step belongs to."""
        here, *later = self.plan.phase("doffing")[number:]
        return tuple(
            self.order.steps[number + 1 + after]
            for after, step in enumerate(later)
            if here.group is not None and step.group == here.group
        )

    def _exposed(self, contaminated: Iterable[str]) -> set[str]:
        kinds = {self.program.surfaces[n]: kind for n, kind in self.program.endpoints}
        return {name for name in contaminated if kinds.get(name) in ("mucosa", "skin", "helper")}

    # ---- the way on -----------------------------------------------------------------------------------------

    def _best(self, start: _Start) -> tuple[tuple[Placed, ...], bool, tuple[EndpointCounts, ...]]:
        candidates = []
        for first in self._first_steps(start):
            placed = (*first, *self._search(start, first))
            program = self._replay(start, placed)
            verdict = check(program, REPLAY_ORDER)
            new = self._new_reach(program, start.assumed)
            candidates.append((new, verdict.vector(), len(placed), placed, verdict))
        reached, _, _, placed, verdict = min(candidates, key=lambda one: one[:3])
        further = tuple(
            EndpointCounts(endpoint=row.endpoint, ever=row.ever, at_end=row.at_end, margin=row.margin)  # type: ignore[arg-type]
            for row in verdict.counts().values()
        )
        return placed, reached == 0, further

    def _first_steps(self, start: _Start) -> list[tuple[Placed, ...]]:
        """The rest of what must not be broken; wipes of what is seen soiled; then straight on, or gloves changed."""
        worn = tuple(item for item in start.worn if not any(item in step.items for step in start.unbroken))
        hands = Hands(top_gloves(worn, self.catalogue), False, any(step.who in TOGETHER for step in start.unbroken))
        last_pair = lowest_gloves(worn, self.catalogue)
        group = tuple(Placed(step, "recovery") for step in start.unbroken)
        wipes = tuple(
            Placed(Step(act="wipe", item=owner, faces=(face,), agent=self.plan.policy.surface_agent), "recovery")
            for owner, _, face in (name.partition(".") for name in start.soiled)
            if owner in worn
        )
        at_once = (*group, *wipes)
        if last_pair is not None and self._must_change(last_pair, start):
            return [(*at_once, *self._bared(worn, hands))]
        starts = [at_once]
        if hands.gloves is not None and hands.gloves == last_pair:
            changed, _ = self.hygiene.change(worn, hands, "recovery")
            starts.append((*at_once, *changed))
        return starts

    def _must_change(self, gloves: str, start: _Start) -> bool:
        """Torn, and something is still to come off with these gloves on."""
        torn = any(fault.split(":")[1] == gloves for fault in start.faults)
        followed = TORN_GLOVE_RULE not in self.plan.policy.switched_off
        return torn and followed and bool(removals_of(start.worn, self.catalogue))

    def _bared(self, worn: tuple[str, ...], hands: Hands) -> tuple[Placed, ...]:
        """Gloves over the last pair off, one after the other; then the last pair changed."""
        placed: list[Placed] = []
        while hands.gloves is not None and hands.gloves != lowest_gloves(worn, self.catalogue):
            removal = Removal(((hands.gloves,),))
            before, hands = self.hygiene.before(removal, worn, hands, "")
            off, hands = self.hygiene.take_off(removal, worn, hands)
            placed += [*before, *off]
            worn = tuple(item for item in worn if item not in removal.items)
        changed, _ = self.hygiene.change(worn, hands, "recovery")
        return (*placed, *changed)

    def _search(self, start: _Start, first: tuple[Placed, ...]) -> tuple[Placed, ...]:
        worn, contaminated = start.worn, start.assumed
        hands = Hands(top_gloves(worn, self.catalogue), False)
        if first:
            program = self._replay(start, first)
            after = reach(program).after[-1]
            worn = program.worn[-1]
            contaminated = frozenset(program.surfaces[n] for n in after if not program.surfaces[n].startswith("air."))
            changed = any(one.step.act == "don" for one in first)
            helped = not changed and any(one.step.who in TOGETHER for one in first)
            hands = Hands(top_gloves(worn, self.catalogue), changed, helped)
        search = Search(
            self.hygiene,
            self.catalogue,
            setting_for(self.plan.case, self.catalogue),
            rules_in_force(self.plan.case, self.plan.policy, self.catalogue),
            start.zone,
            faults=self._faults(start.faults, worn),
        )
        return search.run(Start(worn, hands, contaminated)).placed

    def _replay(self, start: _Start, placed: tuple[Placed, ...]) -> Program:
        """The program of these steps from this start, known faults acting."""
        order = self.order.model_copy(
            update={
                "worn": start.worn,
                "zone": start.zone,
                "steps": tuple(one.step for one in placed) or (Step(act="confirm"),),
                "loads": dict.fromkeys(sorted(start.assumed), "high"),
            }
        )
        program = compile_order(order, self.catalogue)
        known = {number for number, event in enumerate(program.events) if event.id in start.faults}
        ops = tuple(replace(op, event=NO_EVENT) if op.event in known else op for op in program.ops)
        return replace(program, ops=ops)

    def _new_reach(self, program: Program, assumed: frozenset[str]) -> int:
        """Zero-slip reaches beyond what the start has already reached and hands that are cleaned again."""
        return sum(
            one.surface not in assumed
            and (one.endpoint in ("mucosa", "helper") or (one.endpoint == "skin" and one.when == "at-end"))
            for one in as_taught(program)
        )


def recover(plan: Plan, catalogue: Catalogue, at: str, happened: Happened) -> Recovery:
    """The best way on after what happened at a step of the way out, replayed from its stated start."""
    return Recoverer(plan, catalogue).recover(at, happened)


def recoveries(
    plan: Plan, catalogue: Catalogue, progress: Callable[[int, int], None] | None = None
) -> tuple[Recovery, ...]:
    """For every step of the way out: one envelope recovery, and one for each single slip.

    They are approved with the plan.
    """
    recoverer = Recoverer(plan, catalogue)
    total = len(recoverer.program.steps)
    found: list[Recovery] = []
    for number, at in enumerate(recoverer.program.steps):
        if progress:
            progress(number, total)
        found.append(recoverer.recover(at, Happened(envelope=True)))
        found.extend(recoverer.recover(at, Happened(events=(slip,))) for slip in recoverer.slips_at(number))
    return tuple(found)


def matching(
    found: Iterable[Recovery], at: str, worn: tuple[str, ...], contaminated: frozenset[str], happened: tuple[str, ...]
) -> Recovery | None:
    """The approved recovery that fits: worn set equal, assumed contamination covers the actual; the narrowest first."""
    fitting = [one for one in found if one.at == at and set(one.worn) == set(worn) and contaminated <= set(one.assumed)]
    return min(fitting, key=lambda one: (one.happened != happened, len(one.assumed)), default=None)
