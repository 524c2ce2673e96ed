"""The whole catalogue of cases, planned and assured; identical work is done once.

    gather(...)      cases sorted into works (what the way out depends on), and cases that have no plan
    Prover.outcome   one work planned and checked

The report on them is made in `proved.py`. A work is a way out up to the words of its plan: what is worn, the setting,
the rules in force and the policy that shapes hygiene. Cases of one work have the same compiled program; works may share
a program too, so programs are counted apart.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Collection, Iterator
from dataclasses import dataclass
from typing import Literal

from vestry.contact.check import SEVERITY, Verdict, check
from vestry.contact.compiler import compile_order
from vestry.contact.exposure import clears
from vestry.contact.program import Program
from vestry.sequence.assurance import EndpointClass, Route
from vestry.sequence.assuring import ORDER, program_of
from vestry.sequence.case import Case
from vestry.sequence.ensemble import chosen_items, worn_in_order
from vestry.sequence.errors import NoPlan
from vestry.sequence.every_case import Choices, policies, surroundings
from vestry.sequence.kept import KeptSteps
from vestry.sequence.lane import left_in_lane
from vestry.sequence.people import require_people
from vestry.sequence.plan import Plan
from vestry.sequence.planner import plan_wearer
from vestry.sequence.policy import Policy
from vestry.sequence.requirements import requirements_of
from vestry.sequence.routes import route
from vestry.sequence.rules import rules_in_force
from vestry.sequence.setting import setting_for
from vestry.sequence.team import order_of_member, record_for, team_of
from vestry.trade import Catalogue
from vestry.trade.values import Requirement, Role, Value

# Fields of a policy that only choose what is worn, or that no step depends on. Every other field is part of a work.
CHOOSE_WHAT_IS_WORN = frozenset(
    {
        "respirator", "garment", "hooded_coverall", "with_apron", "with_hair_cover", "with_hood", "with_foot_covers",
        "foot_covers", "eye_protection", "mask_for_stable_haemorrhagic",
    }
)  # fmt: skip
NO_STEP_DEPENDS = frozenset({"format_version", "limit_minutes", "limit_source", "jurisdiction", "switched_off"})
When = Literal["ever", "at-end"]


# ---- works ---------------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Work:
    """One way out to plan and check, with every case that it answers. `key` names it."""

    key: str
    first: Choices
    policy: Policy
    cases: tuple[str, ...]


@dataclass(frozen=True)
class Without:
    """Cases without a plan, and why: a reason, and the sites that the gear leaves open."""

    why: str
    open_sites: tuple[str, ...]
    cases: tuple[str, ...]


@dataclass(frozen=True)
class Gathered:
    """All cases that were chosen: by work, and those that have no plan."""

    cases: int
    works: tuple[Work, ...]
    without: tuple[Without, ...]


def gather(catalogue: Catalogue, only: Collection[str] = (), nth: int = 1) -> Gathered:
    """Every nth case of the catalogue, of those only that have all of these words, sorted into works."""
    return _Gathering(catalogue).gather(frozenset(only), nth)


class _Gathering:
    """What a case comes to depends on few things of its surroundings, so it is worked out once for each of those."""

    def __init__(self, catalogue: Catalogue) -> None:
        self.catalogue = catalogue
        self.policies = [
            (number, words, policy, *_shape(policy))
            for number, (words, policy) in enumerate(policies(catalogue).items())
        ]
        self.chosen_for: dict[object, tuple[str, ...]] = {}
        self.worn: dict[object, tuple[str, ...] | NoPlan] = {}
        self.people: dict[object, NoPlan | None] = {}
        self.first: dict[str, tuple[Choices, Policy]] = {}
        self.names: dict[str, list[str]] = {}
        self.none: dict[tuple[str, tuple[str, ...]], list[str]] = {}
        self.alike: dict[object, dict[tuple[str, ...], str | tuple[str, tuple[str, ...]]]] = {}

    def gather(self, only: frozenset[str], nth: int) -> Gathered:
        cases = 0
        for place, (hazard, presentation, task) in enumerate(surroundings(self.catalogue)):
            around = _Around(self.catalogue, Case(hazard=hazard, presentation=presentation, tasks=(task,)))
            alike = self.alike.setdefault(around.signature(), {})
            wanted = only - {hazard, presentation, task}
            for number, words, policy, picks, shapes in self.policies:
                if (place * len(self.policies) + number) % nth or not wanted.issubset(words):
                    continue
                cases += 1
                if words not in alike:
                    alike[words] = self._comes_to(policy, picks, shapes, around)
                self._add(Choices(hazard, presentation, task, words), policy, alike[words])
        works = [Work(key, *self.first[key], tuple(names)) for key, names in self.names.items()]
        without = [Without(why, sites, tuple(names)) for (why, sites), names in self.none.items()]
        return Gathered(cases, tuple(sorted(works, key=lambda work: work.first.name)), tuple(without))

    def _add(self, choices: Choices, policy: Policy, comes_to: str | tuple[str, tuple[str, ...]]) -> None:
        if isinstance(comes_to, str):
            self.first.setdefault(comes_to, (choices, policy))
            self.names.setdefault(comes_to, []).append(choices.name)
        else:
            self.none.setdefault(comes_to, []).append(choices.name)

    def _comes_to(
        self, policy: Policy, picks: object, shapes: object, around: _Around
    ) -> str | tuple[str, tuple[str, ...]]:
        """The key of the work, or why there is no plan and which sites are open."""
        try:
            worn = self._worn(policy, picks, around)
            self._people(policy, worn, around)
        except NoPlan as none:
            return none.why, tuple(sorted({f"{one.site} by {one.route}" for one in none.reasons}))
        return hashlib.sha256(repr((worn, shapes, around.key(policy))).encode()).hexdigest()

    def _worn(self, policy: Policy, picks: object, around: _Around) -> tuple[str, ...]:
        needs = around.needs(policy.jurisdiction)
        ids = tuple(need.id for need in needs)
        asked = (picks, ids, around.mask_will_do)
        if asked not in self.chosen_for:
            self.chosen_for[asked] = tuple(sorted(chosen_items(around.case, policy, self.catalogue, needs)))
        items = self.chosen_for[asked]
        if (items, ids) not in self.worn:
            try:
                self.worn[(items, ids)] = worn_in_order(items, needs, self.catalogue)
            except NoPlan as none:
                self.worn[(items, ids)] = none
        worn = self.worn[(items, ids)]
        if isinstance(worn, NoPlan):
            raise worn
        return worn

    def _people(self, policy: Policy, worn: tuple[str, ...], around: _Around) -> None:
        key = (around.family, worn, policy.observer, policy.assistant, policy.switched_off)
        if key not in self.people:
            try:
                require_people(around.case, policy, worn, self.catalogue)
                self.people[key] = None
            except NoPlan as none:
                self.people[key] = none
        none_here = self.people[key]
        if none_here is not None:
            raise none_here


class _Around:
    """What hazard, presentation and task alone decide; asked once for many policies."""

    def __init__(self, catalogue: Catalogue, case: Case) -> None:
        self.catalogue, self.case = catalogue, case
        self.family = catalogue.hazards[case.hazard].family
        self.setting = setting_for(case, catalogue)
        self.mask_will_do = self.family == "haemorrhagic" and case.presentation == "dry"
        self._records = tuple(record_for(role, case, catalogue).id for role in ("observer", "assistant"))
        self._needs: dict[str, tuple[Requirement, ...]] = {}
        self._keys: dict[object, object] = {}

    def signature(self) -> object:
        """Everything of the surroundings that a work or a missing plan can depend on."""
        needs = tuple(tuple(need.id for need in self.needs(one)) for one in self.catalogue.jurisdictions)
        return (needs, self.mask_will_do, self.family, self.setting, self._records)

    def needs(self, jurisdiction: str) -> tuple[Requirement, ...]:
        if jurisdiction not in self._needs:
            self._needs[jurisdiction] = requirements_of(self.case, self.catalogue, jurisdiction)
        return self._needs[jurisdiction]

    def key(self, policy: Policy) -> object:
        """What the case adds to a work: presentation, air, whether the agents clear, and the rules in force."""
        asked = (policy.switched_off, policy.glove_agent, policy.hand_agent, policy.surface_agent)
        if asked not in self._keys:
            rules = rules_in_force(self.case, policy, self.catalogue)
            agents = {"gloves": policy.glove_agent, "hands": policy.hand_agent, "surfaces": policy.surface_agent}
            cleared = tuple(clears(self.catalogue, agent, on, self.setting) for on, agent in agents.items())
            around = (self.setting.presentation, self.setting.air, cleared)
            self._keys[asked] = (around, tuple(rule.id for rule in rules), self._records)
        return self._keys[asked]


def _shape(policy: Policy) -> tuple[object, object]:
    """A policy in two halves: what chooses what is worn, and what shapes the steps."""
    fields = policy.model_dump()
    picks = tuple(fields[name] for name in sorted(CHOOSE_WHAT_IS_WORN))
    shapes = tuple((name, fields[name]) for name in fields if name not in CHOOSE_WHAT_IS_WORN | NO_STEP_DEPENDS)
    return picks, shapes


# ---- outcomes ------------------------------------------------------------------------------------------------------


class Least(Value):
    """The fewest errors by which one endpoint class is reached; None: more than the order searched."""

    endpoint: EndpointClass
    latent: bool
    when: When
    errors: int | None


class Weak(Value):
    """One error that suffices, by act and not by place, and the worst endpoint that it reaches."""

    event: str
    endpoint: EndpointClass


class Beside(Value):
    """A role whose own way out is not clean, and its routes as taught."""

    role: Role
    routes: tuple[Route, ...]


class Outcome(Value):
    """What the model says of one work.

    program    SHA-256 of the compiled program; None where no order of removals exists (`why` says so)
    routes     routes as taught that make it not clean: to mucosa, a helper, or skin not clean at the end
    team       those beside the wearer whose own way out is not clean
    """

    program: str | None
    why: str = ""
    steps: int = 0
    clean: bool = False
    least: tuple[Least, ...] = ()
    weak: tuple[Weak, ...] = ()
    routes: tuple[Route, ...] = ()
    gaps: tuple[str, ...] = ()
    team: tuple[Beside, ...] = ()


class Prover:
    """Plans and checks works; what several works share (a program, a helper's way out) is checked once."""

    def __init__(self, catalogue: Catalogue) -> None:
        self.catalogue = catalogue
        self.checked: dict[str, Outcome] = {}
        self.teams: dict[object, tuple[Beside, ...]] = {}
        self.shared = KeptSteps()

    def outcome(self, work: Work) -> Outcome:
        """The answer on one work."""
        case = work.first.case()
        try:
            plan = plan_wearer(case, work.policy, self.catalogue, shared=self.shared)
            program = program_of(plan, self.catalogue)
            name = program_name(program)
            if name not in self.checked:
                self.checked[name] = _said(name, program, check(program, ORDER))
            return self.checked[name].model_copy(update={"team": self._team(plan, program)})
        except NoPlan as none:
            return Outcome(program=None, why=none.why)

    def _team(self, plan: Plan, program: Program) -> tuple[Beside, ...]:
        left = frozenset(name for name in left_in_lane(program, self.catalogue) if name.startswith("place."))
        records = tuple(record_for(role, plan.case, self.catalogue).id for role in ("observer", "assistant"))
        setting = setting_for(plan.case, self.catalogue)
        rules = tuple(rule.id for rule in rules_in_force(plan.case, plan.policy, self.catalogue))
        key = (records, setting, rules, _shape(plan.policy)[1], left)
        if key not in self.teams:
            self.teams[key] = tuple(self._unclean(plan, left))
        return self.teams[key]

    def _unclean(self, plan: Plan, left: frozenset[str]) -> Iterator[Beside]:
        for member in team_of(plan.case, plan.policy, self.catalogue, left):
            order = order_of_member(member, plan.case, self.catalogue, left)
            program = compile_order(order, self.catalogue)
            verdict = check(program, 1)
            if not verdict.clean:
                yield Beside(role=member.role, routes=_deciding(program, verdict))


def program_name(program: Program) -> str:
    """SHA-256 over the compiled program."""
    text = json.dumps(program.as_json(), sort_keys=True, separators=(",", ":"))
    return hashlib.sha256(text.encode()).hexdigest()


def _said(name: str, program: Program, verdict: Verdict) -> Outcome:
    least = [
        Least(endpoint=kind, latent=latent, when=when, errors=_fewest(row.ever if when == "ever" else row.at_end))  # type: ignore[arg-type]
        for latent in (False, True)
        for kind, row in verdict.counts("all", latent).items()
        for when in ("ever", "at-end")
    ]
    weak: dict[str, str] = {}
    for one in verdict.weak:
        event = one.events[0].partition("@")[0]
        weak[event] = min(weak.get(event, one.endpoint), one.endpoint, key=SEVERITY.index)
    return Outcome(
        program=name,
        steps=len(program.steps),
        clean=verdict.clean,
        least=tuple(least),
        weak=tuple(Weak(event=event, endpoint=kind) for event, kind in sorted(weak.items())),  # type: ignore[arg-type]
        routes=_deciding(program, verdict),
        gaps=program.gaps,
    )


def _deciding(program: Program, verdict: Verdict) -> tuple[Route, ...]:
    """The routes as taught that make a way out not clean."""
    return tuple(
        route(program, one)
        for one in verdict.reached
        if one.endpoint in ("mucosa", "helper") or (one.endpoint == "skin" and one.when == "at-end")
    )


def _fewest(counts: tuple[int, ...]) -> int | None:
    return next((size for size, count in enumerate(counts) if count), None)
