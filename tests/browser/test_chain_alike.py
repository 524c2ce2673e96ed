"""The tablet chains what it says as the server does: the same canonical JSON, the same hash, the same link."""

from __future__ import annotations

import hashlib
import random
from collections.abc import Iterator
from typing import Any

import pytest
import rfc8785
from tests.browser.alike import Alike
from tests.browser.streams import event_document, led, stream

from vestry.entry.chains import FIRST, commitment_of, link_of, said_of

pytestmark = pytest.mark.browser
SIGNS = ["a", "Z", '"', "\\", "\n", "\x07", "\u2028", "ä", "€", "\ue000", "😀", "\u007f", " "]


@pytest.fixture(scope="module")
def alike(chromium: Any) -> Iterator[Alike]:
    page = Alike(chromium)
    yield page
    page.close()


def text(chance: random.Random, most: int) -> str:
    return "".join(chance.choice(SIGNS) for _ in range(chance.randrange(most)))


def value(chance: random.Random, depth: int = 3) -> Any:
    sort = chance.randrange(6 if depth else 4)
    if sort == 4:
        return [value(chance, depth - 1) for _ in range(chance.randrange(4))]
    if sort == 5:
        return {text(chance, 4): value(chance, depth - 1) for _ in range(chance.randrange(5))}
    return [None, True, chance.randrange(-(2**53) + 1, 2**53), text(chance, 12)][sort]


def test_texts_of_every_length_around_the_blocks_have_the_same_hash(alike: Alike):
    chance = random.Random(1)
    texts = [*("x" * size for size in range(130)), *(text(chance, 300) for _ in range(200))]

    assert alike.ask("hashed", texts) == [hashlib.sha256(one.encode()).hexdigest() for one in texts]


def test_generated_values_have_the_same_canonical_json(alike: Alike):
    values = [value(random.Random(seed)) for seed in range(400)]

    assert alike.ask("canonical", values) == [rfc8785.dumps(one).decode() for one in values]


def test_generated_events_have_the_same_links(alike: Alike):
    cases, expected = [], []
    for seed in range(40):
        chance = random.Random(seed)
        previous = FIRST
        for event in stream(chance, led(chance)):
            salt = f"{chance.getrandbits(128):032x}"
            cases.append({"event": event_document(event), "salt": salt, "previous": previous})
            previous = link_of(previous, commitment_of(salt, said_of(event)))
            expected.append(previous)

    assert len(expected) > 400
    assert alike.ask("sealed", cases) == expected


@pytest.mark.slow
def test_a_mistake_in_the_chain_shows(chromium: Any):
    page = Alike(chromium, planted=("chain.js", "turned(a, 7)", "turned(a, 8)"))
    assert page.ask("hashed", ["abc"]) != [hashlib.sha256(b"abc").hexdigest()]
    page.close()
