"""A case changes while people are inside: who wears enough, how each leaves from what is worn, who goes first."""

from __future__ import annotations

from dataclasses import replace

import pytest

from vestry.contact.reference import run
from vestry.sequence import (
    Case,
    Inside,
    Policy,
    Practised,
    change,
    order_of,
    plan_case,
    program_of,
    requirements_of,
)
from vestry.sequence.change_telling import told_lane
from vestry.sequence.enough import lacks
from vestry.sequence.exits import further
from vestry.sequence.planner import removals_broken
from vestry.trade import BadFacts, load_catalogue
from vestry.trade.words import load_words

DRY, WET = Case(hazard="suspected-hcid", presentation="dry"), Case(hazard="suspected-hcid", presentation="wet")
LASSA_WET = Case(hazard="lassa", presentation="wet")
CATALOGUE = load_catalogue()
COUNTED = Policy(glove_agent="disinfectant-wipe")
"""With a glove agent that counts for a class that is not known."""


def practised(case: Case = DRY, policy: Policy | None = None, name: str = "own") -> Practised:
    return Practised(name, f"The {name} procedure", plan_case(case, policy or COUNTED, CATALOGUE), True)


@pytest.fixture(scope="module")
def own() -> Practised:
    return practised()


def changed(own: Practised, after: Case | None, *inside: Inside, **also):
    return change(own, after, CATALOGUE, inside or (Inside(code="a"),), **also)


class TestEnough:
    def test_a_stable_patient_who_turns_wet_asks_for_more_than_a_stable_ensemble(self, own):
        found = changed(own, WET)

        (person,) = found.people
        assert not found.enough
        assert {(one.requirement, one.site) for one in person.lacks} == {
            ("body-from-much-fluid", "torso"),
            ("body-from-much-fluid", "forearms"),
            ("head-and-neck-covered", "neck"),
            ("legs-and-feet-covered", "shins"),
        }
        assert all(one.source == "cdc-vhf-unstable" for one in person.lacks)
        assert not person.stays

    def test_a_wet_ensemble_is_enough_once_lassa_is_found(self):
        found = changed(practised(WET), LASSA_WET)

        assert found.enough
        assert found.people[0].stays
        assert found.lost == ("airways-from-air",)

    def test_what_garments_stop_is_told_site_by_site(self, own):
        (person,) = changed(own, WET).people
        by_site = {one.site: one for one in person.sites}

        assert (by_site["torso"].cover, by_site["torso"].through) == ("sealing", "none")
        assert (by_site["eyes"].cover, by_site["eyes"].load, by_site["eyes"].through) == ("open", "high", "low")
        assert (by_site["neck"].cover, by_site["neck"].was, by_site["neck"].through) == ("nothing", "low", "high")

    def test_loads_that_grow_are_named_face_by_face(self, own):
        (person,) = changed(own, WET).people

        grown = {one.surface: (one.before, one.after) for one in person.loads}
        assert grown["gown-fluid-resistant.skirt"] == ("low", "high")
        assert grown["gown-fluid-resistant.back"] == ("none", "low")
        assert "gown-fluid-resistant.front" not in grown

    def test_an_airborne_agent_leaves_the_airways_of_a_mask_uncovered(self):
        masked = practised(Case(hazard="ebola"), Policy(mask_for_stable_haemorrhagic=True))

        (person,) = changed(masked, Case(hazard="mers")).people

        assert "airways" in person.uncovered
        assert [one.requirement for one in person.lacks] == ["airways-from-air"]

    def test_who_goes_in_next_is_told_what_to_wear(self, own):
        found = changed(own, WET)

        assert set(found.people[0].missing) == {"gown-impermeable", "surgical-hood", "boot-covers-high"}
        assert set(found.people[0].missing) <= set(found.next_in.worn)

    def test_gear_that_cannot_meet_the_new_case_is_said_and_the_exit_is_found_all_the_same(self, own):
        found = changed(own, WET.model_copy(update={"gear": own.plan.worn}))

        assert found.next_in.worn == ()
        assert {one.site for one in found.next_in.open} >= {"torso", "forearms", "neck", "shins"}
        assert found.exits[0].clean


