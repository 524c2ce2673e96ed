"""Reading events: every problem at once, named by its field; unknown kinds are kept."""

from __future__ import annotations

from typing import Any

import pytest

from vestry.entry import KINDS, BadEvent, read_event

ENTRY = "01936f2e-0000-7000-8000-000000000001"
PLAN = "a" * 64


def document(**changes: Any) -> dict[str, Any]:
    return {
        "id": "01936f2e-7c1a-7b52-9d0e-3f6a1c2b4d5e",
        "kind": "read",
        "payload": {"step": "one"},
        "device": "0d5c1a52-5d43-4f0a-9b1a-2f6e5b7c8d90",
        "clock": "2026-11-25T03:14:09.12+01:00",
        "counter": 7,
        **changes,
    }


def read(**changes: Any) -> Any:
    return read_event(document(**changes), entry=ENTRY, actor="tomas", plan=PLAN)


def problems(**changes: Any) -> dict[str, str]:
    with pytest.raises(BadEvent) as bad:
        read(**changes)
    return dict(bad.value.problems)


def test_an_event_is_read_with_its_clock_in_utc_and_its_actor_from_the_sign_in():
    event = read()

    assert event.clock == "2026-11-25T02:14:09.120+00:00"
    assert (event.actor, event.step, event.counter) == ("tomas", "one", 7)


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("id", "not-a-uuid"), ("id", "0d5c1a52-5d43-4f0a-9b1a-2f6e5b7c8d90"), ("id", 7),
        ("kind", "Read!"), ("kind", None), ("device", "tablet"), ("device", ["x"]),
        ("clock", "yesterday"), ("clock", "2026-11-25T02:14:09"), ("clock", "9" * 60), ("clock", 12),
        ("counter", -1), ("counter", "7"), ("counter", True), ("counter", 2**60), ("counter", 1.5),
        ("payload", []), ("payload", "step"), ("format-version", 2), ("entry", "another"), ("plan", "b" * 64),
    ],
)  # fmt: skip
def test_a_wrong_field_is_named(field: str, value: Any):
    assert field in problems(**{field: value})


def test_every_problem_is_said_at_once():
    assert set(problems(id="x", device="y", clock="z", counter=None, kind="")) == {
        "id", "device", "clock", "counter", "kind",
    }  # fmt: skip


@pytest.mark.parametrize(
    "payload", [{}, {"step": ""}, {"step": "  "}, {"step": 4}, {"step": "a\x00b"}, {"step": "x" * 2001}]
)
def test_a_known_kind_must_carry_what_it_needs(payload: dict[str, Any]):
    assert set(problems(payload=payload)) == {"payload.step"}


def test_a_field_that_a_kind_does_not_have_is_named():
    assert problems(payload={"step": "one", "margin": 2}) == {"payload.margin": "read carries step"}


def test_an_unknown_kind_is_kept_as_it_came():
    event = read(kind="glove-sniffed", payload={"by": {"whom": ["petra"]}, "count": 2.5})

    assert event.payload == {"by": {"whom": ["petra"]}, "count": 2.5}


def nested(depth: int) -> Any:
    return {"in": nested(depth - 1)} if depth else "end"


@pytest.mark.parametrize("payload", [nested(7), {"x": 2**60}, {"x": float("inf")}, {"x": "\ud800"}])
def test_an_unknown_kind_that_cannot_be_kept_is_refused(payload: Any):
    assert "payload" in problems(kind="glove-sniffed", payload=payload)


def test_what_is_no_object_is_no_event():
    for value in (None, [], "event", 3):
        with pytest.raises(BadEvent, match="an event is an object"):
            read_event(value, entry=ENTRY, actor="tomas", plan=PLAN)


def test_the_reference_page_names_every_kind():
    from pathlib import Path

    page = (Path(__file__).parents[2] / "docs/reference/events.md").read_text("utf-8")
    missing = [kind for kind in KINDS if f"`{kind}`" not in page]

    assert missing == []
