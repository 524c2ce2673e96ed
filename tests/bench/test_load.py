"""The benchmark of many entries at once: what is lost, doubled or changed is said. It is run by hand."""

from __future__ import annotations

import copy
import random
from collections import Counter
from types import SimpleNamespace
from typing import Any

import pytest
from bench import load
from bench.pressing import MIDNIGHT, Tablet, document, scripted
from tests.entry.making import ANSWER, LED, opened

from vestry.entry import fold


def sent() -> tuple[dict[str, Any], dict[str, Any], Any]:
    """What one tablet sends, the record of it as it should be, and the tablet."""
    chance = random.Random(1)
    first = opened()
    device = Tablet("e", "2d5c1a52-5d43-4f0a-9b1a-2f6e5b7c8d92", "tomas", "p", MIDNIGHT, chance)
    said = [[document(device.say(*one)) for one in press] for press in scripted(LED, first, chance, lambda _: [])]
    state = fold(LED, [first, *device.said]).as_json()
    held = {
        "events": [event for press in said for event in press],
        "link": device.link,
        "state": state,
        "cached": [state["stage"], state["position"], len(device.said) + 1, len(device.said) + 1],
    }
    tablet = SimpleNamespace(entry="e", identity=device.device, told=Counter(taken=len(device.said)))
    return {"e": {"presses": said, "state": state, "link": device.link}}, held, tablet


def problems(said: dict[str, Any], held: dict[str, Any], tablet: Any) -> list[str]:
    hospital: Any = SimpleNamespace(inside=lambda *_, **__: {"entries": {"e": held}, "problems": []})
    return list(load._problems(hospital, [tablet], said))


def test_a_whole_entry_is_pressed_to_its_end_and_no_rule_is_broken():
    said, held, tablet = sent()

    assert held["state"]["stage"] == "closed"
    # The small plan of these tests has no step across the line, so that nobody said they were out.
    assert {one["what"] for one in held["state"]["flags"]} == {"the lane said to be cleared before the wearer was out"}
    assert problems(said, held, tablet) == []


@pytest.mark.parametrize(
    ("spoil", "says"),
    [
        (lambda held, _: held["events"].pop(3), "1 lost"),
        (lambda held, _: held["events"].append(held["events"][3]), "1 doubled"),
        (lambda held, _: held["events"].append(held["events"][3] | {"id": "x"}), "1 that nobody sent"),
        (lambda held, _: held["events"][3].update(kind="signed"), "says something else"),
        (lambda held, _: held.update(link="0" * 64), "chain ends otherwise"),
        (lambda held, _: held.update(state=held["state"] | {"stage": "held"}), "folds to another state"),
        (lambda held, _: held.update(cached=["held", *held["cached"][1:]]), "what is listed of it is not its state"),
        (lambda _, tablet: tablet.told.update(refused=1), "1 refused"),
        (lambda _, tablet: tablet.told.update(taken=1), "told as taken of"),
    ],
)
def test_what_is_not_as_it_was_sent_is_said(spoil: Any, says: str):
    said, held, tablet = sent()
    held = copy.deepcopy(held)
    spoil(held, tablet)

    assert any(says in one for one in problems(said, held, tablet))


def test_every_press_is_sent_and_some_twice_or_late():
    presses = [[{"id": f"{number}"}] for number in range(300)]
    uploads = list(load._uploads(presses, random.Random(3)))
    ids = [event["id"] for upload in uploads for event in upload]

    assert set(ids) == {f"{number}" for number in range(300)}
    assert len(ids) > 300
    assert max(map(len, uploads)) <= load.AT_ONCE
    firsts = list(dict.fromkeys(ids))
    assert firsts != sorted(firsts, key=int)


def test_an_entry_that_goes_wrong_follows_the_answer():
    chosen = [scripted(LED, opened(), random.Random(seed), lambda _: []) for seed in range(40)]
    kinds = [{kind for press in one for kind, _ in press} for one in chosen]

    assert ANSWER.name in LED.recoveries
    assert any({"stopped", "deviation", "recovery-taken"} <= one for one in kinds)
    assert not all("stopped" in one for one in kinds)
