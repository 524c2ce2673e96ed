"""From a case and a policy to a plan: ensemble, donning, the way in, doffing, the last look."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from vestry.contact.taught import step_id, taught_step, worn_after
from vestry.sequence.assuring import program_of
from vestry.sequence.case import Case
from vestry.sequence.checking import check_case_and_policy
from vestry.sequence.ensemble import ensemble_of
from vestry.sequence.errors import NoPlan
from vestry.sequence.kept import KeptSteps
from vestry.sequence.lane import lane_program, left_in_lane, turnaround_of
from vestry.sequence.people import require_people
from vestry.sequence.plan import EnsembleItem, Phase, Plan, PlanStep, StopPoint, numbered
from vestry.sequence.policy import Policy
from vestry.sequence.removal import FACE_KINDS, Hands, Hygiene, Placed, Removal, lowest_gloves, removals_of, top_gloves
from vestry.sequence.rules import allowed, rules_in_force, trapped
from vestry.sequence.search import Found, Search, Start
from vestry.sequence.setting import setting_for
from vestry.sequence.team import team_of
from vestry.sequence.waste import stream_for
from vestry.trade import Catalogue, Step
from vestry.trade.values import Who

Progress = Callable[[str, int], None]


def plan_case(case: Case, policy: Policy, catalogue: Catalogue, progress: Progress | None = None) -> Plan:
    """The plan for a case. BadFacts names wrong fields; NoPlan says what the gear leaves open.

    The doffing order is the unit's own where the policy gives one; else it is searched.
    """
    check_case_and_policy(case, policy, catalogue)
    return with_team(plan_wearer(case, policy, catalogue, progress), catalogue)


def plan_wearer(
    case: Case,
    policy: Policy,
    catalogue: Catalogue,
    progress: Progress | None = None,
    shared: KeptSteps | None = None,
) -> Plan:
    """The wearer's part of a plan: ensemble, donning, the way in, doffing. The team is not yet in it.

    shared   compiled steps kept between plans of one catalogue; for who makes many
    """
    if progress:
        progress("ensemble", 0)
    ensemble = ensemble_of(case, policy, catalogue)
    worn = tuple(one.item for one in ensemble)
    require_people(case, policy, worn, catalogue)
    placed, origin = doffing_order(case, policy, catalogue, worn, progress, shared)
    writer = Writer(case, policy, catalogue, ensemble)
    steps = writer.write(placed)
    pairs = sum(catalogue.items[item].kind == "gloves" for item in worn)
    pairs += sum(one.step.act == "don" and one.step.item == "fresh-gloves" for one in placed)
    return Plan(
        case=case,
        policy=policy,
        ensemble=ensemble,
        steps=steps,
        origin="own-order" if origin == "own-order" else "searched",
        fresh_pairs=pairs,
        turnaround=turnaround_of(case, policy, catalogue),
    )


def with_team(plan: Plan, catalogue: Catalogue) -> Plan:
    """The plan with what observer and assistant wear and how they undress after the last wearer."""
    lane = lane_program(
        program_of(plan, catalogue),
        plan.case.wearers,
        plan.policy,
        catalogue,
        setting_for(plan.case, catalogue),
    )
    left = {name for name in left_in_lane(lane, catalogue) if name.startswith("place.")}
    return plan.model_copy(update={"team": team_of(plan.case, plan.policy, catalogue, left)})


def doffing_order(
    case: Case,
    policy: Policy,
    catalogue: Catalogue,
    worn: tuple[str, ...],
    progress: Progress | None = None,
    shared: KeptSteps | None = None,
) -> tuple[tuple[Placed, ...], str]:
    """The steps of the way out, and where their order comes from."""
    hygiene = Hygiene(case, policy, catalogue)
    if policy.doffing_order:
        return own_order(worn, hygiene, policy.doffing_order, catalogue), "own-order"
    found = search_order(case, policy, catalogue, worn, progress, shared)
    return found.placed, "searched"


def search_order(
    case: Case,
    policy: Policy,
    catalogue: Catalogue,
    worn: tuple[str, ...],
    progress: Progress | None = None,
    shared: KeptSteps | None = None,
) -> Found:
    """The best doffing order under the rules in force."""
    report = (lambda labels: progress("doffing", labels)) if progress else None
    search = Search(
        Hygiene(case, policy, catalogue),
        catalogue,
        setting_for(case, catalogue),
        rules_in_force(case, policy, catalogue),
        policy.doffing_zone,
        report,
        shared=shared,
    )
    return search.run(Start(worn, Hands(top_gloves(worn, catalogue), False)))


def own_order(
    worn: tuple[str, ...], hygiene: Hygiene, kinds: tuple[str, ...], catalogue: Catalogue
) -> tuple[Placed, ...]:
    """The unit's own order of removals, by kind (`gloves` stands for gloves worn over others), hygiene placed around
    it. A unit whose parts the order names one by one comes off in that order, still unbroken.

    NoPlan when the order leaves out something worn, or wants something off that is trapped.
    """
    left = list(removals_of(worn, catalogue))
    hands = Hands(top_gloves(worn, catalogue), False)
    placed: list[Placed] = []
    zone: str = hygiene.policy.doffing_zone
    for kind in kinds:
        removal = next((one for one in left if kind in {catalogue.items[item].kind for item in one.items}), None)
        if removal is None:
            continue
        left.remove(removal)
        removal = _parts_as_given(removal, kinds, catalogue)
        if not hygiene.possible(removal, worn) or _traps_itself(removal, worn, catalogue):
            raise NoPlan((), f"{removal.name} cannot come off here: what lies over it holds it")
        before, hands = hygiene.before(removal, worn, hands, zone)
        zone = next((one.step.to for one in before if one.step.to), zone)
        worn = _walk(worn, before, catalogue)
        off, hands = hygiene.take_off(removal, worn, hands)
        worn = _walk(worn, off, catalogue)
        placed += [*before, *off]
    if left:
        raise NoPlan((), f"the order leaves out {', '.join(one.name for one in left)}")
    last, _ = hygiene.finish(worn, hands)
    return (*placed, *last)


def _parts_as_given(removal: Removal, kinds: tuple[str, ...], catalogue: Catalogue) -> Removal:
    """A unit whose every part the order names: its parts one by one, in that order."""
    kind = {item: catalogue.items[item].kind for item in removal.items}
    if len(kind) == 1 or not set(kind.values()) <= set(kinds):
        return removal
    return Removal(tuple((item,) for item in sorted(removal.items, key=lambda item: kinds.index(kind[item]))))


def _traps_itself(removal: Removal, worn: tuple[str, ...], catalogue: Catalogue) -> bool:
    """Whether a part would come off before another part that holds it."""
    for part in removal.parts:
        if any(trapped(item, worn, catalogue, part) for item in part):
            return True
        worn = tuple(item for item in worn if item not in part)
    return False


def removals_broken(case: Case, policy: Policy, plan: Plan, catalogue: Catalogue) -> tuple[str, ...]:
    """Rules in force that the plan's order of removals breaks, by id."""
    off = [item for step in plan.phase("doffing") if step.act == "doff" for item in step.items]
    return tuple(
        rule.id
        for rule in rules_in_force(case, policy, catalogue)
        if any(not allowed(item, off[n + 1 :], [rule], catalogue) for n, item in enumerate(off))
    )


