"""What a tablet carries: whole, small, without what has no business there, and the same every time."""

from __future__ import annotations

import gzip
import json
import re
from typing import Any

import pytest
from tests.entry.real import real
from tests.procedure.example import example

from vestry.contact.program import Program
from vestry.entry import bundle as bundles
from vestry.entry.bundle import Bundle, BundleTooLarge, Clocks


def bundle() -> Bundle:
    return Bundle(
        entry="e",
        drill=True,
        unit="Harrow Point General",
        invented=True,
        carried=real(example()).carried,
        people=(),
        clocks=Clocks(
            limit_minutes=120,
            limit_source="hospital",
            policy_minutes=120,
            limit_by="policy",
            limit_why="no-room",
            limit_says="120 min",
        ),
    )


@pytest.fixture(scope="module")
def document() -> dict[str, Any]:
    return bundle().as_json()


def test_the_same_entry_gives_the_same_digest(document: dict[str, Any]):
    assert document == bundle().as_json()
    assert re.fullmatch("[0-9a-f]{64}", document["digest"])
    assert bundle().model_copy(update={"entry": "other"}).as_json()["digest"] != document["digest"]


def test_every_step_of_every_course_has_its_words_its_worn_set_and_its_picture(document: dict[str, Any]):
    carried = document["carried"]
    approved = example()
    courses = {one["name"]: one for one in carried["courses"]}

    own = {"team-assistant": "assistant", "team-observer": "observer"}
    assert set(courses) == {"plan", *own, *(answer.name for answer in approved.answers)}
    assert {name: course["role"] for name, course in courses.items() if course["role"]} == own
    assert len(carried["words"]["lines"]) == len(carried["steps"])
    for course in courses.values():
        for scene in course["scenes"]:
            assert carried["words"]["lines"][scene["step"]]["say"]
            assert scene["worn"] < len(carried["outfits"])
            assert scene["contaminated"] < len(carried["sets"])
            assert scene["view"] < len(carried["views"])
    ids = [carried["steps"][scene["step"]]["id"] for scene in courses["plan"]["scenes"]]
    assert ids == [step.id for step in approved.plan.steps]


def test_every_slip_and_every_surface_that_can_be_shown_has_a_word(document: dict[str, Any]):
    carried = document["carried"]
    slips = {slip for course in carried["courses"] for scene in course["scenes"] for slip in scene["slips"]}
    shown = {name for names in carried["sets"] for name in names if name.partition(".")[0] != "air"}

    assert slips <= set(carried["words"]["events"])
    assert shown <= set(carried["words"]["surfaces"])


def test_a_picture_is_put_together_from_its_strokes_with_every_face_that_may_be_hatched(document: dict[str, Any]):
    carried = document["carried"]
    scene = carried["courses"][0]["scenes"][20]
    svg = "".join(carried["pieces"][part] for part in carried["views"][scene["view"]]["parts"])

    assert svg.startswith("<svg ")
    assert svg.endswith("</svg>")
    assert 'data-mark="hatch" data-surface="gown-impermeable.front"' in svg
    assert "style=" not in svg


def test_no_margin_no_count_and_no_route_goes_to_a_tablet(document: dict[str, Any]):
    def keys(value: Any) -> set[str]:
        if isinstance(value, dict):
            return set(value) | {key for one in value.values() for key in keys(one)}
        return {key for one in value for key in keys(one)} if isinstance(value, list) else set()

    assert not {key for key in keys(document) if re.search("margin|further|count|route|weak|assurance", key)}


def test_a_bundle_is_small(document: dict[str, Any]):
    text = json.dumps(document).encode()

    assert len(text) < 1_000_000
    assert len(gzip.compress(text)) < 120_000


def test_a_bundle_over_the_limit_is_refused(monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setattr(bundles, "LARGEST", 1000)

    with pytest.raises(BundleTooLarge, match="at most 1000"):
        bundle().as_json()


def test_a_program_reads_back_as_it_was_written():
    program = real(example()).program

    assert Program.from_json(json.loads(json.dumps(program.as_json()))) == program


def test_an_answer_whose_facts_cannot_be_read_is_led_without_pictures():
    from vestry.entry.carrying import carried
    from vestry.trade import load_catalogue
    from vestry.trade.words import load_words

    made = carried(example(), real(example()).program, {}, load_catalogue(), load_words("en"), "x")

    assert all(scene.view is None for course in made.courses[1:] for scene in course.scenes)
    answers = [course for course in made.courses[1:] if course.role is None]
    assert [len(course.scenes) for course in answers] == [len(one.steps) for one in example().answers]
