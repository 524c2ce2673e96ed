"""What is done with a proposal: the roster in force is a fold, and a change that breaks a rule is told."""

from __future__ import annotations

from typing import Any

import pytest
from tests.roster.rotas import STARTS, asked, day, people, rota

from vestry.roster import Act, breaches, kept, laid_out, propose, troubles_of
from vestry.roster.keeping import with_change
from vestry.roster.rota import Assigned


def at(person: str, number: int, shift: str, duty: str) -> Assigned:
    return Assigned.model_validate(asked(person, number, shift, duty))


TAKEN = (at("a", 0, "day", "inside"), at("b", 0, "day", "observing"))


def test_nothing_is_in_force_before_a_proposal_is_taken():
    change = Act(kind="changed", come=TAKEN[0])

    assert kept([]).roster is None
    assert kept([change]).roster is None
    assert kept([Act(kind="left")]).left
    assert kept([Act(kind="left"), Act(kind="taken", assigned=TAKEN)]) == kept([Act(kind="taken", assigned=TAKEN)])


def test_a_cell_is_emptied_filled_and_moved():
    moved = at("a", 0, "night", "inside")
    acts = [Act(kind="taken", assigned=TAKEN), Act(kind="changed", gone=TAKEN[0], come=moved)]

    assert kept(acts).roster == (TAKEN[1], moved)
    assert kept([*acts, Act(kind="changed", gone=moved)]).roster == (TAKEN[1],)
    assert kept([*acts, Act(kind="left")]).roster == (TAKEN[1], moved)


def test_what_was_broken_before_a_change_is_not_held_against_it():
    one = rota(people=people("i", "o", away=[{"from": day(0), "until": day(0)}]))
    assert breaches(one, TAKEN)

    emptied = with_change(TAKEN, TAKEN[0], None)
    assert troubles_of(one, TAKEN, emptied) == ()
    (trouble,) = troubles_of(one, emptied, with_change(emptied, None, at("b", 1, "day", "inside")))
    assert (trouble.rule, trouble.person) == ("not-qualified", "b")


def until(duty: str, number: int) -> dict[str, Any]:
    return {"until": {duty: day(number)}}


def test_whoever_s_qualification_ends_within_the_rota_is_asked_to_its_last_day_and_no_longer():
    one = rota(days=3, people=people("i", **until("inside", 1)), needs=[{"duty": "inside", "people": 1}])
    found = propose(one)

    assert {row.day for row in found.assigned} == {STARTS, TAKEN[0].day.replace(day=2)}
    assert found.gaps[-1].reasons.qualified == 0
    late = at("a", 2, "day", "inside")
    assert [(one.rule, one.day) for one in breaches(one, [late])] == [("not-qualified", 2)]


@pytest.mark.property
def test_a_roster_that_no_longer_holds_is_still_laid_out():
    one = rota(people=people("i", "o", away=[{"from": day(0), "until": day(0)}]))

    assert [row.people for row in laid_out(one, TAKEN).grid[:2]] == [("a",), ("b",)]