class TestAddingInside:
    HANDS = Case(hazard="ebola", presentation="dry")

    def lacking_outer_gloves(self, **policy):
        own = practised(self.HANDS, Policy(**policy))
        worn = tuple(item for item in own.plan.worn if item != "outer-gloves-long")
        return changed(own, self.HANDS, Inside(code="a", worn=worn)).people[0]

    def test_nothing_is_added_inside_unless_the_policy_says_so(self):
        person = self.lacking_outer_gloves()

        assert person.add == ()
        assert not person.stays
        assert next(one.why for one in person.adding if one.item == "outer-gloves-long") == "policy"

    def test_a_second_pair_goes_over_the_first_where_the_policy_allows_it(self):
        person = self.lacking_outer_gloves(add_inside=("gloves",))

        assert person.add == ("outer-gloves-long",)
        assert person.stays

    def test_every_face_of_what_is_added_counts_as_contaminated_on_the_way_out(self):
        own = practised(self.HANDS, Policy(add_inside=("gloves",)))
        worn = tuple(item for item in own.plan.worn if item != "outer-gloves-long")

        found = changed(own, self.HANDS, Inside(code="a", worn=worn))

        faces = {f"outer-gloves-long.{face.id}" for face in CATALOGUE.items["outer-gloves-long"].faces}
        plan = found.exits[0].plan
        start = {program_of(plan, CATALOGUE).surfaces[number] for number, _ in program_of(plan, CATALOGUE).start}
        assert faces <= start
        assert "inner-gloves-long.palm-l" in start

    def test_face_protection_is_never_put_on_inside_whatever_the_policy(self):
        kinds = tuple(sorted({item.kind for item in CATALOGUE.items.values()}))
        own = practised(Case(hazard="ebola"), Policy(add_inside=kinds))
        worn = tuple(item for item in own.plan.worn if item != "face-shield")

        (person,) = changed(own, LASSA_WET, Inside(code="a", worn=worn)).people

        by_item = {one.item: one for one in person.adding}
        assert by_item["face-shield"].why == by_item["surgical-hood"].why == "face-or-head"
        assert by_item["gown-impermeable"].why == "under-what-is-worn"


