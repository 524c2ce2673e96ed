"""The fold as a specification: where an entry stands, what is held, what is flagged."""

from __future__ import annotations

import pytest
from tests.entry.making import ANSWER, LED, OTHER, STEPS, TABLET, done, event, opened

from vestry.entry import KINDS, Course, Event, Led, Noted, fold
from vestry.entry.fold import TAKEN_BACK
from vestry.entry.handling import HANDLERS
from vestry.sequence import PlanStep


def says(*events) -> list[str]:
    return [flag.what for flag in fold(LED, events).flags]


def test_nothing_said_is_not_opened():
    assert fold(LED, []).stage == "not-opened"


def test_the_place_is_before_the_first_step_not_done():
    state = fold(LED, [opened(), *done("gown-on"), event("read", "gloves-on")])

    assert (state.stage, state.position) == ("under-way", 1)
    assert state.record("gloves-on").read_at is not None
    assert not state.record("gloves-on").done
    assert state.flags == ()


def test_what_is_worn_follows_from_what_was_put_on_and_taken_off():
    on = [opened(), *done("gown-on", "gloves-on")]

    assert fold(LED, on).worn == ("gown-isolation", "gloves-long")
    assert fold(LED, [*on, *done("gloves-off")]).worn == ("gown-isolation",)


def test_done_not_seen_goes_on_and_is_kept_as_not_seen():
    state = fold(LED, [opened(), event("read", "gown-on"), event("done-not-seen", "gown-on")])

    assert (state.position, state.record("gown-on").seen) == (1, False)


def test_a_prompt_is_a_near_miss_and_does_not_move_the_place():
    state = fold(LED, [opened(), event("read", "gown-on"), event("prompted", "gown-on")])

    assert [step for _, step in state.near_misses] == ["gown-on"]
    assert state.position == 0


def test_every_step_done_is_walked_and_closing_closes():
    walked = [opened(), *done(*(step.id for step in STEPS))]

    assert fold(LED, walked).stage == "walked"
    assert fold(LED, [*walked, event("closed")]).stage == "closed"
    assert fold(LED, [*walked, event("closed")]).flags == ()


def test_stop_holds_the_step_until_it_is_resumed():
    held = [opened(), *done("gown-on"), event("stopped", "gloves-on")]

    assert fold(LED, held).held.step == "gloves-on"
    assert fold(LED, held).stage == "held"
    resumed = fold(LED, [*held, event("resumed", "gloves-on")])
    assert (resumed.stage, resumed.held, resumed.flags) == ("under-way", None, ())


def deviated():
    return [
        opened(), *done("gown-on", "gloves-on"), event("read", "gloves-off"), event("stopped", "gloves-off"),
        event("deviation", "gloves-off", events=["slip"]),
    ]  # fmt: skip


def test_saying_what_happened_does_not_end_the_hold():
    state = fold(LED, deviated())

    assert state.stage == "held"
    assert state.held.happened.events == ("slip",)


def test_a_recovery_taken_becomes_the_course_and_its_end_the_end():
    taken = [*deviated(), event("done-seen", "gloves-off"), event("recovery-taken", "gloves-off", recovery="answer-1")]
    state = fold(LED, taken)

    assert (state.course, state.position, state.stage) == ("answer-1", 0, "under-way")
    assert state.deviations[0].answered_by == "answer-1"
    assert state.flags == ()
    assert fold(LED, [*taken, *done(*(step.id for step in ANSWER.steps))]).stage == "walked"


def test_a_recovery_for_other_items_worn_is_taken_and_flagged():
    assert says(*deviated(), event("recovery-taken", "gloves-off", recovery="answer-1")) == [
        "a recovery for other items worn"
    ]


def test_a_recovery_that_was_not_approved_is_flagged_and_not_led():
    state = fold(LED, [*deviated(), event("recovery-taken", "gloves-off", recovery="made-up")])

    assert [flag.what for flag in state.flags] == ["a recovery that was not approved with this procedure"]
    assert (state.course, state.stage) == ("plan", "held")


