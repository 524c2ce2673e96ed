"""Recovery: after a deviation, a tear or soiling at one step, the best way on from there.

The worn set is known, and what may be contaminated is what the model says with the events that happened. The
continuation
is searched from that state, once going straight on and once with a glove change first, and replayed by the checker
from its
stated start before it is returned. A recovery cannot undo an exposure: what was reached already is named.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass

from vestry.contact.check import as_taught, check
from vestry.contact.compiler import compile_order
from vestry.contact.program import Program
from vestry.contact.reach import reach
from vestry.sequence.assurance import EndpointCounts, Recovery
from vestry.sequence.assuring import order_of, program_of
from vestry.sequence.plan import Plan
from vestry.sequence.planner import setting_for
from vestry.sequence.removal import Hands, Hygiene, Placed, lowest_gloves, top_gloves
from vestry.sequence.rules import rules_in_force
from vestry.sequence.search import Search, Start
from vestry.trade import BadFacts, Catalogue, Order, Problem, Step

ENVELOPE = "envelope"
REPLAY_ORDER = 2


@dataclass(frozen=True)
class Happened:
    """What happened at a step: slips by event id, faults, and surfaces seen soiled. `envelope`.

    Any slip of the step.
    """

    events: tuple[str, ...] = ()
    soiled: tuple[str, ...] = ()
    envelope: bool = False


class Recoverer:
    """Recoveries of one plan; searches are kept, since many deviations leave the same state."""

    def __init__(self, plan: Plan, catalogue: Catalogue) -> None:
        self.plan, self.catalogue = plan, catalogue
        self.program = program_of(plan, catalogue)
        self.order = order_of(plan)
        self.hygiene = Hygiene(plan.case, plan.policy, catalogue)
        self.kept: dict[object, tuple[tuple[Placed, ...], bool, tuple[EndpointCounts, ...]]] = {}

    def recover(self, at: str, happened: Happened) -> Recovery:
        """The recovery for what happened at a step; BadFacts when the step or an event is unknown."""
        number = self._number(at)
        events = self._events(number, happened)
        names = happened.events + ((ENVELOPE,) if happened.envelope else ())
        assumed = self._contaminated(number, events) | set(happened.soiled)
        worn, zone = self.program.worn[number + 1], self._zone(number)
        key = (worn, zone, frozenset(assumed), happened.soiled)
        if key not in self.kept:
            self.kept[key] = self._best(worn, zone, frozenset(assumed), happened.soiled)
        placed, clean, further = self.kept[key]
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
        return {self.program.surfaces[surface] for surface in after if not self._is_gone(surface, number)}

    def _is_gone(self, surface: int, number: int) -> bool:
        owner = self.program.surfaces[surface].partition(".")[0]
        return (owner in self.catalogue.items and owner not in self.program.worn[number + 1]) or owner == "air"

    def _zone(self, number: int) -> str:
        zone: str = self.order.zone
        for step in self.plan.phase("doffing")[: number + 1]:
            zone = step.to or zone
        return zone

    def _exposed(self, contaminated: Iterable[str]) -> set[str]:
        kinds = {self.program.surfaces[n]: kind for n, kind in self.program.endpoints}
        return {name for name in contaminated if kinds.get(name) in ("mucosa", "skin", "helper")}

    # ---- the way on -----------------------------------------------------------------------------------------

    def _best(
        self, worn: tuple[str, ...], zone: str, assumed: frozenset[str], soiled: tuple[str, ...]
    ) -> tuple[tuple[Placed, ...], bool, tuple[EndpointCounts, ...]]:
        candidates = []
        for first in self._first_steps(worn, soiled):
            placed = (*first, *self._search(worn, zone, assumed, first))
            program = compile_order(self._replay(worn, zone, assumed, placed), self.catalogue)
            verdict = check(program, REPLAY_ORDER)
            candidates.append((self._new_reach(program, assumed), verdict.vector(), len(placed), placed, verdict))
        reached, _, _, placed, verdict = min(candidates, key=lambda one: one[:3])
        further = tuple(
            EndpointCounts(endpoint=row.endpoint, ever=row.ever, at_end=row.at_end, margin=row.margin)  # type: ignore[arg-type]
            for row in verdict.counts().values()
        )
        return placed, reached == 0, further

    def _first_steps(self, worn: tuple[str, ...], soiled: tuple[str, ...]) -> list[tuple[Placed, ...]]:
        """Straight on, or with a glove change first; what is seen soiled is wiped before anything else."""
        hands = Hands(top_gloves(worn, self.catalogue), False)
        wipes = tuple(
            Placed(Step(act="wipe", item=owner, faces=(face,), agent=self.plan.policy.surface_agent), "recovery")
            for owner, _, face in (name.partition(".") for name in soiled)
            if owner in worn
        )
        starts = [wipes]
        if hands.gloves is not None and hands.gloves == lowest_gloves(worn, self.catalogue):
            changed, _ = self.hygiene.change(worn, hands, "recovery")
            starts.append((*wipes, *changed))
        return starts

    def _search(
        self, worn: tuple[str, ...], zone: str, assumed: frozenset[str], first: tuple[Placed, ...]
    ) -> tuple[Placed, ...]:
        hands = Hands(top_gloves(worn, self.catalogue), False)
        contaminated = assumed
        if first:
            program = compile_order(self._replay(worn, zone, assumed, first), self.catalogue)
            after = reach(program).after[-1]
            worn = program.worn[-1]
            contaminated = frozenset(program.surfaces[n] for n in after if not program.surfaces[n].startswith("air."))
            changed = any(one.step.act == "don" for one in first)
            hands = Hands(top_gloves(worn, self.catalogue), changed)
        search = Search(
            self.hygiene,
            self.catalogue,
            setting_for(self.plan.case, self.catalogue),
            rules_in_force(self.plan.case, self.plan.policy, self.catalogue),
            zone,
        )
        return search.run(Start(worn, hands, contaminated)).placed

    def _replay(self, worn: tuple[str, ...], zone: str, assumed: frozenset[str], placed: tuple[Placed, ...]) -> Order:
        steps = tuple(one.step for one in placed) or (Step(act="confirm"),)
        return self.order.model_copy(
            update={
                "worn": worn,
                "zone": zone,
                "steps": steps,
                "loads": dict.fromkeys(sorted(assumed), "high"),
            }
        )

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
