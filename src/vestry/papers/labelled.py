"""Which words of the paper go with which words of the trade."""

from __future__ import annotations

from vestry.papers.labels import ENGLISH, Labels
from vestry.papers.labels_es import SPANISH
from vestry.trade.words import Words

BY_LANGUAGE = {"en": ENGLISH, "es": SPANISH}


def labels_of(words: Words) -> Labels:
    """The paper's own words in the language of the trade words; English where none are shipped in it."""
    return BY_LANGUAGE.get(words.language.tag, ENGLISH)