def test_a_second_thing_at_one_stop_is_kept_beside_the_first():
    state = fold(LED, [*deviated(), event("deviation", "gloves-off", events=["another"])])

    assert state.held.happened.events == ("another", "slip")
    assert len(state.deviations) == 2


def test_going_on_after_a_deviation_without_an_answer_names_whose_word_it_was():
    assert says(*deviated(), event("resumed", "gloves-off", **{"decided-by": "Sander"})) == [
        "resumed after a deviation on the word of Sander"
    ]


def test_what_departs_from_how_an_entry_is_led_is_recorded_and_flagged():
    assert says(event("read", "gown-on")) == ["said before the entry was opened"]
    assert says(opened(), event("done-seen", "gown-on")) == ["done without being read"]
    assert says(opened(), *done("gloves-on")) == ["read out of turn", "done out of order"]
    assert says(opened(), *done("gown-on"), event("done-seen", "gown-on")) == ["said to be done twice"]
    assert says(opened(), *done("gown-on"), event("done-not-seen", "gown-on")) == ["one says seen, the other not seen"]
    assert says(opened(), event("acknowledged", "gown-on")) == ["acknowledged before it was read"]
    assert says(opened(), event("read", "nowhere")) == ["of a step that is not on the way that is led"]
    assert says(opened(), event("closed")) == ["closed before the last step"]
    assert says(opened(), opened()) == ["opened twice"]
    assert says(opened(), event("abandoned", reason="fire"), event("read", "gown-on")) == ["said after the end"]


def test_done_out_of_order_is_done():
    state = fold(LED, [opened(), *done("gloves-on")])

    assert state.record("gloves-on").done
    assert (state.position, state.worn) == (0, ("gloves-long",))


def test_steps_of_an_unbroken_group_may_be_read_together():
    before = [opened(), *done("gown-on", "gloves-on")]

    assert says(*before, event("read", "gloves-off"), event("read", "hands")) == []


def test_with_one_press_a_step_need_not_be_read_first():
    start = event("opened", wearer="noor", observer="tomas", pace="one-press")

    assert says(start, event("done-seen", "gown-on")) == []


def test_unknown_kinds_change_nothing_and_are_kept():
    known = [opened(), *done("gown-on")]
    state = fold(LED, [*known, event("glove-sniffed", by="petra")])

    assert state.unknown == ("glove-sniffed",)
    assert state.position == fold(LED, known).position


def test_a_clock_that_jumps_back_does_not_undo_the_devices_own_order():
    start = opened()
    state = fold(LED, [start, event("read", "gown-on", second=3000), event("done-seen", "gown-on", second=1)])

    assert state.flags == ()
    assert state.record("gown-on").done


def test_two_devices_that_contradict_each_other_both_stay():
    one = [opened(), *done("gown-on")]
    other = event("done-not-seen", "gown-on", device=OTHER, counter=1, second=3500)
    state = fold(LED, [*one, other])

    assert state.record("gown-on").seen is True
    assert [flag.event for flag in state.flags] == [other.id]


# ---- beside the steps ----


def kinds_noted(*events) -> list[tuple[str, str]]:
    return [(one.kind, one.what) for one in fold(LED, [opened(), *events]).noted]


def test_every_kind_that_is_known_has_a_handler():
    assert set(HANDLERS) == set(KINDS)


def test_what_is_said_beside_the_steps_is_noted_in_order_and_moves_nothing():
    beside = [
        event("unwell", note="light-headed"), event("item-crossed", item="blood tube"), event("breach", site="wrist"),
        event("glove-changed", "gown-on"), event("inspected"),
    ]  # fmt: skip
    state = fold(LED, [opened(), *beside])

    assert [(one.kind, one.what, one.note) for one in state.noted] == [
        ("unwell", "", "light-headed"), ("item-crossed", "blood tube", ""), ("breach", "wrist", ""),
        ("glove-changed", "", ""), ("inspected", "", ""),
    ]  # fmt: skip
    assert (state.position, state.stage, state.flags) == (0, "under-way", ())