class TestTheWayOut:
    def test_a_change_to_the_same_case_gives_the_exit_of_the_plan(self, own):
        found = changed(own, DRY)

        assert found.changed == ()
        assert found.enough
        assert found.exits[0].plan.phase("doffing", "after") == own.plan.phase("doffing", "after")
        assert found.exits[0].comparison is None
        assert found.exits[0].take == "own"

    def test_the_exit_that_is_practised_is_taken_where_it_stands(self, own):
        (exit_,) = changed(own, WET).exits

        assert exit_.take == "own"
        assert [(one.stands, one.rules_broken) for one in exit_.practised] == [(True, ())]

    def test_an_exit_that_breaks_a_rule_of_the_new_case_does_not_stand_and_the_difference_is_told(self):
        """Foot covers first does for a respiratory case; haemorrhagic texts have the gown off before them."""
        order = ("foot-covers", "shield", "gown", "hair-cover", "respirator")
        own = practised(Case(hazard="mers"), Policy(doffing_order=order))

        (exit_,) = changed(own, Case(hazard="ebola")).exits

        (judged,) = exit_.practised
        assert exit_.take is None
        assert "garment-before-foot-covers" in judged.rules_broken
        assert exit_.rules_left == ()
        assert {row.change for row in exit_.comparison.steps} > {"kept"}
        assert exit_.comparison.a.name == "own"

    def test_a_rule_that_the_unit_broke_knowingly_is_not_held_against_its_exit(self):
        order = ("foot-covers", "gloves", "gown", "shield", "hair-cover", "respirator")
        own = practised(DRY, COUNTED.model_copy(update={"doffing_order": order}))

        (exit_,) = changed(own, DRY).exits

        assert "garment-before-foot-covers" in removals_broken(DRY, own.plan.policy, own.plan, CATALOGUE)
        assert exit_.practised[0].rules_broken == ()
        assert exit_.take == "own"
        assert exit_.plan.phase("doffing") == own.plan.phase("doffing")

    def test_another_approved_procedure_that_wears_the_same_is_named(self, own):
        policy = Policy(doffing_order=("gloves", "shield", "gown", "hair-cover", "foot-covers", "respirator"))
        other = practised(DRY, policy, "other")

        found = changed(own, WET, others=(other,))

        assert {one.name for one in found.exits[0].practised} == {"own", "other"}
        assert found.exits[0].take == "own"

    def test_what_the_room_put_there_before_still_counts_when_the_patient_is_better(self):
        wet = practised(WET)

        (exit_,) = changed(wet, DRY).exits

        assert "gown-impermeable.back" in exit_.plan.start.contaminated
        assert not exit_.plan.start.alone

    def test_surfaces_named_as_contaminated_spread_from_the_start(self, own):
        found = changed(own, WET, Inside(code="a", contaminated=("respirator-disposable.straps",)))

        (exit_,) = found.exits
        assert exit_.plan.start.contaminated == ("respirator-disposable.straps",)
        assert not exit_.clean
        assert exit_.take is None
        assert any("straps" in link.from_surface for one in exit_.assurance.reached for link in one.chain)

    def test_skin_that_may_be_reached_already_is_an_exposure_that_no_exit_undoes(self, own):
        (exit_,) = changed(own, WET, Inside(code="a", contaminated=("body.neck",))).exits

        assert exit_.exposed == ("body.neck",)
        assert exit_.clean
        assert exit_.take == "own"

    def test_half_undressed_the_rest_of_the_practised_exit_is_judged_from_there(self, own):
        at = "doff:face-shield:rear-strap"

        found = changed(own, WET, Inside(code="a", at=at))

        (person,), (exit_,) = found.people, found.exits
        assert person.out
        assert "face-shield" not in person.worn
        assert exit_.take == "own"
        assert exit_.plan.start.alone
        assert [step.act for step in exit_.plan.steps][:1] == ["disinfect-gloves"]

    def test_what_an_agent_cannot_clear_is_still_there_half_way_out(self):
        """Rubbed gloves are clean against an enveloped virus, not against one that the rub does not clear."""
        own = practised(Case(hazard="ebola"), Policy())
        agents = {"alcohol-rub": {"bacteria": 0.5}}
        weak = weaker_rub(agents)
        at = "disinfect-gloves:-:rub-gloves~3"

        found = change(own, Case(hazard="pneumonic-plague"), weak, (Inside(code="a", at=at),))

        assert any(name.startswith("inner-gloves") for name in found.exits[0].plan.start.contaminated)
        assert [(one.before, one.after) for one in found.agents if one.on == "gloves"] == [(True, False)]

    def test_a_group_that_must_not_be_broken_is_finished_first(self):
        own = practised(WET, Policy(respirator="belt-blower"))
        steps = own.plan.phase("doffing")
        begun = next(step for step in steps if step.group)

        (exit_,) = changed(own, LASSA_WET, Inside(code="a", at=begun.id)).exits

        assert exit_.plan.steps[0].act == "doff"
        assert exit_.plan.steps[0].items == ("papr-hood",)

    @pytest.mark.slow
    def test_at_every_step_of_the_way_out_there_is_a_way_on(self, own):
        steps = [step.id for step in own.plan.phase("doffing")]

        found = changed(own, WET, *(Inside(code=f"p{number}", at=at) for number, at in enumerate(steps)))

        assert all(one.exit is not None for one in found.people)
        assert all(exit_.clean for exit_ in found.exits)
        worn = {one.code: len(one.worn) for one in found.people}
        assert [worn[turn.code] for turn in found.order] == sorted(worn.values())

    @pytest.mark.parametrize("worn", [(), ("scrubs",), ("scrubs", "washable-shoes")])
    def test_who_wears_next_to_nothing_is_told_so(self, own, worn):
        found = changed(own, WET, Inside(code="a", worn=worn))

        (person,) = found.people
        assert {"eyes", "nose-mouth", "hand-l"} <= set(person.uncovered)
        assert (person.exit is None) == (worn == ())
        assert (person.no_exit is not None) == (worn == ())

    def test_an_ensemble_that_nobody_planned_still_has_a_way_out(self, own):
        worn = ("scrubs", "gown-isolation", "surgical-mask", "inner-gloves-long")

        (exit_,) = changed(own, WET, Inside(code="a", worn=worn)).exits

        assert exit_.take is None
        assert {item for step in exit_.plan.steps if step.act == "doff" for item in step.items} >= set(worn) - {
            "scrubs"
        }


CASES = (DRY, WET, LASSA_WET, Case(hazard="mers"), Case(hazard="nipah", presentation="wet"))
PEOPLE = (
    Inside(code="dressed"),
    Inside(code="soiled", contaminated=("gown-fluid-resistant.back", "place.seat")),
    Inside(code="half-way", at="doff:gown-fluid-resistant:roll-outside"),
    Inside(code="other", worn=("scrubs", "inner-gloves-long", "gown-isolation", "respirator-disposable")),
)


