"""Words of a draft language, in English where it lacks one yet: no page fails for want of a word."""

from __future__ import annotations

from vestry.trade.words import UnknownWord, Words, load_words


def term(group: str, name: str, words: Words) -> str:
    """A term of a group."""
    try:
        return words.term(group, name)
    except UnknownWord:
        return load_words("en").term(group, name)


def finding(key: str, words: Words, **said: object) -> str:
    """A sentence with what is put in."""
    try:
        return words.finding(key, **said)
    except UnknownWord:
        return load_words("en").finding(key, **said)