def test_a_rub_that_ended_early_is_noted_as_short():
    said = event("hygiene-timed", "hands", seconds="14", short=True)

    assert fold(LED, [opened(), said]).noted == (Noted(said.clock, "hygiene-timed", "14", "hands", "short"),)


def test_an_exposure_keeps_site_and_sort():
    said = event("exposure", site="eye", sort="splash")

    assert fold(LED, [opened(), said]).noted == (Noted(said.clock, "exposure", "eye", None, "splash"),)


def test_a_tear_and_soiling_hold_the_step_and_say_what_was_touched():
    torn = fold(LED, [opened(), event("stopped", "gown-on"), event("tear", "gown-on", item="gloves-long")])
    soiled = fold(LED, [opened(), event("soiling", "gown-on", surface="gown-isolation.front")])

    assert (torn.stage, torn.held.happened.touched, torn.flags) == ("held", "gloves-long", ())
    assert (soiled.stage, soiled.held.happened.touched) == ("held", "gown-isolation.front")
    assert [one.what for one in soiled.flags] == ["said without a stop"]


def test_the_line_crossed_wrongly_holds_the_step():
    assert fold(LED, [opened(), event("zone-crossed", "gown-on")]).held.happened.kind == "zone-crossed"


ASKED = Led(
    Course(
        "plan",
        (
            *(
                PlanStep(id=topic, phase="before", act="confirm", topic=topic)
                for topic in ("area-confirmed", "person-checked", "signals-agreed")
            ),
            *STEPS,
        ),
    )
)
"""A way that asks for the three before anyone goes in."""


def flagged(led, *said) -> list[str]:
    """Flags of what is said in this order: kinds with their payload, or a step that is read and done."""
    events = [opened()]
    for one in said:
        events += done(one) if isinstance(one, str) else [event(one[0], **(one[1] if len(one) > 1 else {}))]
    return [one.what for one in fold(led, events).flags]


AREA, PERSON, SIGNALS = ("area-confirmed",), ("person-checked", {"may": True}), ("signal-checked",)


def test_going_in_is_flagged_where_the_area_the_person_or_the_signals_were_not_ready():
    assert flagged(ASKED, AREA, PERSON, SIGNALS, ("entered",), ("left",)) == []
    assert flagged(ASKED, ("entered",)) == [
        "went in before the doffing area was confirmed",
        "went in before the person was checked",
        "went in before signals were checked",
    ]
    assert flagged(ASKED, AREA, SIGNALS, ("person-checked", {"may": False}), ("entered",)) == [
        "went in though may not was said"
    ]
    assert flagged(LED, ("left",)) == ["came out without having gone in"]
    assert flagged(LED, AREA, ("entered",), ("entered",)) == ["went in twice"]
    assert fold(LED, [opened(), event("person-checked", may=False), event("person-checked", may=True)]).may_go_in


def test_a_way_that_asks_for_no_checks_is_flagged_for_the_area_alone():
    assert flagged(LED, ("entered",)) == ["went in before the doffing area was confirmed"]
    assert flagged(LED, "gown-on") == []


def test_donning_that_begins_before_the_three_are_confirmed_is_flagged_once():
    # The three steps are not pressed here, so each act of donning is out of order too.
    def began(*said) -> list[str]:
        return [one for one in flagged(ASKED, *said) if one.startswith("donning")]

    assert began(AREA, "gown-on", "gloves-on") == [
        "donning began before the person was checked",
        "donning began before signals were checked",
    ]
    assert began(AREA, PERSON, SIGNALS, "gown-on", "gloves-on") == []
    assert len(began("gown-on", AREA, PERSON, SIGNALS, "gloves-on")) == 3


def test_of_an_item_counts_what_was_said_last_and_that_it_was_once_not_in_order_stays():
    seat = {"check": "area", "item": "seat"}
    state = fold(
        LED,
        [
            opened(),
            event("item-checked", **seat, says="not-in-order"),
            event("item-checked", check="area", item="rub", says="in-order"),
            event("item-checked", **seat, says="in-order"),
        ],
    )

    assert [(one.item, one.says, one.once_not) for one in state.checks] == [
        ("seat", "in-order", True),
        ("rub", "in-order", False),
    ]
    assert state.flags == ()


