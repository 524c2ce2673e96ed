"""The registers' ids all have words, and no word is left over."""

from typing import get_args

import pytest

from vestry.people.fit import FitFails
from vestry.people.may import ReasonId
from vestry.people.notes import NoteKind
from vestry.people.values import Cleared, Duty
from vestry.stock.units import NotReady
from vestry.stock.values import Kind, UnitEventKind
from vestry.trade.words import load_words


@pytest.mark.parametrize(
    ("group", "ids"),
    [
        ("duty", Duty),
        ("may-not", ReasonId),
        ("fit-fails", FitFails),
        ("cleared", Cleared),
        ("note-kind", NoteKind),
        ("movement", Kind),
        ("unit-event", UnitEventKind),
        ("unit-not-ready", NotReady),
    ],
)
def test_every_id_has_its_word_and_every_word_its_id(group, ids):
    assert set(load_words("en").file.term[group]) == set(get_args(ids))
