"""The minimum team: present or not, complete when, and what is missing; against every way of filling the places."""

from __future__ import annotations

import datetime

from hypothesis import given
from hypothesis import strategies as st

from vestry.call import Present, Shortfall, team_now

NOW = datetime.datetime(2026, 11, 27, 2, 0, tzinfo=datetime.UTC)
NEEDED = {"wearer": 2, "observer": 1, "assistant": 1}


def there(person: str, *may: str, in_minutes: int | None = 0) -> Present:
    at = None if in_minutes is None else NOW + datetime.timedelta(minutes=in_minutes)
    return Present(person, at, frozenset(may))  # type: ignore[arg-type]


def test_with_nobody_everything_is_missing():
    team = team_now(NEEDED, [], NOW)

    assert (team.present, team.whole_at) == (False, None)
    assert team.missing == (Shortfall("wearer", 2), Shortfall("observer", 1), Shortfall("assistant", 1))


def test_somebody_who_may_do_everything_is_put_where_nobody_else_can_be():
    team = team_now({"wearer": 1, "observer": 1, "assistant": 0}, [
        there("maren", "wearer", "observer", "assistant"), there("noor", "wearer"),
    ], NOW)  # fmt: skip

    assert (team.present, team.filled) == (True, {"maren": "observer", "noor": "wearer"})


def test_it_is_complete_when_the_last_who_is_needed_arrives():
    team = team_now({"wearer": 1, "observer": 1}, [
        there("noor", "wearer"), there("jonas", "observer", in_minutes=50), there("tomas", "observer", in_minutes=20),
    ], NOW)  # fmt: skip

    assert (team.missing, team.whole_at) == ((Shortfall("observer", 1),), NOW + datetime.timedelta(minutes=20))


def test_whoever_comes_at_a_time_that_nobody_knows_does_not_make_it_complete():
    team = team_now({"wearer": 1}, [there("noor", "wearer", in_minutes=None)], NOW)

    assert (team.present, team.whole_at, team.then_missing) == (False, None, (Shortfall("wearer", 1),))


DUTIES = ("wearer", "observer", "assistant")
PEOPLE = st.lists(st.frozensets(st.sampled_from(DUTIES)), max_size=5)
NEEDS = st.fixed_dictionaries({duty: st.integers(0, 2) for duty in DUTIES})


@given(PEOPLE, NEEDS)
def test_as_many_places_are_filled_as_trying_every_order_fills(may, needed):
    """The slow way: each place is left open, or given to each of those who may fill it and are still free."""
    people = [there(f"p{number}", *one) for number, one in enumerate(may)]
    places = [duty for duty in DUTIES for _ in range(needed[duty])]

    def most(places: list[str], free: list[Present]) -> int:
        if not places:
            return 0
        first, rest = places[0], places[1:]
        given_to = [1 + most(rest, [two for two in free if two is not one]) for one in free if first in one.may]
        return max([most(rest, free), *given_to])

    team = team_now(needed, people, NOW)

    assert len(team.filled) == most(places, people)
    assert all(duty in next(one.may for one in people if one.person == who) for who, duty in team.filled.items())
    assert sum(one.missing for one in team.missing) == sum(needed.values()) - len(team.filled)