@pytest.mark.parametrize("after", CASES, ids=lambda case: f"{case.hazard}-{case.presentation}")
@pytest.mark.parametrize(
    "inside", [pytest.param(one, marks=pytest.mark.slow) for one in PEOPLE], ids=lambda one: one.code
)
def test_in_every_case_each_exit_is_what_the_independent_reference_says_of_it(own, after, inside):
    replay(changed(own, after, inside))


def test_each_exit_is_what_the_independent_reference_says_of_it(own):
    replay(changed(own, LASSA_WET, *PEOPLE))


def replay(found):
    """The checker's replay from the stated start, and the plain reference that shares nothing with the compiler."""
    for exit_ in found.exits:
        plan = exit_.plan
        program = program_of(plan, CATALOGUE)
        slow = run(order_of(plan), CATALOGUE)
        names = {program.surfaces[number]: kind for number, kind in program.endpoints}
        already = set(plan.start.contaminated) if plan.start else set()
        mucosa = {name for name in slow.ever if names.get(name) in ("mucosa", "helper")}
        skin = {name for name in slow.at_end if names.get(name) == "skin"}
        assert further(program, plan.start) == (mucosa | skin) - already
        assert exit_.clean == (not (mucosa | skin) - already)


@pytest.mark.parametrize("hazard", CATALOGUE.hazards)
def test_a_stricter_case_never_makes_insufficient_gear_sufficient(own, hazard):
    """A wet patient, and a task that makes aerosol, ask for all that was asked before; whatever is left off."""
    cases = (
        Case(hazard=hazard),
        Case(hazard=hazard, presentation="wet"),
        Case(hazard=hazard, presentation="wet", tasks=("care", "aerosol-generating")),
    )
    needs = [requirements_of(case, CATALOGUE) for case in cases]
    for dropped in (None, *own.plan.worn):
        worn = tuple(item for item in own.plan.worn if item != dropped)
        open_ = [{(one.requirement, one.site) for one in lacks(worn, need, CATALOGUE)} for need in needs]
        assert open_[0] <= open_[1] <= open_[2]


class TestWhoLeavesFirst:
    def places(self, found):
        return [(one.code, one.because) for one in found.order]

    def test_less_time_left_goes_first_and_not_known_counts_as_none_left(self, own):
        found = changed(own, WET, Inside(code="a", minutes=10), Inside(code="b", minutes=90), Inside(code="c"))

        assert self.places(found) == [("c", "less-time-left"), ("b", "less-time-left"), ("a", "last")]

    def test_equal_people_go_by_code_so_that_the_answer_is_always_the_same(self, own):
        people = [Inside(code=code, minutes=10) for code in "cab"]

        found = [changed(own, WET, *people), changed(own, WET, *reversed(people))]

        assert self.places(found[0]) == self.places(found[1]) == [("a", "by-code"), ("b", "by-code"), ("c", "last")]

    def test_who_is_on_the_way_out_has_the_lane(self, own):
        found = changed(own, WET, Inside(code="a", minutes=119), Inside(code="b", at="disinfect-gloves:-:rub-gloves"))

        assert self.places(found) == [("b", "lane-is-theirs"), ("a", "last")]

    def test_uncovered_eyes_go_before_less_time(self, own):
        worn = tuple(item for item in own.plan.worn if item != "face-shield")

        found = changed(own, WET, Inside(code="a", minutes=110), Inside(code="b", minutes=5, worn=worn))

        assert self.places(found)[0] == ("b", "airways-or-eyes-uncovered")

    def test_who_may_be_reached_already_goes_before_less_time(self, own):
        found = changed(
            own, WET, Inside(code="a", minutes=110), Inside(code="b", minutes=5, contaminated=("body.neck",))
        )

        assert self.places(found)[0] == ("b", "may-be-reached")

    def test_who_may_stay_leaves_last_and_need_not(self):
        wet = practised(WET)
        dry = practised().plan.worn

        found = changed(wet, LASSA_WET, Inside(code="a", minutes=100), Inside(code="b", minutes=5, worn=dry))

        assert [(one.code, one.must) for one in found.order] == [("b", True), ("a", False)]

    def test_the_wait_of_each_is_the_sum_of_the_exits_before(self, own):
        found = changed(own, WET, *(Inside(code=code, minutes=110) for code in "abc"))

        seconds = found.exits[0].time.seconds
        assert [one.wait.seconds for one in found.order] == [0, seconds, 2 * seconds]
        assert [one.late for one in found.order] == [True, True, True]

    def test_one_lane_carries_what_the_first_left_to_bare_hands(self):
        in_scrubs = Inside(code="z", worn=("scrubs", "washable-shoes"))
        found = changed(practised(policy=Policy()), WET, Inside(code="a", minutes=110), in_scrubs)

        assert "place.dispenser" in found.lane.left
        assert len(found.order) == 2

    def test_what_reaches_bare_hands_through_the_lane_is_told_of_the_one_it_reaches(self):
        """Who came in by mistake in scrubs rubs hands at the dispenser that the one before touched."""
        found = changed(
            practised(policy=Policy()),
            WET,
            Inside(code="a", at="doff:face-shield:rear-strap"),
            Inside(code="z", worn=("scrubs", "washable-shoes")),
        )

        told = told_lane(found, {"a": "Ann", "z": "Zed"}, load_words("en"))
        assert not found.lane.clean
        assert {one.surface for one in found.lane.added if one.endpoint == "skin"} == {"2/body.hand-l", "2/body.hand-r"}
        assert "left hand (Zed)" in told[0]

    @pytest.mark.slow
    def test_forty_people_with_twenty_starts_are_answered_together(self, own):
        people = [
            Inside(code=f"p{number}", minutes=number, contaminated=("place.seat",) if number % 2 else ())
            for number in range(40)
        ]

        found = changed(own, WET, *people)

        assert [one.place for one in found.order] == list(range(1, 41))
        assert len(found.exits) == 2