def _walk(worn: tuple[str, ...], placed: list[Placed], catalogue: Catalogue) -> tuple[str, ...]:
    for one in placed:
        worn = worn_after(taught_step(one.step, worn, catalogue), worn, catalogue)
    return worn


@dataclass
class Writer:
    """Writes the steps of a plan, phase by phase."""

    case: Case
    policy: Policy
    catalogue: Catalogue
    ensemble: tuple[EnsembleItem, ...]

    def write(self, placed: tuple[Placed, ...]) -> tuple[PlanStep, ...]:
        steps = [*self._before(), *self._donning(), *self._entry(), *self._doffing(placed), *self._after(placed)]
        return numbered(steps)

    def write_out(self, placed: tuple[Placed, ...], looked_at: bool) -> tuple[PlanStep, ...]:
        """The way out alone. `looked_at`: who is half undressed was looked at before the first removal."""
        return numbered([*self._doffing(placed, looked_at), *self._after(placed)])

    def _confirm(self, phase: Phase, topic: str, who: Who = "observer", stop: StopPoint | None = None) -> PlanStep:
        return PlanStep(
            id=f"{phase}.confirm:{topic}",
            phase=phase,
            act="confirm",
            who=who,
            topic=topic,
            stop_point=stop,
        )

    def _before(self) -> list[PlanStep]:
        return [self._confirm("before", topic) for topic in ("area-confirmed", "person-checked", "signals-agreed")]

    def _donning(self) -> list[PlanStep]:
        steps = [PlanStep(id="donning.inspect:gear", phase="donning", act="inspect", who="observer", topic="gear")]
        hands_cleaned = False
        for one in self.ensemble:
            item = self.catalogue.items[one.item]
            if item.kind == "gloves" and not hands_cleaned:
                steps.append(
                    PlanStep(
                        id="donning.hand-hygiene",
                        phase="donning",
                        act="hand-hygiene",
                        technique="rub-bare-hands",
                        agent=self.policy.hand_agent,
                    )
                )
                hands_cleaned = True
            steps.append(PlanStep(id=f"donning.don:{one.item}", phase="donning", act="don", items=(one.item,)))
            if item.kind == "respirator":
                steps.append(self._confirm("donning", "seal-check", "wearer"))
            if item.kind in ("papr-hose", "papr-helmet"):
                steps.append(self._confirm("donning", "flow-check"))
        steps.append(self._confirm("donning", "integrity-check", "assistant" if self.policy.assistant else "observer"))
        steps.append(self._confirm("donning", "range-of-motion", "wearer"))
        return steps

    def _entry(self) -> list[PlanStep]:
        steps = [
            self._confirm("entry", "entry-time", "observer", "before-the-door"),
            PlanStep(id="entry.move:room", phase="entry", act="move", to="room", technique="step-across"),
            self._confirm("entry", "all-clear"),
        ]
        if self.policy.doffing_zone != "room":
            steps.append(
                PlanStep(
                    id=f"entry.move:{self.policy.doffing_zone}",
                    phase="entry",
                    act="move",
                    to=self.policy.doffing_zone,
                    technique="step-across",
                )
            )
        return steps

    def _doffing(self, placed: tuple[Placed, ...], looked_at: bool = False) -> list[PlanStep]:
        worn = tuple(one.item for one in self.ensemble)
        looks = [] if looked_at else self._looks(worn)
        steps = []
        face_next = True
        for number, one in enumerate((*looks, *placed)):
            taught = taught_step(one.step, worn, self.catalogue)
            worn = worn_after(taught, worn, self.catalogue)
            stop: StopPoint | None = "before-first-removal" if number == 0 and looks else None
            if one.step.act == "doff" and face_next and self._starts_on_the_face(one, taught.items, placed):
                stop, face_next = "before-face-protection", False
            steps.append(
                PlanStep(
                    id=step_id(taught.act, taught.items or ((taught.to,) if taught.to else ()), taught.technique.id),
                    phase="doffing",
                    act=one.step.act,
                    items=taught.items,
                    technique=taught.technique.id,
                    who=one.step.who or "wearer",
                    agent=taught.agent,
                    to=one.step.to,
                    topic=one.topic,
                    group=one.group,
                    stop_point=stop,
                    waste=self._waste(taught.items) if one.step.act == "doff" else None,
                )
            )
        return steps

    def _looks(self, worn: tuple[str, ...]) -> list[Placed]:
        """What the observer looks at before the first removal."""
        looks = [Placed(Step(act="inspect", who="observer"), "first", None, "ensemble")]
        if (pair := top_gloves(worn, self.catalogue)) is not None and pair == lowest_gloves(worn, self.catalogue):
            looks.append(Placed(Step(act="inspect", who="observer"), "first", None, "outer-gloves"))
        return looks

    def _after(self, placed: tuple[Placed, ...]) -> list[PlanStep]:
        return [
            PlanStep(
                id="after.inspect:skin-and-clothing",
                phase="after",
                act="inspect",
                who="observer",
                topic="skin-and-clothing",
            ),
            PlanStep(
                id="after.move:clean-side",
                phase="after",
                act="move",
                to="clean-side",
                technique="step-across",
                stop_point="before-leaving",
            ),
            self._confirm("after", "exit-time"),
        ]

    def _starts_on_the_face(self, one: Placed, items: tuple[str, ...], placed: tuple[Placed, ...]) -> bool:
        """Whether this removal, or the unbroken group that it belongs to, takes face protection off."""
        group = [other.step.handled for other in placed if one.group is not None and other.group == one.group]
        return any(self._is_face(handled) for handled in (items, *group))

    def _is_face(self, items: tuple[str, ...]) -> bool:
        return any(self.catalogue.items[item].kind in FACE_KINDS for item in items)

    def _waste(self, items: tuple[str, ...]) -> str:
        return stream_for(items, self.case, self.policy, self.catalogue)