def test_an_override_that_was_only_told_is_flagged_and_a_signed_one_is_not():
    override = {"rules": ["area:seat"], "decided-by": "sander", "reason": "r", "alternative": "wait"}
    flags = {
        signed: [one.what for one in fold(LED, [opened(), event("overridden", **override, **signed_as)]).flags]
        for signed, signed_as in {"": {}, "told": {"signed": "told"}, "badge-pin": {"signed": "badge-pin"}}.items()
    }

    base = "a rule was overridden by name: area:seat"
    assert flags == {
        "": [base],
        "told": [base, "the override was told, not signed by who decided"],
        "badge-pin": [base],
    }


def test_an_area_confirmed_with_something_not_in_order_and_a_rule_overridden_are_flagged():
    override = {"rules": ["area:seat"], "decided-by": "sander", "reason": "r", "alternative": "wait"}
    said = [event("overridden", **override), event("area-confirmed", **{"not-in-order": ["seat"], "list": "2"})]
    state = fold(LED, [opened(), *said])

    assert [one.what for one in state.flags] == [
        "a rule was overridden by name: area:seat",
        "the doffing area was confirmed with something not in order",
    ]
    assert [(one.kind, one.what, one.note) for one in state.noted] == [
        ("overridden", "sander", "r"),
        ("area-confirmed", "2", ""),
    ]


def test_another_observer_leads_after_the_hand_over():
    state = fold(LED, [opened(), event("observer-handed-over", to="ilse", note="gown on, gloves on")])

    assert (state.observer, state.flags) == ("ilse", ())
    assert says(opened(), event("observer-handed-over", to="tomas")) == ["handed over to the one who leads already"]


def test_a_second_device_observes_together_or_takes_over():
    together = [opened(), event("read", "gown-on", device=OTHER, counter=1)]
    state = fold(LED, together)
    assert (state.devices, state.leads) == ((TABLET, OTHER), TABLET)
    assert state.record("gown-on").read_at is not None

    taken = [*together, event("device-taken-over", device=OTHER, counter=2)]
    assert fold(LED, taken).leads == OTHER
    again = event("device-taken-over", device=OTHER, counter=3)
    assert says(*taken, again) == ["taken over by the device that leads already"]


def test_a_press_said_to_be_wrong_counts_as_not_pressed_and_is_flagged():
    wrong = event("done-seen", "gown-on")
    state = fold(LED, [opened(), event("read", "gown-on"), wrong, event("pressed-wrongly", event=wrong.id)])

    assert (state.position, state.worn, state.taken_back) == (0, (), (wrong.id,))
    assert [(one.event, one.what) for one in state.flags] == [(wrong.id, "pressed wrongly, and taken back")]


def test_harm_and_departures_are_not_taken_back():
    told = event("exposure", site="eye")
    state = fold(LED, [opened(), told, event("pressed-wrongly", event=told.id)])

    assert [one.kind for one in state.noted] == ["exposure", "pressed-wrongly"]
    assert [one.what for one in state.flags] == ["what was pressed wrongly cannot be taken back, and stays"]
    assert not TAKEN_BACK & {"deviation", "tear", "soiling", "zone-crossed", "breach", "exposure", "unwell"}


def test_a_press_cannot_be_called_wrong_before_it_was_made():
    later = event("done-seen", "gown-on")
    early = event("pressed-wrongly", event=later.id, counter=0, second=0)
    state = fold(LED, [opened(), early, event("read", "gown-on", counter=later.counter), later])

    assert state.taken_back == ()
    assert state.record("gown-on").done


def test_what_was_transcribed_from_paper_is_marked_late():
    state = fold(LED, [opened(), *done("gown-on"), event("late-transcribed", by="tomas"), *done("gloves-on")])

    assert [(one.step, one.late) for one in state.steps] == [("gown-on", False), ("gloves-on", True)]
    assert state.transcribed
    assert ("late-transcribed", "tomas") in [(one.kind, one.what) for one in state.noted]