class TestRuledOut:
    def test_nothing_is_asked_of_the_gear_and_the_practised_exit_stays_the_default(self, own):
        found = changed(own, None, ruled_out=True)

        assert found.ruled_out == "suspected-hcid"
        assert found.after is None
        assert found.enough
        assert found.exits[0].take == "own"
        assert found.followed_after is None

    def test_with_a_lesser_hazard_left_it_is_worked_out_for_that_one(self, own):
        found = changed(own, Case(hazard="novel-influenza-a"), ruled_out=True)

        assert found.changed == ("ruled-out", "hazard")
        assert found.followed_after.hazard == "novel-influenza-a"
        assert found.followed_before.days_default == 42

    def test_the_same_hazard_cannot_be_ruled_out_and_be_there(self, own):
        with pytest.raises(BadFacts, match="cannot be ruled out"):
            changed(own, WET, ruled_out=True)


class TestTheQuestion:
    def test_everything_wrong_is_told_at_once(self, own):
        with pytest.raises(BadFacts) as bad:
            change(
                own,
                Case(hazard="lasa"),
                CATALOGUE,
                (
                    Inside(code="a", worn=("gwon", "scrubs", "scrubs"), contaminated=("body.nek",)),
                    Inside(code="a", at="doff:nothing", happened=("x",)),
                    Inside(code="b", happened=("x",)),
                    Inside(code="c", at="doff:face-shield:rear-strap", worn=("scrubs",)),
                ),
            )

        told = {one.field: one.what for one in bad.value.problems}
        assert told.keys() == {
            "case.hazard",
            "inside.0.worn.0",
            "inside.0.worn.2",
            "inside.0.contaminated.0",
            "inside.1.code",
            "inside.1.at",
            "inside.2.happened",
            "inside.3.worn",
        }
        assert "did you mean lassa?" in told["case.hazard"]
        assert "did you mean body.neck?" in told["inside.0.contaminated.0"]

    def test_no_case_at_all_is_refused(self, own):
        with pytest.raises(BadFacts, match="say what the case is now"):
            changed(own, None)

    def test_nobody_inside_is_an_answer_too(self, own):
        found = change(own, WET, CATALOGUE)

        assert (found.people, found.exits, found.order, found.lane, found.enough) == ((), (), (), None, True)
        assert found.next_in.worn


def weaker_rub(agents):
    """The catalogue with other reductions of an agent."""
    agent = CATALOGUE.agents["alcohol-rub"]
    weaker = agent.model_copy(update={"log10_gloves": {**agent.log10_gloves, **agents["alcohol-rub"]}})
    return replace(CATALOGUE, agents={**CATALOGUE.agents, "alcohol-rub": weaker})
