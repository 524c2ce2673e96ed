"""A roster covers what can be covered, says what cannot and why, and names the smallest change that would."""

from __future__ import annotations

from datetime import date

import pytest
from tests.roster.rotas import SHIFTS, asked, day, fewest_changes, people, rota

from vestry.roster import as_it_is, breaches, changed, propose
from vestry.roster.needing import Grid, crew
from vestry.roster.reading_rota import checked, read_rota
from vestry.roster.rota import Assigned, Rota
from vestry.trade import BadFacts


def test_everything_is_covered_where_it_can_be():
    found = propose(rota(people=people("i", "i", "o", "o")))

    assert (found.uncovered, found.fewest, found.gaps, found.closing.found) == (0, True, (), "none-needed")
    assert len(found.assigned) == 8
    assert {load.shifts for load in found.loads} == {2}


def test_nobody_at_all_is_told_place_by_place():
    found = propose(rota())

    assert (found.uncovered, len(found.gaps), found.assigned) == (8, 8, ())
    assert [change.kind for change in found.closing.changes] == ["one-person"] * 4


def test_a_gap_says_why_those_who_could_do_not():
    """a is away on the first day and b rests after the night before: the day shift has nobody inside."""
    members = people("io", "io", "o", "o")
    members[0]["away"] = [{"from": day(0), "until": day(0)}]
    before = [asked("b", -1, "night", "inside")]
    found = propose(
        rota(
            days=1,
            people=members,
            before=before,
            shifts=[{"id": "day", "from-hour": 7, "hours": 12}, {"id": "night", "from-hour": 19, "hours": 12}],
        )
    )
    gap = next(gap for gap in found.gaps if gap.shift == "day")

    assert (gap.duty, gap.needed, gap.there) == ("inside", 1, 0)
    reasons = gap.reasons
    assert (reasons.qualified, reasons.away, reasons.rest, reasons.other_duty, reasons.limit) == (2, 1, 1, 0, 0)


def test_the_smallest_change_is_the_one_that_is_enough():
    """Two may go in, one observes: the second night and day lack an observer until somebody learns it."""
    asking = rota(people=people("i", "i", "o", "a"))
    found = propose(asking)

    assert found.uncovered == 2
    assert [(change.kind, change.duty) for change in found.closing.changes] == [("qualify", "observing")]
    assert found.closing.fewest
    assert propose(changed(asking, found.closing.changes)).uncovered == 0
    assert fewest_changes(asking, 1) == 1


def test_one_shift_more_is_proposed_where_only_a_limit_stands_in_the_way():
    rules = {"minutes-inside": 720, "rest": 0, "most-in-seven-days": 1}
    asking = rota(
        days=2, shifts=[{"id": "day", "from-hour": 7, "hours": 12}], people=people("i", "o", "o"), rules=rules
    )
    found = propose(asking)

    assert found.uncovered == 1
    assert len(found.closing.changes) == 1
    assert propose(changed(asking, found.closing.changes)).uncovered == 0


@pytest.mark.parametrize(
    ("inside", "limit", "people_needed"),
    [(1, 720, 1), (1, 120, 2), (2, 120, 4), (1, 60, 3), (2, 60, 5), (0, 60, 0), (5, 120, 9)],
)
def test_the_crew_follows_from_the_longest_time_inside(inside, limit, people_needed):
    """People inside x (time + don 10 + doff 8 + rest 60) / time, over twelve hours."""
    asking = rota(rules={"minutes-inside": limit, "don": 10, "doff": 8, "rest": 60})

    assert crew(asking, inside, 12) == people_needed


def test_the_minutes_of_one_shift_ask_for_more():
    assert crew(rota(rules={"minutes-inside": 120, "most-inside-a-shift": 180}), 1, 12) == 4


def test_relief_goes_in_too_and_is_asked_apart():
    rules = {"minutes-inside": 120, "don": 10, "doff": 8, "rest": 60}
    found = propose(rota(days=1, people=people("i", "i", "i", "i", "o", "o"), rules=rules))

    assert {(row.shift, row.duty): len(row.people) for row in found.grid} == {
        ("day", "inside"): 1, ("day", "relief"): 1, ("day", "observing"): 1,
        ("night", "inside"): 1, ("night", "relief"): 1, ("night", "observing"): 1,
    }  # fmt: skip


def test_what_is_fixed_stays():
    fixed = [asked("b", 0, "day", "inside"), asked("c", 1, "night", "observing")]
    asking = rota(people=people("i", "i", "o", "o"), fixed=fixed)
    found = propose(asking)

    assert set(asking.fixed) <= set(found.assigned)
    assert found.uncovered == 0


def test_what_is_fixed_stays_even_where_another_would_do_better():
    """a alone may go in, and is settled to observe: inside stays empty."""
    fixed = [asked("a", 0, "day", "observing")]
    found = propose(rota(days=1, shifts=SHIFTS[:1], people=people("io", "o"), fixed=fixed))

    assert [(gap.duty, gap.reasons.other_duty) for gap in found.gaps] == [("inside", 1)]


def test_a_grid_as_it_is_proposes_nothing():
    found = as_it_is(rota(people=people("i", "o"), fixed=[asked("a", 0, "day", "inside")]))

    assert (found.proposed, found.uncovered, len(found.assigned)) == (False, 7, 1)


