"""The touch language: one line of a technique, parsed.

contact A B | slide A onto B | stir A onto B | clean A by agent
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Verb = Literal["contact", "slide", "stir", "clean"]


@dataclass(frozen=True)
class ParsedTouch:
    """Verb and the two references; `b` is empty for `clean`."""

    verb: Verb
    a: str
    b: str


def parse_touch(line: str) -> ParsedTouch:
    """The parsed line; ValueError saying what would be right."""
    match line.split():
        case ["contact", a, b]:
            return ParsedTouch("contact", a, b)
        case ["slide", a, "onto", b]:
            return ParsedTouch("slide", a, b)
        case ["stir", a, "onto", b]:
            return ParsedTouch("stir", a, b)
        case ["clean", a, "by", "agent"]:
            return ParsedTouch("clean", a, "")
    raise ValueError("write: contact A B | slide A onto B | stir A onto B | clean A by agent")
