"""A text with values that is put together only when a page shows it, in the language of that page.

For what is said by work that runs beside the pages: it knows no reader.
"""

from __future__ import annotations

from typing import Any

from django.utils.functional import lazy
from django.utils.translation import gettext


def _said(text: str, values: dict[str, Any]) -> str:
    return gettext(text) % values if values else gettext(text)


def later(text: str, **values: Any) -> str:
    """`text` is marked where it stands: later(gettext_noop("step %(n)s"), n=3)."""
    return lazy(_said, str)(text, values)
