"""A sentence in English that keeps apart what is filled into it, so that a page can say it in its own language.

`told("from %(least)s to %(most)s", least=1, most=9)` is the text "from 1 to 9", and knows both halves. Whoever knows no
languages uses it as the text that it is.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any


class Told(str):
    """The English text.

    text     it before anything was filled in
    values   what is filled in: texts, numbers, days
    """

    __slots__ = ("text", "values")
    text: str
    values: Mapping[str, Any]

    def __new__(cls, text: str, values: Mapping[str, Any]) -> Told:
        made = super().__new__(cls, text % values)
        made.text, made.values = text, values
        return made

    def __reduce__(self) -> tuple[Any, ...]:
        return Told, (self.text, dict(self.values))


def told(text: str, /, **values: Any) -> Told:
    """The sentence. `text` has named places as `%` has them, a percent sign twice; KeyError where one is not given."""
    return Told(text, values)


def told_in(sentence: str, translate: Callable[[str], str]) -> str:
    """The sentence with its text, and every sentence filled into it, translated; any other text as it is."""
    if not isinstance(sentence, Told):
        return sentence
    values = {
        name: told_in(value, translate) if isinstance(value, str) else value for name, value in sentence.values.items()
    }
    return translate(sentence.text) % values
