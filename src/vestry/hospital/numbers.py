"""Numbers in words and tables, as the language of the page writes them. Never for JSON, CSV or what is kept."""

from __future__ import annotations

import re

from django.utils.formats import get_format

from vestry.hospital import language

_NUMBER = re.compile(r"(?<![\w.])(?:\d{1,3}(?:,\d{3})+(?:\.\d+)?|\d+\.\d+)(?![\w.]*\d)")


def localized(text: str) -> str:
    """A text whose numbers were written as in English ("1,234.5"), with the marks of this language."""
    point = str(get_format("DECIMAL_SEPARATOR", language.now()))
    group = str(get_format("THOUSAND_SEPARATOR", language.now()))
    swapped = {".": point, ",": group}
    if point == ".":
        return text
    return _NUMBER.sub(lambda found: "".join(swapped.get(one, one) for one in found[0]), text)


def written(value: float, how: str = "g") -> str:
    """A number by a format of Python's, with the marks of this language."""
    return localized(format(value, how))
