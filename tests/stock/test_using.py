"""What is picked for an entry, and what an entry took."""

import datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from vestry.sequence import Case, Policy, plan_case
from vestry.stock import Lot, OnHand, Take, picking, size_of, takes
from vestry.stock.using import BROUGHT
from vestry.trade import load_catalogue

FACTS = load_catalogue()
DAY = datetime.date(2026, 6, 1)
SIZES = {"inner-gloves-long": "s", "outer-gloves-long": "m", "gown-impermeable": "l", "respirator-disposable": "s"}


def there(key, quantity, expiry=None, item="gown-impermeable", size="l", place="store", expired=False, held=False):
    lot = Lot(id=key, item=item, size=size, number=key, expiry=expiry)
    return OnHand(lot, place, quantity, expired, held)


def test_the_fresh_gloves_lie_in_the_doffing_area_in_the_size_of_the_hand():
    plan = plan_case(Case(hazard="ebola", presentation="wet"), Policy(), FACTS)

    wanted = takes(plan, FACTS, SIZES)

    assert [(one.item, one.size) for one in wanted if one.area == "doffing"] == [("fresh-gloves", "s")]
    assert {one.item for one in wanted if one.area == "donning"} == set(plan.worn) - {"scrubs", "washable-shoes"}


def test_each_of_the_team_has_their_own_and_what_any_size_does_for_leaves_nobody_without_theirs():
    plan = plan_case(Case(hazard="ebola", presentation="wet"), Policy(), FACTS)
    observer = takes(plan, FACTS, {"inner-gloves-long": "m"}, part="observer")
    anyone = takes(plan, FACTS, {}, part="assistant", any_size=True)
    worn = {member.role: {one for one in member.worn if FACTS.items[one].kind not in BROUGHT} for member in plan.team}

    assert {one.item for one in observer} >= worn["observer"]
    assert {one.item for one in anyone} >= worn["assistant"]
    assert {(one.part, one.any_size) for one in (*observer, *anyone)} == {("observer", False), ("assistant", True)}

    gloves = there("gloves", 1, DAY, item="inner-gloves-long", size="m")
    other = there("other", 1, None, item="inner-gloves-long", size="s")
    found = picking([one for one in (*anyone, *observer) if one.item == "inner-gloves-long"], [gloves, other])
    assert [(one.take.part, one.there.lot.id) for one in found.picks] == [
        ("observer", "gloves"),
        ("assistant", "other"),
    ]


def test_a_size_that_nobody_knows_is_not_made_up():
    assert size_of("gown-impermeable", {}, FACTS) is None
    assert size_of("face-shield", {}, FACTS) == "one-size"


def test_the_first_to_expire_is_the_first_out_and_none_is_taken_twice():
    late, soon, never = (
        there("late", 5, datetime.date(2027, 1, 1)),
        there("soon", 1, datetime.date(2026, 7, 1)),
        there("never", 9),
    )
    take = Take("gown-impermeable", "l", 2, "donning")

    found = picking([take, take], [never, late, soon])

    assert [(one.there.lot.id, one.quantity) for one in found.picks] == [("soon", 1), ("late", 1), ("late", 2)]
    assert found.complete


def test_what_is_expired_on_hold_or_of_another_size_is_left_and_the_rest_is_said_to_be_wanting():
    shelf = [there("a", 5, expired=True), there("b", 5, held=True), there("c", 5, size="m"), there("d", 1)]

    found = picking([Take("gown-impermeable", "l", 3, "donning")], shelf)

    assert [(one.there.lot.id, one.quantity) for one in found.picks] == [("d", 1)]
    assert found.wanting == (Take("gown-impermeable", "l", 2, "donning"),)


def test_of_one_expiry_the_nearer_place_comes_first():
    far, near = there("far", 1, DAY), there("near", 1, DAY, place="anteroom")

    found = picking([Take("gown-impermeable", "l", 1, "donning")], [far, near], ("anteroom", "store"))

    assert found.picks[0].there.lot.id == "near"


shelves = st.lists(
    st.builds(
        lambda number, quantity, days, size: there(
            f"l{number}", quantity, DAY + datetime.timedelta(days=days), size=size
        ),
        st.integers(0, 10_000),
        st.integers(0, 5),
        st.integers(0, 60),
        st.sampled_from(("m", "l")),
    ),
    max_size=12,
    unique_by=lambda one: one.lot.id,
)


@pytest.mark.property
@given(shelves, st.integers(1, 20))
def test_whatever_is_left_expires_no_earlier_than_what_was_taken(shelf, quantity):
    found = picking([Take("gown-impermeable", "l", quantity, "donning")], shelf)

    taken = {one.there.lot.id: one.quantity for one in found.picks}
    left = [one for one in shelf if one.lot.size == "l" and one.usable > taken.get(one.lot.id, 0)]
    assert sum(taken.values()) + sum(one.quantity for one in found.wanting) == quantity
    assert all(one.there.lot.expiry <= other.lot.expiry for one in found.picks for other in left)
    assert not (left and found.wanting)