def test_what_is_put_in_for_a_drill_is_flagged_where_there_is_none():
    drill = event("opened", wearer="noor", observer="tomas", drill=True, counter=0, second=0)
    put_in = event("drill-injected", what="torn glove")

    assert says(drill, put_in) == []
    assert says(opened(), put_in) == ["put in for a drill, and this is none"]
    assert fold(LED, [opened(), put_in]).injected == ()


@pytest.mark.parametrize(
    ("kind", "said"),
    [
        ("stopped", {"step": "gown-on"}),
        ("tear", {"step": "gown-on", "item": "gown"}),
        ("unwell", {"what": "unwell"}),
        ("breach", {"site": "eyes"}),
        ("exposure", {"site": "eyes"}),
    ],
)
def test_what_is_put_in_stays_until_the_team_answers_it_and_is_no_deviation(kind: str, said: dict[str, str]):
    drill = event("opened", wearer="noor", observer="tomas", drill=True, counter=0, second=0)
    put_in = event("drill-injected", "gown-on", what="tear", surface="gown.front")
    before = fold(LED, [drill, put_in])
    answered = event(kind, **said)
    late = event("drill-injected", what="lost-air")
    after = fold(LED, [drill, put_in, answered, late])

    assert [(one.what, one.step, one.surface, one.met_at) for one in before.injected] == [
        ("tear", "gown-on", "gown.front", None)
    ]
    assert (before.deviations, before.held, before.stage) == ((), None, "under-way")
    assert [one.met_at for one in after.injected] == [answered.clock, None]
    taken_back = event("pressed-wrongly", event=late.id)
    assert len(fold(LED, [drill, put_in, answered, late, taken_back]).injected) == 1


def test_signed_names_who():
    assert kinds_noted(event("signed")) == [("signed", "tomas")]
    assert says(opened(), event("closed"), event("signed"), event("signed"))[1:] == ["signed twice by the same person"]


def test_an_entry_led_otherwise_is_abandoned_and_can_still_be_corrected():
    fix = event("correction", reason="typed late", text="boot torn")
    state = fold(LED, [opened(), event("abandoned", reason="fire alarm"), fix])

    assert (state.stage, state.corrections, state.flags) == ("abandoned", (fix.id,), ())


def test_the_state_is_told_as_plain_json():
    told = fold(LED, [opened(), *done("gown-on")]).as_json()

    assert (told["opened-at"] is not None, told["one-press"], told["held"]) == (True, False, None)
    assert told["steps"][0]["stop-said-at"] is None
    assert told["steps"][0]["step"] == "gown-on"


def test_what_crossed_the_door_is_kept_with_wipe_label_and_receiver():
    out = event("item-crossed", item="specimen", direction="out", wiped=True, label="17", receiver="laboratory")
    state = fold(LED, [opened(), out, event("item-crossed", item="medicine")])

    specimen, medicine = state.crossings
    assert (specimen.item, specimen.direction, specimen.wiped) == ("specimen", "out", True)
    assert (specimen.label, specimen.receiver) == ("17", "laboratory")
    assert medicine.wiped is None
    assert [one.what for one in state.noted] == ["specimen", "medicine"]


def test_every_stop_is_kept_from_when_to_when():
    events = [opened(), event("stopped", "gown-on"), event("resumed", "gown-on"), event("stopped", "gown-on")]
    state = fold(LED, events)

    assert state.holds == ((events[1].clock, events[2].clock), (events[3].clock, None))
    assert fold(LED, [*events, event("abandoned", reason="led otherwise")]).holds[-1][1] is not None


def test_trouble_of_the_wearer_stays_with_the_hold_and_ends_with_it():
    held = [opened(), event("stopped", "gown-on"), event("unwell", what="lost-air")]
    state = fold(LED, held)
    assert state.held.trouble == "lost-air"
    assert state.held.happened is None

    after = fold(LED, [*held, event("resumed", "gown-on")])
    assert after.held is None
    assert [(one.kind, one.what) for one in after.noted] == [("unwell", "lost-air")]


