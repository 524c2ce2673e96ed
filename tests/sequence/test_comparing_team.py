"""Two plans side by side beside the wearer: observer, assistant, and what is done to the lane between two exits."""

from __future__ import annotations

from functools import cache

from vestry.sequence import Case, Comparison, Policy, Subject, compare, plan_case, subject_of_order, subject_of_plan
from vestry.sequence.telling import told_team
from vestry.trade import load_catalogue, read_order
from vestry.trade.orders import packaged_orders
from vestry.trade.words import load_words

CATALOGUE, WORDS = load_catalogue(), load_words("en")


@cache
def planned(wearers: int = 1, **policy: object) -> Subject:
    plan = plan_case(Case(hazard="ebola", presentation="wet", wearers=wearers), Policy(**policy), CATALOGUE)
    return subject_of_plan(plan, plan.hash, "plan", CATALOGUE)


def told(found: Comparison) -> dict[str, tuple[str, ...]]:
    return dict(told_team(found, WORDS, CATALOGUE))


def test_a_plan_beside_itself_has_the_same_team_in_every_row():
    found = compare(planned(), planned())

    assert found.equal
    assert [one.role for one in found.team] == [one.role for one in planned().plan.team]
    assert {row.change for one in found.team for row in one.steps} == {"kept"}
    assert told(found) == {}


def test_a_member_that_only_one_plan_has_is_told_and_nothing_else_of_that_member():
    with_it, without = planned(), planned(assistant=False, switched_off=("assistant-for-powered-unit-or-coverall",))
    found = compare(with_it, without)
    assistant = next(one for one in found.team if one.role == "assistant")

    assert assistant.only == "a"
    assert {row.change for row in assistant.steps} == {"gone"}
    assert told(found)["Doffing assistant, own dressing and undressing"] == ("Only in A.",)


def test_what_a_member_wears_and_does_otherwise_is_told_step_by_step():
    found = compare(planned(), planned(respirator="belt-blower"))

    for one in found.team:
        differs = [row for row in one.steps if row.change != "kept"]
        assert bool(one.dropped or one.added or differs) is any(
            WORDS.term("who", one.role) in t.lower() for t in told(found)
        )
        for row in one.steps:
            assert (row.a is None) is (row.change == "new")
            assert (row.b is None) is (row.change == "gone")


def test_the_same_steps_of_the_wearer_with_another_lane_are_not_equal():
    """One wearer, or two through one lane: the turnaround is all that differs."""
    found = compare(planned(), planned(wearers=2))

    assert found.turnaround
    assert {row.change for row in found.turnaround} == {"new"}
    assert not found.equal
    assert len(told(found)["Between two exits through the lane"]) == len(found.turnaround)


def test_an_order_has_no_team_to_compare():
    name = "cdc-vhf-unstable-n95-gown-doff-2015--with-apron"
    found = compare(planned(), subject_of_order(read_order(packaged_orders()[name], name), name, CATALOGUE))

    assert (found.team, found.turnaround) == ((), ())


def test_a_comparison_written_before_teams_were_compared_still_reads():
    document = compare(planned(), planned(wearers=2)).as_json()
    del document["team"], document["turnaround"]

    assert Comparison.model_validate(document).team == ()
