"""What scanners send and people type that is no part of the code itself: separators, other keyboards, other issuers."""

from __future__ import annotations

import re

GS = "\x1d"
SEPARATORS = (GS, "<GS>", "{GS}", "[GS]", "<FNC1>", "{FNC1}", "␝", "^]", "\\x1d", "\\u001d", "\\F")
"""What scanners and people write for the group separator."""


def with_separators(text: str, separators: tuple[str, ...]) -> str:
    """The text with every way of writing the separator as the one; what a scanner adds at its end is cut off."""
    raw = text.strip(" \t\r\n\x00\x04\x1e")
    for one in sorted(separators, key=len, reverse=True):
        if one != GS:
            raw = raw.replace(one, GS)
    return raw.rstrip(GS)


def other_issuer(raw: str) -> str:
    """What is said of a code by other rules than GS1's; empty: nothing tells that it is one."""
    if raw.startswith("[)>"):
        return "an ISO 15434 envelope, which is not a GS1 code; type lot and expiry as printed"
    if re.match(r"^\+[A-Z0-9$]", raw):
        return "a code of another issuer (HIBC), which is not read; type lot and expiry as printed"
    if re.match(r"^[=&][A-Z0-9,)(/+>}%*<{-]", raw, re.IGNORECASE):
        return "a code of another issuer (for blood and tissue), which is not read"
    return ""


def keyboard_hint(text: str) -> str:
    """Whether a scanner types for another keyboard than the computer has."""
    if re.match(r"^[+=$^*¨´`ü\[}é¿][deCQ][0-9\"é'&(]", text):
        return "the scanner types for another keyboard: its ] came as another sign; set both to one language"
    if re.fullmatch(r"[&é\"'(\-è_çà§!]{8,}.*", text):
        return "the scanner types for another keyboard: digits came as signs; set both to one language"
    return ""
