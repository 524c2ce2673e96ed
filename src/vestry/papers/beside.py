"""A page of the sheet with what stands beside the steps: the unit's own short texts, each with whose it is.

Everything is said by whoever prints, in the language of the page: a text of the unit's own is in no file of words.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any


@dataclass(frozen=True)
class BesideText:
    """One text: its sentences in order; `mark` says whose it is, which version, since when and by whom."""

    name: str
    lines: tuple[str, ...]
    mark: str


@dataclass(frozen=True)
class Beside:
    """The page. `lead`: one sentence under its title."""

    title: str
    lead: str
    texts: tuple[BesideText, ...]

    def as_json(self) -> dict[str, Any]:
        """As the template takes it."""
        return {
            "title": self.title,
            "lead": self.lead,
            "texts": [{"name": one.name, "lines": list(one.lines), "mark": one.mark} for one in self.texts],
        }
