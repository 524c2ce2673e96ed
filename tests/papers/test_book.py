"""The book and the answers on the sheet: compact, in the plan's own numbers, each answer once."""

from __future__ import annotations

import json
import re

import pytest
from tests.procedure.example import example, plan, shield_step

from vestry import papers
from vestry.papers.answers import answers_rows
from vestry.papers.labels import ENGLISH
from vestry.trade import load_catalogue
from vestry.trade.words import load_words

APPROVAL = papers.Approval(1, "Ingrid Vell", "2026-01-15", "by 2 of 6 who may go in", "Harrow Point General")
LED = tuple((one.recovery, one.steps) for one in example().answers)


def rows() -> list[dict[str, object]]:
    return answers_rows(plan(), LED, load_words("en"), load_catalogue(), ENGLISH)


def chapter(title: str = "Wet patient") -> papers.Chapter:
    return papers.Chapter(title, plan(), example().assurance, APPROVAL, load_catalogue(), LED)


def test_answers_stand_under_the_number_of_their_step():
    (row,) = rows()

    assert row["number"] == [step.id for step in plan().steps].index(shield_step()) + 1


def test_the_way_on_says_where_it_comes_back_to_the_plan():
    """Followed as printed it is the answer that was approved: its own steps, then the plan's from that number."""
    from vestry.papers.answers import _content, _until_the_plan

    number = [step.id for step in plan().steps].index(shield_step()) + 1
    for _, steps in LED:
        own, back = _until_the_plan(steps, plan(), number)
        assert back is not None
        followed = [*steps[:own], *plan().steps[back - 1 :]]
        assert [_content(step) for step in followed] == [_content(step) for step in steps]


def test_every_answer_is_told_and_equal_ones_once():
    (row,) = rows()
    answers = row["answers"]
    assert isinstance(answers, list)

    assert len({(one["does"], one["reached"]) for one in answers}) == len(answers)
    assert any(ENGLISH.anything in one["happened"] for one in answers)
    assert all(re.search(r"go on with step \d+", one["does"]) or one["does"] == "Hold card" for one in answers)


def test_an_answer_that_reaches_further_says_hold_card():
    recovery, steps = LED[0]
    worse = ((recovery.model_copy(update={"clean": False}), steps),)
    (row,) = answers_rows(plan(), worse, load_words("en"), load_catalogue(), ENGLISH)

    assert row["answers"][0]["does"] == "Hold card"


@pytest.mark.slow
def test_a_sheet_without_answers_points_to_the_book_and_one_with_them_to_its_last_pages():
    words, catalogue = load_words("en"), load_catalogue()
    bare = papers.sheet_content(plan(), example().assurance, words, catalogue, APPROVAL, ENGLISH)
    full = papers.sheet_content(plan(), example().assurance, words, catalogue, APPROVAL, ENGLISH, answers=LED)

    assert bare["answers"] == []
    assert full["answers"] == rows()


def test_the_book_says_no_margin_and_keeps_the_numbers():
    content = papers.book_content([chapter()], load_words("en"), "Harrow Point General")
    steps = [step for phase in content["chapters"][0]["phases"] for step in phase["steps"]]

    assert [step["number"] for step in steps] == list(range(1, len(plan().steps) + 1))
    assert "further error" not in json.dumps(content["chapters"][0]["phases"])
    assert content["chapters"][0]["practised"] == "by 2 of 6 who may go in"


def test_the_same_book_is_the_same_bytes():
    words = load_words("en")
    one, other = (papers.book_pdf([chapter(), chapter("Again")], words, "Harrow Point General") for _ in range(2))

    assert one == other
    assert one.startswith(b"%PDF-")