def test_the_same_rota_gives_the_same_roster_however_many_search():
    asking = rota(days=4, people=people("i", "io", "io", "o", "o"))
    one, two, four = (propose(asking, workers=workers) for workers in (1, 2, 4))

    assert (one.only, two.only, four.only) == (True, True, True)
    assert one == two == four == propose(asking)


def test_the_order_in_which_people_stand_changes_nobody_s_shifts():
    members = people("i", "io", "io", "o")
    one, other = (propose(rota(people=order)) for order in (members, members[::-1]))

    assert set(one.assigned) == set(other.assigned)


def test_eighty_people_four_weeks_three_shifts_are_all_covered():
    asking = eighty()
    found = propose(asking)

    assert (found.uncovered, found.fewest) == (0, True)
    assert breaches(asking, found.assigned) == ()
    assert len(found.assigned) == 28 * 3 * 7
    shifts = [load.shifts for load in found.loads]
    assert max(shifts) - min(shifts) <= 2


test_eighty_people_four_weeks_three_shifts_are_all_covered = pytest.mark.slow(
    test_eighty_people_four_weeks_three_shifts_are_all_covered
)


def eighty() -> Rota:
    shifts = [{"id": name, "from-hour": hour, "hours": 8} for name, hour in (("early", 7), ("late", 15), ("night", 23))]
    able = (["inside", "observing", "assisting"], ["inside", "assisting"], ["observing", "assisting"])
    members = [{"id": f"p{n:02}", "may": able[n % 3]} for n in range(80)]
    needs = [{"duty": "inside", "people": 2}, {"duty": "observing", "people": 2}, {"duty": "assisting", "people": 1}]
    return rota(days=28, shifts=shifts, people=members, needs=needs, rules={}, effort=4)


# ---- the replay sees each rule broken ----

BROKEN = {
    "no-such-person": [asked("z", 0, "day", "inside")],
    "not-in-the-rota": [asked("a", 9, "day", "inside")],
    "not-qualified": [asked("c", 0, "day", "inside")],
    "away": [asked("b", 1, "day", "inside")],
    "two-duties": [asked("a", 0, "day", "inside"), asked("a", 0, "day", "observing")],
    "two-shifts-a-day": [asked("a", 0, "day", "inside"), asked("a", 0, "night", "inside")],
    "rest": [asked("a", 0, "night", "inside"), asked("a", 1, "day", "inside")],
    "in-seven-days": [asked("a", n, "day", "inside") for n in (0, 2, 4)],
    "hours-in-seven-days": [asked("c", n, "day", "observing") for n in (0, 2, 4)],
    "in-a-row": [asked("a", n, "day", "inside") for n in (2, 3, 4)],
    "inside-in-seven-days": [asked("a", n, "day", "inside") for n in (0, 2)],
    "more-than-needed": [asked("a", 0, "day", "inside"), asked("b", 0, "day", "inside")],
}


@pytest.mark.parametrize("rule", BROKEN)
def test_the_replay_sees_each_rule_broken(rule):
    members = people("io", "io", "o")
    members[1]["away"] = [{"from": day(1), "until": day(1)}]
    rules = {"minutes-inside": 720, "rest": 0, "most-in-seven-days": 2, "most-days-in-a-row": 2}
    rules |= {"most-hours-in-seven-days": 30, "most-inside-in-seven-days": 1}
    asking = rota(days=6, people=members, rules=rules)
    roster = [Assigned.model_validate(one) for one in BROKEN[rule]]

    assert rule in {breach.rule for breach in breaches(asking, roster)}


def test_the_replay_sees_what_was_fixed_left_out():
    asking = rota(people=people("i"), fixed=[asked("a", 0, "day", "inside")])

    assert [breach.rule for breach in breaches(asking, ())] == ["fixed-left-out"]
    assert breaches(asking, asking.fixed) == ()


# ---- refused ----


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ({"people": people("i") * 2}, "people: a stands 2 times"),
        ({"needs": [{"duty": "inside", "people": 1, "shifts": ["dya"]}]}, "no shift is called dya; did you mean day?"),
        ({"fixed": [asked("x", 0, "day", "inside")]}, "fixed.0.person: no person is called x"),
        ({"people": people("i"), "fixed": [asked("a", 7, "day", "inside")]}, "is not one of the 2 days"),
        ({"people": people("o"), "fixed": [asked("a", 0, "day", "inside")]}, "breaks a rule: not-qualified"),
        ({"people": people("o"), "before": [asked("a", 0, "day", "observing")]}, "is not before 2027-03-01"),
        ({"people": [{"id": "+1", "may": ["inside"]}]}, "begins with +"),
    ],
)
def test_what_is_wrong_is_said_with_its_field(change, says):
    with pytest.raises(BadFacts) as bad:
        checked(rota(**change))

    assert says in str(bad.value)


def test_a_relief_is_not_asked_for_by_name():
    with pytest.raises(BadFacts, match=r"needs\.0\.duty"):
        read_rota('{"starts": "2027-03-01", "days": 1, "shifts": [{"id": "d", "from-hour": 7, "hours": 8}],'
                  ' "needs": [{"duty": "relief", "people": 1}]}', "rota.json")  # fmt: skip


def test_days_are_those_of_the_calendar():
    grid = Grid(rota(days=3))

    assert [grid.date_of(slot.day) for slot in grid.slots[::2]] == [date(2027, 3, n) for n in (1, 2, 3)]
