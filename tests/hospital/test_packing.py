"""Static files go packed over the wire, and come out as they are; pages do not."""

from __future__ import annotations

import gzip
from typing import Any

import pytest
from django.contrib.staticfiles import finders
from django.test import Client

pytestmark = pytest.mark.django_db
SCRIPT, FONT = "vestry/tablet/main.js", "vestry/fonts/atkinson-hyperlegible-next-latin-wght-normal.woff2"
ASKS = {"Accept-Encoding": "gzip"}


def asked(path: str, **headers: str) -> tuple[Any, bytes]:
    """The answer and its body; the file behind it is closed."""
    answer: Any = Client().get(path, headers=headers)
    whole = b"".join(answer.streaming_content) if answer.streaming else answer.content
    answer.close()
    return answer, whole


def as_it_is(name: str) -> bytes:
    with open(finders.find(name), "rb") as file:
        return file.read()


def test_a_script_is_packed_for_who_can_unpack_it_and_comes_out_as_it_is():
    answer, packed = asked(f"/static/{SCRIPT}", **ASKS)

    assert answer["Content-Encoding"] == "gzip"
    assert "Accept-Encoding" in answer["Vary"]
    assert gzip.decompress(packed) == as_it_is(SCRIPT)
    assert len(packed) < len(as_it_is(SCRIPT)) / 2
    assert asked(f"/static/{SCRIPT}")[1] == as_it_is(SCRIPT)


def test_a_part_of_a_file_and_what_is_there_already_are_not_packed():
    known = asked(f"/static/{SCRIPT}", **ASKS)[0]["ETag"]
    part, first = asked(f"/static/{SCRIPT}", **ASKS, Range="bytes=0-99")
    same, nothing = asked(f"/static/{SCRIPT}", **ASKS, **{"If-None-Match": known})

    assert (part.status_code, first) == (206, as_it_is(SCRIPT)[:100])
    assert (same.status_code, nothing) == (304, b"")
    assert not part.has_header("Content-Encoding")
    assert not same.has_header("Content-Encoding")


@pytest.mark.parametrize("path", [f"/static/{FONT}", "/sign-in/"])
def test_fonts_and_pages_are_sent_as_they_are(path: str):
    assert not asked(path, **ASKS)[0].has_header("Content-Encoding")
