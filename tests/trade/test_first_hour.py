"""The lists that a unit begins with: each item once, with where it comes from."""

from __future__ import annotations

import pytest
from pydantic import ValidationError

from vestry.trade.first_hour import LIST_NAMES, ListItem, UnitList, load_shipped_lists, shipped_list


@pytest.mark.parametrize("name", LIST_NAMES)
def test_every_list_has_items_that_say_what_to_do_while_they_are_not_so(name):
    items = shipped_list(name).items

    assert items
    assert all(one.else_do for one in items)


def test_every_item_says_that_it_is_common_practice():
    sources = {one.id for one in load_shipped_lists().source}

    assert {one.certainty for one in load_shipped_lists().item} == {"common-practice"}
    assert {one.source for one in load_shipped_lists().item} <= sources


def test_what_is_about_health_is_answered_alone():
    alone = {one.id for one in shipped_list("person").items if one.alone}

    assert alone == {"skin", "drink", "temperature", "willing"}


def test_an_item_stands_once_and_only_the_person_answers_alone():
    seat = ListItem(id="seat", say="Seat clean.")
    with pytest.raises(ValidationError, match="stands twice"):
        UnitList(name="area", items=(seat, seat))
    with pytest.raises(ValidationError, match="answered alone"):
        UnitList(name="area", items=(seat.model_copy(update={"alone": True}),))
