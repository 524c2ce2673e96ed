"""A case changes while people are inside: is what each wears enough, how do they leave from it, and who goes first.

1. Enough is asked of the requirements of the new case, under the plan's own policy, and told site by site.
2. The way out starts from what is worn and from everything that may be contaminated: what the room of the new case puts
   there, what the room of the case before put there, what the steps so far did under the new case's agent, and whatever
   is named besides. More contamination never takes a route away (the model is monotone), so this covers what is so.
3. An exit that the unit practises comes first: where a plan wears the same, its exit is judged from the same start, and
   taken where it is clean as taught and breaks no rule in force. The computed one is unapproved.
4. Each way out is replayed by the checker from its stated start before it is returned.
5. Where a hazard is ruled out and no other is named, nothing more is asked of the gear; the exits are those of the case
   before, which do no harm.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from vestry.contact.exposure import clears
from vestry.sequence import enough
from vestry.sequence.case import Case
from vestry.sequence.case_change import (
    AgentFound,
    CaseChange,
    Changed,
    Exit,
    Followed,
    Inside,
    Lack,
    NextIn,
    Person,
)
from vestry.sequence.change_asked import check_question
from vestry.sequence.ensemble import ensemble_of
from vestry.sequence.errors import NoPlan
from vestry.sequence.exits import Exits, Practised
from vestry.sequence.first_out import in_order, lane_of
from vestry.sequence.requirements import requirements_of
from vestry.sequence.setting import setting_for
from vestry.sequence.whereabouts import whereabouts
from vestry.trade import Catalogue
from vestry.trade.jurisdictions import waste_stream


def change(
    dressed_by: Practised,
    after: Case | None,
    catalogue: Catalogue,
    inside: Sequence[Inside] = (),
    ruled_out: bool = False,
    others: Sequence[Practised] = (),
) -> CaseChange:
    """What a change of the case means for those inside. BadFacts names everything wrong with the question at once.

    dressed_by   the plan that they were dressed by; who is not said to wear something else wears what it wears
    after        the case now; None only where the hazard is ruled out and no other is named
    others       approved procedures of the unit
    """
    check_question(dressed_by.plan, after, inside, ruled_out, catalogue)
    return _Changer(dressed_by, after, catalogue, ruled_out, tuple(others)).changed(inside)


class _Changer:
    def __init__(
        self,
        own: Practised,
        after: Case | None,
        catalogue: Catalogue,
        ruled_out: bool,
        others: tuple[Practised, ...],
    ) -> None:
        self.plan, self.policy, self.after = own.plan, own.plan.policy, after
        self.catalogue, self.ruled_out = catalogue, ruled_out
        self.before, self.case = self.plan.case, after or self.plan.case
        self.was, self.now = (setting_for(one, catalogue) for one in (self.before, self.case))
        self.needs_before = requirements_of(self.before, catalogue, self.policy.jurisdiction)
        self.needs = requirements_of(after, catalogue, self.policy.jurisdiction) if after else ()
        self.exits = Exits(own, others, self.case, catalogue)
        self.next_in = self._next_in() if after else None

    def changed(self, inside: Sequence[Inside]) -> CaseChange:
        people = tuple(self._person(one) for one in inside)
        exits = self.exits.by_name
        turns = in_order(people, exits, self.policy.limit_minutes)
        by_code = {one.code: one.exit for one in people}
        leaving = [name for turn in turns if (name := by_code[turn.code])]
        programs = [self.exits.programs[name] for name in leaving]
        before, now = ({need.id for need in needs} for needs in (self.needs_before, self.needs))
        return CaseChange(
            facts=self.catalogue.digest,
            plan=self.plan.hash,
            before=self.before,
            after=self.after,
            ruled_out=self.before.hazard if self.ruled_out else None,
            changed=tuple(self._changed()),
            gained=tuple(need.id for need in self.needs if need.id not in before),
            lost=tuple(need.id for need in self.needs_before if need.id not in now),
            agents=self._agents(),
            followed_before=self._followed(self.before),
            followed_after=self._followed(self.after) if self.after else None,
            next_in=self.next_in,
            people=people,
            exits=tuple(exits.values()),
            order=turns,
            lane=lane_of(programs, self.policy, self.catalogue, self.now) if len(programs) > 1 else None,
            enough=all(one.enough for one in people),
        )

    # ---- the case ----

    def _changed(self) -> Iterable[Changed]:
        if self.ruled_out:
            yield "ruled-out"
        if self.after is None:
            return
        if self.after.hazard != self.before.hazard:
            yield "hazard"
        if self.after.presentation != self.before.presentation:
            yield "presentation"
        if set(self.after.tasks) != set(self.before.tasks):
            yield "tasks"

    def _agents(self) -> tuple[AgentFound, ...]:
        policy = self.policy
        used = ((policy.glove_agent, "gloves"), (policy.hand_agent, "hands"), (policy.surface_agent, "surfaces"))
        return tuple(
            AgentFound(
                agent=agent,
                on=on,  # type: ignore[arg-type]
                before=clears(self.catalogue, agent, on, self.was),
                after=clears(self.catalogue, agent, on, self.now),
            )
            for agent, on in used
        )

    def _followed(self, case: Case) -> Followed:
        hazard = self.catalogue.hazards[case.hazard]
        days, celsius = hazard.monitoring_days, hazard.threshold_celsius
        degrees = celsius.value if celsius.value is not None else celsius.default
        waste = waste_stream(self.catalogue, case.hazard, self.policy.jurisdiction)
        return Followed(
            hazard=case.hazard,
            days=days.value,
            days_default=days.default if days.value is None else None,
            days_source=days.source,
            days_certainty=days.certainty,
            celsius_tenths=None if degrees is None else round(degrees * 10),
            celsius_source=celsius.source,
            celsius_certainty=celsius.certainty,
            waste=waste.value or waste.default or "infectious-lined",
            virus_class=hazard.virus_class.value or hazard.virus_class.default or "unknown",
        )

    def _next_in(self) -> NextIn:
        try:
            chosen = ensemble_of(self.case, self.policy, self.catalogue)
        except NoPlan as none:
            return NextIn(worn=(), open=enough.as_lacks(none.reasons, self.needs), why=none.why)
        return NextIn(worn=tuple(one.item for one in chosen), open=())

    # ---- one of those inside ----

    def _person(self, inside: Inside) -> Person:
        where = whereabouts(inside, self.plan, self.catalogue)
        lacks = enough.lacks(where.in_room, self.needs, self.catalogue)
        found = enough.sites(where.in_room, self.was, self.now, self.catalogue)
        open_ = () if where.out else lacks
        wanted = self.next_in.worn if self.next_in else ()
        adding, add = enough.adding(where.in_room, open_, self.case, self.policy, self.catalogue, wanted)
        leaving = self.exits.leave(where, inside, add)
        return Person(
            code=inside.code,
            worn=where.worn,
            zone=where.zone,
            out=where.out,
            enough=not lacks,
            lacks=lacks,
            loads=enough.loads_that_differ(where.in_room, self.was, self.now, self.catalogue),
            sites=found,
            uncovered=enough.uncovered(where.in_room, found, self.now, self.catalogue) if self.after else (),
            adding=adding,
            add=add,
            stays=not where.out and (not lacks or bool(add)),
            missing=_missing(lacks, where.in_room, wanted),
            minutes=inside.minutes,
            minutes_left=None if inside.minutes is None else self.policy.limit_minutes - inside.minutes,
            exit=leaving.plan.hash if isinstance(leaving, Exit) else None,
            no_exit=None if isinstance(leaving, Exit) else leaving,
        )


def _missing(lacks: tuple[Lack, ...], worn: tuple[str, ...], wanted: tuple[str, ...]) -> tuple[str, ...]:
    """Of what would be worn for the new case, what meets something that is missing; all of it where no piece does."""
    others = [item for item in wanted if item not in worn]
    met = [item for item in others if any(item in one.would for one in lacks)]
    return tuple(met or others) if lacks else ()
