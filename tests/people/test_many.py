"""The quick answer for many people is the slow one, person by person, on random registers."""

from __future__ import annotations

import datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.people.slow_going_in import slow_answer
from tests.people.test_going_in import DAY, FACTS, MASK, NEED, STANDARDS

from vestry.people import Clearance, Competency, FitTest, Hand, OnShelf, Person, Tried, who_can_go_in
from vestry.people.values import Absence

days = st.dates(datetime.date(2023, 1, 1), datetime.date(2026, 12, 31))
sizes = st.sampled_from(["s", "m", "l", "xl", "one-size"])
models = st.sampled_from(["A1", "B2", None])
items = st.sampled_from([*NEED.items, "face-shield"])
shelf = st.lists(
    st.builds(OnShelf, items, sizes, st.integers(0, 3), models, st.sampled_from([None, 1100, 1300])), max_size=12
)
people = st.lists(
    st.builds(
        Person,
        id=st.sampled_from(["a", "b", "c"]),
        active=st.booleans(),
        duties=st.sampled_from([("wearer",), ("observer",), ("wearer", "assistant")]),
        competencies=st.lists(
            st.builds(Competency, subject=st.sampled_from(["fever-wet", "else"]), duty=st.just("wearer"), on=days),
            max_size=3,
        ),
        clearances=st.lists(
            st.builds(Clearance, on=days, cleared=st.sampled_from(["any", "powered-only", "none"])), max_size=3
        ),
        fit_tests=st.lists(
            st.builds(
                FitTest,
                item=st.sampled_from([MASK, "respirator-elastomeric-half"]),
                model=st.sampled_from(["A1", "B2"]),
                size=st.sampled_from(["s", "m"]),
                system=st.sampled_from(["us", "uk"]),
                method=st.just("quantitative"),
                on=days,
                overall=st.sampled_from([40.0, 99.0, 100.0, 200.0]),
            ),
            max_size=4,
        ),
        hand=st.none() | st.builds(Hand, circumference_mm=st.integers(120, 300)),
        height_mm=st.sampled_from([None, 1500, 1700, 1950]),
        tried=st.lists(
            st.builds(Tried, what=st.sampled_from(["gown", "gown-impermeable", "gloves"]), size=sizes), max_size=2
        ),
        absences=st.lists(days.map(lambda day: Absence.model_validate({"from": day})), max_size=1),
    ),
    max_size=6,
)


@pytest.mark.property
@given(people, st.none() | shelf, st.sampled_from(["us", "uk", "unstated"]))
def test_many_at_once_are_answered_as_each_alone(some: list[Person], there: list[OnShelf] | None, system: str) -> None:
    found = who_can_go_in(NEED, some, there, DAY, FACTS, STANDARDS, system)

    slow = [slow_answer(NEED, one, there, DAY, FACTS, STANDARDS, system) for one in some]
    assert list(found.answers) == sorted(slow, key=lambda one: not one.may)
