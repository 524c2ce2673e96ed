"""What a record holds as a key, in the language of the page: reasons that a key of the tablet gives, rules that were
overridden, what was put in for a drill.

A reason is typed, or comes with a key that was pressed. What a key says was once stored as its English sentence; such
records stay as they are, and their sentences are told here too.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from django.utils.translation import gettext_lazy as _

from vestry.hospital.record.first_aid import WHO

REASONS: Mapping[str, Any] = {
    "stays-for-the-next": _("stays for the next wearer"),
    "out-with-another-entry": _("goes out with another entry"),
    "someone-else-goes-in": _("someone else goes in"),
    "pressed-wrongly": _("pressed wrongly"),
    "unwell": _("unwell"),
    "unwell-better": _("unwell: better"),
    "unwell-out": _("unwell: the way out"),
    "lost-air": _("air lost"),
    "lost-air-better": _("air lost: better"),
    "lost-air-out": _("air lost: the way out"),
    "written-down-late": _("written down late"),
}
"""Reasons that a key gives, by what it stores."""

BEFORE: Mapping[str, str] = {
    "stay for the next wearer": "stays-for-the-next",
    "stays for the next wearer": "stays-for-the-next",
    "go out with another entry": "out-with-another-entry",
    "Someone else goes in.": "someone-else-goes-in",
    "pressed wrongly": "pressed-wrongly",
    "unwell: better": "unwell-better",
    "unwell: out": "unwell-out",
    "lost-air: better": "lost-air-better",
    "lost-air: out": "lost-air-out",
    "written down late": "written-down-late",
}
"""The sentences that keys stored once, and what they store now."""

HOW: Mapping[str, Any] = {"observed": _("watched"), "mirror": _("by the mirror")}
DIRECTIONS: Mapping[str, Any] = {"out": _("out"), "in": _("in")}
SAYS_APART: Mapping[str, Any] = {
    "seen": _("seen"),
    "not seen": _("not seen"),
    "may go in": _("may go in"),
    "may not go in": _("may not go in"),
    "closed": _("closed"),
    "ended early": _("ended early"),
}
"""What a device says where another contradicts it (entry.contradictions)."""
INJECTED: Mapping[str, Any] = {
    "tear": _("torn"),
    "soiling": _("soiled"),
    "splash": _("splash to the face"),
    "unwell": _("unwell"),
    "lost-air": _("air lost"),
}
"""What a trainer can put in for a drill."""

_LISTS: Mapping[str, Any] = {"area": _("the doffing area"), "person": _("the person"), "signals": _("the signals")}
_OWN_ITEMS: Mapping[tuple[str, str], Any] = {
    ("person", "register"): _("what the registers say"),
    ("person", "own-answer"): _("what they answer alone"),
}
"""Items that no list of the unit's holds, though the tablet asks for them with the list."""
_RULES: Mapping[str, Any] = {
    "may-not": _("by the registers may not go in as %(part)s"),
    "not-on-register": _("not on the register: %(part)s"),
    "outsider": _("an outsider as %(part)s"),
    "outsider-no-fit-test": _("no fit test of the outsider is known: %(part)s"),
    "team": _("the minimum team is not here"),
    "gear": _("the gear refuses"),
}
Lines = Callable[[str, str], str]
"""What a line of a list says, from the list's name and the line's id."""


def reason_told(said: str) -> str:
    """A reason in words: of a key, in the language of the page; typed, as it was typed."""
    return str(REASONS.get(BEFORE.get(said, said), said))


def item_told(check: str, item: str, line: Lines) -> str:
    """One item of what is confirmed before anyone goes in."""
    known = _OWN_ITEMS.get((check, item))
    return str(known) if known is not None else line(check, item)


def rule_told(rule: str, line: Lines) -> str:
    """A rule that was overridden by name: `area:seat`, `may-not:wearer`. One that is not known stays as it is."""
    name, _sign, part = rule.partition(":")
    if name in _LISTS and part:
        return f"{_LISTS[name]}: {item_told(name, part, line)}"
    return str(_RULES[name]) % {"part": WHO.get(part, part)} if name in _RULES else rule
