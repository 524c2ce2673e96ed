"""A sentence keeps apart what is filled into it; as a text it is the English one."""

from __future__ import annotations

import pickle

import pytest
from hypothesis import given
from hypothesis import strategies as st

from vestry.trade.told import told, told_in

SPANISH = {"from %(least)s to %(most)s": "de %(least)s a %(most)s", "no %(what)s: %(why)s": "%(why)s; no %(what)s"}


def spanish(text: str) -> str:
    return SPANISH.get(text, text)


def test_it_is_the_english_text_and_can_be_said_otherwise():
    said = told("from %(least)s to %(most)s", least=1, most=9)

    assert said == "from 1 to 9"
    assert f"{said}." == "from 1 to 9."
    assert told_in(said, spanish) == "de 1 a 9"
    assert told_in("from 1 to 9", spanish) == "from 1 to 9"


def test_a_sentence_within_a_sentence_is_translated_too():
    said = told("no %(what)s: %(why)s", what="number", why=told("from %(least)s to %(most)s", least=1, most=9))

    assert said == "no number: from 1 to 9"
    assert told_in(said, spanish) == "de 1 a 9; no number"


def test_what_is_not_given_fails_where_it_was_forgotten():
    with pytest.raises(KeyError):
        told("from %(least)s", most=9)


@given(st.text(), st.integers())
def test_no_value_is_read_as_a_place_to_fill_and_it_travels_whole(text: str, number: int):
    said = told("%(text)r of %(number)s, 5 %%", text=text, number=number)
    back = pickle.loads(pickle.dumps(said))

    assert said == f"{text!r} of {number}, 5 %"
    assert (back, back.text, back.values) == (said, said.text, said.values)
    assert told_in(said, lambda one: one) == said