def test_the_way_out_begins_once_and_is_flagged_without_having_gone_in():
    assert says(opened(), event("coming-out")) == ["on the way out without having gone in"]

    inside = [opened(), event("area-confirmed"), event("entered")]
    began = event("coming-out")
    state = fold(LED, [*inside, began, event("coming-out")])
    assert (state.coming_out_at, state.flags) == (began.clock, ())


def test_a_hand_over_without_badge_and_pin_counts_and_is_flagged():
    assert says(opened(), event("observer-handed-over", to="ilse", identified=True)) == []

    state = fold(LED, [opened(), event("observer-handed-over", to="ilse", identified=False)])
    assert state.observer == "ilse"
    assert [one.what for one in state.flags] == ["handed over without badge and PIN"]


# ---- after the wearer is out ----

ASSISTANT = Course(
    "team-assistant", (PlanStep(id="assistant.gown-off", phase="doffing", act="doff", items=("gown",)),), ("gown",)
)
OBSERVER = Course(
    "team-observer", (PlanStep(id="observer.gloves-off", phase="doffing", act="doff", items=("gloves",)),)
)
WITH_TEAM = Led(LED.plan, LED.recoveries, {"assistant": ASSISTANT, "observer": OBSERVER})


def out() -> list[Event]:
    """Opened, in, every step done, out."""
    return [opened(), event("area-confirmed"), event("entered"), *done(*(step.id for step in STEPS)), event("left")]


def test_dressed_is_when_the_last_step_of_donning_was_done():
    half, whole = [opened(), *done("gown-on")], [opened(), *done("gown-on", "gloves-on"), *done("gloves-off")]

    assert fold(LED, half).dressed_at is None
    assert fold(LED, whole).dressed_at == whole[4].clock


def test_the_lane_is_clear_once_each_part_of_it_was_said():
    wrong = event("lane-cleared", done=["floor"])
    said = [*out(), event("lane-cleared", done=["seat", "bins"]), wrong, event("pressed-wrongly", event=wrong.id)]
    assert fold(LED, said).lane_done == ("bins", "seat")
    assert fold(LED, said).lane_cleared_at is None

    last = event("lane-cleared", done=["restock", "floor", "ceiling"])
    assert fold(LED, [*said, last]).lane_cleared_at == last.clock
    assert fold(LED, [*out(), event("closed"), whole := event("lane-cleared")]).lane_cleared_at == whole.clock


def test_a_lane_is_not_cleared_while_the_wearer_is_in_it():
    state = fold(LED, [opened(), event("lane-cleared")])

    assert state.lane_done == ()
    assert [one.what for one in state.flags] == ["the lane said to be cleared before the wearer was out"]


def test_assistant_and_observer_go_out_as_courses_of_the_same_entry():
    begun = [*out(), event("undressing-begun", role="assistant", how="observed")]
    state = fold(WITH_TEAM, begun)
    assert (state.course, state.position, state.worn, state.stage) == ("team-assistant", 0, ("gown",), "under-way")

    gone = [*begun, *done("assistant.gown-off")]
    state = fold(WITH_TEAM, gone)
    assert (state.stage, state.worn, state.flags) == ("walked", (), ())
    assert [(one.role, one.settled, one.how) for one in state.team] == [
        ("assistant", True, "observed"), ("observer", False, ""),
    ]  # fmt: skip

    stays = event("undressing-left-out", role="observer", reason="stays for the next wearer")
    state = fold(WITH_TEAM, [*gone, stays, event("closed")])
    assert (state.stage, state.flags) == ("closed", ())
    assert state.team[1].why_not == "stays for the next wearer"


def test_an_entry_closed_without_them_is_closed_and_flagged():
    state = fold(WITH_TEAM, [*out(), event("closed")])

    assert state.stage == "closed"
    assert [one.what for one in state.flags] == [
        "closed with the assistant's own way out neither done nor left out",
        "closed with the observer's own way out neither done nor left out",
    ]


def test_nobody_goes_out_before_the_wearer():
    state = fold(WITH_TEAM, [opened(), event("undressing-begun", role="observer", how="mirror")])

    assert state.course == "plan"
    assert state.team[1].begun_at is not None
    assert [one.what for one in state.flags] == ["an own way out begun before the wearer was out"]
