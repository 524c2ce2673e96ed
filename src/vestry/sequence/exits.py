"""Exits of those inside when a case changes: from what is worn now and what may be contaminated, for the case now."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field

from vestry.contact.check import as_taught
from vestry.contact.exposure import loads_on_arrival
from vestry.contact.program import Program
from vestry.contact.reach import reach
from vestry.contact.surfaces import endpoint_classes, surface
from vestry.sequence.assurance import Assurance
from vestry.sequence.assuring import program_of
from vestry.sequence.case import Case
from vestry.sequence.case_change import Exit, Inside, PractisedExit
from vestry.sequence.comparing import compare
from vestry.sequence.comparison import Seconds
from vestry.sequence.errors import NoPlan
from vestry.sequence.kept import KeptSteps
from vestry.sequence.leaving import Now, way_out
from vestry.sequence.people import require_people
from vestry.sequence.plan import EnsembleItem, Plan, PlanStep, Reason, WayStart, numbered
from vestry.sequence.planner import removals_broken
from vestry.sequence.setting import setting_for
from vestry.sequence.subject import Subject, subject_of_plan
from vestry.sequence.timing import total
from vestry.sequence.waste import stream_for
from vestry.sequence.whereabouts import Whereabouts
from vestry.trade import BadFacts, Catalogue, Step

ON_A_STEP = ("doff", "don", "wipe", "release")


@dataclass(frozen=True)
class Practised:
    """A plan whose exit may be taken: what they were dressed by, or an approved procedure of the unit."""

    name: str
    title: str
    plan: Plan
    approved: bool


@dataclass
class Exits:
    """Exits found so far, and the compiled way that is taken of each, by name; people who start alike share one."""

    own: Practised
    others: tuple[Practised, ...]
    case: Case
    catalogue: Catalogue
    found: dict[object, Exit | str] = field(default_factory=dict)
    programs: dict[str, Program] = field(default_factory=dict)
    shared: KeptSteps = field(default_factory=KeptSteps)

    def __post_init__(self) -> None:
        self.plan, self.policy = self.own.plan, self.own.plan.policy
        self.was, self.now = (setting_for(one, self.catalogue) for one in (self.plan.case, self.case))

    @property
    def by_name(self) -> dict[str, Exit]:
        """Every exit by the name of its plan."""
        return {one.plan.hash: one for one in self.found.values() if isinstance(one, Exit)}

    def leave(self, where: Whereabouts, inside: Inside, add: tuple[str, ...]) -> Exit | str:
        """The exit of one of them, with these pieces put on first; or why there is none."""
        now = Now(
            self._ensemble((*where.worn, *add)),
            self._start(where, inside, add),
            tuple(_as_written(step) for step in where.unbroken(self.plan)),
        )
        key = (now, where.at)
        if key not in self.found:
            self.found[key] = self._exit(now, where)
        return self.found[key]

    def _ensemble(self, worn: tuple[str, ...]) -> tuple[EnsembleItem, ...]:
        known = {one.item: one for one in self.plan.ensemble}
        now = (Reason(why="worn-now", source="hospital"),)
        return tuple(known.get(item) or EnsembleItem(item=item, reasons=now) for item in worn)

    # ---- the start ----

    def _start(self, where: Whereabouts, inside: Inside, add: tuple[str, ...]) -> WayStart | None:
        """What may be contaminated when the way out starts; None: just what the room of the new case puts there."""
        named = {name for name in inside.contaminated if where.still_there(name, self.catalogue)}
        if where.out:
            before = self._by_the_way(where, inside)
            return WayStart(zone=where.zone, contaminated=tuple(sorted(named | before)), alone=True)
        named |= {surface(item, face.id) for item in add for face in self.catalogue.items[item].faces}
        named |= self._loads(where.worn)
        besides = named - set(loads_on_arrival(self.catalogue, (*where.worn, *add), self.now))
        return WayStart(zone=self.policy.doffing_zone, contaminated=tuple(sorted(besides))) if besides else None

    def _loads(self, worn: tuple[str, ...]) -> set[str]:
        """What the rooms of the two cases put on what is worn."""
        return set().union(*(loads_on_arrival(self.catalogue, worn, one) for one in (self.was, self.now)))

    def _by_the_way(self, where: Whereabouts, inside: Inside) -> set[str]:
        """What is contaminated after the steps so far, by the new case and by the one before.

        Where no step is named, everything on them is taken as it would be in the room.
        """
        if where.at is None:
            return self._loads(where.worn)
        found: set[str] = set()
        for case in (self.plan.case, self.case):
            program = program_of(self.plan.model_copy(update={"case": case}), self.catalogue)
            events = [number for number, event in enumerate(program.events) if event.id in inside.happened]
            after = reach(program, events).after[program.steps.index(where.at) + 1]
            found |= {program.surfaces[number] for number in after}
        return {name for name in found if where.still_there(name, self.catalogue)}

    # ---- the way out ----

    def _exit(self, now: Now, where: Whereabouts) -> Exit | str:
        try:
            left = way_out(self.case, self.policy, now, self.catalogue, self.shared, self._broken_already(self.plan))
        except NoPlan as none:
            return none.why
        computed = subject_of_plan(left.plan, left.plan.hash, "", self.catalogue)
        practised = self._practised(now, where, computed)
        taken = next((subject for one, subject in practised if one.stands), None)
        beside = taken or next((subject for _, subject in practised), None)
        self.programs[left.plan.hash] = (taken or computed).program
        same = beside is None or _done(beside.steps) == _done(computed.steps)
        return Exit(
            plan=left.plan,
            assurance=computed.assurance,
            exposed=_exposed(left.plan, self.catalogue),
            clean=not further(computed.program, left.plan.start),
            fewest=_fewest(computed.assurance),
            rules_left=left.rules_left,
            people=self._people(now.worn),
            practised=tuple(one for one, _ in practised),
            take=taken.name if taken else None,
            comparison=None if beside is None or same else compare(beside, computed),
            time=_time(computed),
        )

    def _broken_already(self, plan: Plan) -> tuple[str, ...]:
        """Rules that a plan breaks for its own case: who approved it knew."""
        return removals_broken(plan.case, plan.policy, plan, self.catalogue)

    def _people(self, worn: tuple[str, ...]) -> str | None:
        try:
            require_people(self.case, self.policy, worn, self.catalogue)
        except NoPlan as none:
            return none.why
        return None

    # ---- exits that are practised ----

    def _practised(self, now: Now, where: Whereabouts, computed: Subject) -> list[tuple[PractisedExit, Subject]]:
        """Exits of plans that wear the same: those that stand first, what they were dressed by before others."""
        found = []
        for known in (self.own, *self.others):
            own = known is self.own
            if not own and (where.out or known.plan.hash == self.plan.hash):
                continue
            steps = where.left_of(known.plan, now.worn)
            subject = None if steps is None else self._subject(known, steps, now)
            if subject is not None:
                found.append((self._judged(known, subject, own, computed), subject))
        return sorted(found, key=lambda one: (not one[0].stands, not one[0].own, not one[0].approved))

    def _subject(self, known: Practised, steps: tuple[PlanStep, ...], now: Now) -> Subject | None:
        """A practised exit from this start, for the new case; None where a step of it cannot be done on these facts."""
        plan = known.plan.model_copy(
            update={
                "case": self.case.model_copy(update={"wearers": 1}),
                "ensemble": now.ensemble,
                "steps": numbered(self._binned(step, known.plan) for step in steps),
                "start": now.start,
                "team": (),
                "turnaround": (),
            }
        )
        try:
            return subject_of_plan(plan, known.name, known.title, self.catalogue)
        except (BadFacts, KeyError):
            return None

    def _binned(self, step: PlanStep, plan: Plan) -> PlanStep:
        """The step with the waste stream of the new case; equal steps are numbered anew."""
        waste = stream_for(step.items, self.case, plan.policy, self.catalogue) if step.waste else None
        return step.model_copy(update={"id": _content(step.id), "waste": waste})

    def _judged(self, known: Practised, subject: Subject, own: bool, computed: Subject) -> PractisedExit:
        plan = subject.plan
        assert plan is not None
        reached = further(subject.program, plan.start)
        same = _done(subject.steps) == _done(computed.steps)
        assurance = (computed if same else subject).assurance  # the same way from the same start: judged once
        knowingly = self._broken_already(known.plan)
        broken = removals_broken(self.case, plan.policy, plan, self.catalogue)
        broken = tuple(rule for rule in broken if rule not in knowingly)
        return PractisedExit(
            name=known.name,
            title=known.title,
            plan=known.plan.hash,
            own=own,
            approved=known.approved,
            stands=not reached and not broken,
            clean=not reached,
            rules_broken=broken,
            reached=tuple(one for one in assurance.reached if one.surface in reached),
            fewest=_fewest(assurance),
            same=same,
        )


def further(program: Program, start: WayStart | None) -> frozenset[str]:
    """Zero-slip reaches of mucosa, helpers, and skin not clean again at the end, beyond what may be reached already."""
    already = set(start.contaminated) if start else set()
    return frozenset(
        one.surface
        for one in as_taught(program)
        if one.surface not in already
        and (one.endpoint in ("mucosa", "helper") or (one.endpoint == "skin" and one.when == "at-end"))
    )


def _exposed(plan: Plan, catalogue: Catalogue) -> tuple[str, ...]:
    if plan.start is None:
        return ()
    kinds = endpoint_classes(catalogue, plan.worn)
    return tuple(name for name in plan.start.contaminated if kinds.get(name) in ("mucosa", "skin", "helper"))


def _fewest(assurance: Assurance) -> int | None:
    return min((one.further for one in assurance.steps if one.further is not None), default=None)


def _time(subject: Subject) -> Seconds:
    span = total(subject.spans)
    return Seconds(seconds=span.seconds, least=span.least, most=span.most)


def _done(steps: Iterable[PlanStep]) -> list[PlanStep]:
    """Steps as they are done: how they are numbered and where a stop is spoken does not count."""
    return [step.model_copy(update={"id": _content(step.id), "stop_point": None}) for step in steps]


def _content(step: str) -> str:
    return step.partition("~")[0]


def _as_written(step: PlanStep) -> Step:
    """A step of a plan as it stands in an order."""
    return Step(
        act=step.act,
        items=step.items if step.act in ON_A_STEP else (),
        technique=step.technique,
        who=step.who,
        agent=step.agent,
        to=step.to,
    )
