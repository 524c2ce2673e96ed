"""Laws of the roster, and the search held against trying everything."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.roster.rotas import fewest_changes, fewest_empty, rotas

from vestry.roster import breaches, changed, model, propose
from vestry.roster.closing import closing
from vestry.roster.needing import Grid
from vestry.roster.replaying import Held

pytestmark = pytest.mark.property
few = settings(max_examples=15, deadline=None)
many = settings(max_examples=60, deadline=None)


@few
@given(rotas())
def test_as_few_places_stay_empty_as_when_everything_is_tried(asking):
    found = propose(asking, close=False)

    assert found.fewest
    assert found.uncovered == fewest_empty(asking)
    assert breaches(asking, found.assigned) == ()


@many
@given(rotas(), st.integers(1, 300), st.integers(0, 120), st.none() | st.integers(30, 720), st.integers(1, 24))
def test_the_checker_and_the_search_find_the_same_needs_and_absences_each_in_its_own_way(
    asking, inside, rest, most, hours
):
    rules = asking.rules.model_copy(update={"minutes_inside": inside, "rest": rest, "most_inside_a_shift": most})
    shifts = tuple(one.model_copy(update={"hours": hours}) for one in asking.shifts)
    asking = asking.model_copy(update={"rules": rules, "shifts": shifts})
    grid, held = Grid(asking), Held(asking)

    assert {(grid.date_of(slot.day), slot.shift, duty): n for (slot, duty), n in grid.needs.items()} == held.needs
    assert held.away == {
        (one.id, grid.date_of(slot.day), slot.shift)
        for one in asking.people
        for slot in grid.slots
        if grid.away(one, slot)
    }


STRICTER = {"rest_hours": 12, "most_in_seven_days": -1, "most_days_in_a_row": -1, "most_hours_in_seven_days": -12}


@few
@given(rotas(), st.sampled_from(sorted(STRICTER)))
def test_a_stricter_rule_gives_no_roster_that_the_looser_one_lacks(asking, rule):
    rules = asking.rules.model_copy(update={rule: max(1, getattr(asking.rules, rule) + STRICTER[rule])})
    stricter = propose(asking.model_copy(update={"rules": rules}), close=False)

    assert breaches(asking, stricter.assigned) == ()
    assert stricter.uncovered >= propose(asking, close=False).uncovered


@pytest.mark.slow
@many
@given(rotas())
def test_the_changes_close_every_gap_and_none_of_them_can_be_left_out(asking):
    found = propose(asking)
    if found.closing.found == "changes":
        changes = found.closing.changes
        assert propose(changed(asking, changes), close=False).uncovered == 0
        for left_out in range(len(changes)):
            rest = [*changes[:left_out], *changes[left_out + 1 :]]
            assert propose(changed(asking, rest), close=False).uncovered > 0


@pytest.mark.slow
@settings(max_examples=25, deadline=None)
@given(rotas())
def test_no_fewer_changes_would_do_when_all_sets_of_them_are_tried(asking):
    asking = asking.model_copy(update={"days": 1, "people": asking.people[:2]})
    found = propose(asking).closing

    assert found.fewest
    tried = fewest_changes(asking, 2)
    assert len(found.changes) == tried if tried is not None else len(found.changes) > 2


@few
@given(rotas())
def test_one_person_more_never_leaves_more_empty(asking):
    more = asking.people[0].model_copy(update={"id": "z", "off": ()})

    before, after = (
        propose(one, close=False).uncovered
        for one in (asking, asking.model_copy(update={"people": (*asking.people, more)}))
    )
    assert after <= before


@few
@given(rotas(), st.randoms(use_true_random=False))
def test_what_closes_a_settled_roster_is_the_same_where_nobody_is_left_out_of_the_search(asking, chance):
    """The plain way asks everybody for every place, those that are fixed included.

    Those who would join cost alike, whichever places they take: their duties may differ, and either way closes all.
    """
    assigned = propose(asking, close=False).assigned
    fixed = asking.model_copy(update={"fixed": tuple(one for one in assigned if chance.random() < 0.7)})
    uncovered = propose(fixed, close=False).uncovered
    quick = closing(fixed, uncovered)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(model, "full", lambda grid: frozenset())
        plain = closing(fixed, uncovered)

    assert without_duties(quick) == without_duties(plain)
    if quick.found == "changes":
        assert propose(changed(fixed, quick.changes), close=False).uncovered == 0


def without_duties(found):
    return found.model_copy(update={"changes": tuple(one.model_copy(update={"duties": ()}) for one in found.changes)})
