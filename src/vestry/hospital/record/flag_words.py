"""What a fold flags, in the language of the page. The fold says it in English, alike in Python and in the browser."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from typing import Any

from django.utils.translation import gettext_lazy as _

from vestry.hospital.record.first_aid import WHO

FLAG_WORDS: Mapping[str, Any] = {
    "pressed wrongly, and taken back": _("pressed wrongly, and taken back"),
    "said after the end": _("said after the end"),
    "said before the entry was opened": _("said before the entry was opened"),
    "opened twice": _("opened twice"),
    "read out of turn": _("read out of turn"),
    "acknowledged before it was read": _("acknowledged before it was read"),
    "said to be done twice": _("said to be done twice"),
    "one says seen, the other not seen": _("one says seen, the other not seen"),
    "done while held": _("done while held"),
    "done out of order": _("done out of order"),
    "done without being read": _("done without being read"),
    "stopped while held": _("stopped while held"),
    "resumed without a stop": _("resumed without a stop"),
    "resumed after a deviation": _("resumed after a deviation"),
    "said without a stop": _("said without a stop"),
    "a second thing happened at this stop": _("a second thing happened at this stop"),
    "a recovery that was not approved with this procedure": _("a recovery that was not approved with this procedure"),
    "a recovery taken without saying what happened": _("a recovery taken without saying what happened"),
    "a recovery for other items worn": _("a recovery for other items worn"),
    "closed twice": _("closed twice"),
    "closed while held": _("closed while held"),
    "closed before the last step": _("closed before the last step"),
    "what was pressed wrongly cannot be taken back, and stays": _(
        "what was pressed wrongly cannot be taken back, and stays"
    ),
    "the override was told, not signed by who decided": _("the override was told, not signed by who decided"),
    "went in twice": _("went in twice"),
    "went in though may not was said": _("went in though may not was said"),
    "came out twice": _("came out twice"),
    "came out without having gone in": _("came out without having gone in"),
    "on the way out without having gone in": _("on the way out without having gone in"),
    "handed over to nobody": _("handed over to nobody"),
    "handed over to the one who leads already": _("handed over to the one who leads already"),
    "handed over without badge and PIN": _("handed over without badge and PIN"),
    "taken over by the device that leads already": _("taken over by the device that leads already"),
    "put in for a drill, and this is none": _("put in for a drill, and this is none"),
    "signed twice by the same person": _("signed twice by the same person"),
    "of a step that is not on the way that is led": _("of a step that is not on the way that is led"),
    "the lane said to be cleared before the wearer was out": _("the lane said to be cleared before the wearer was out"),
    "an own way out that the plan does not have": _("an own way out that the plan does not have"),
    "an own way out begun twice": _("an own way out begun twice"),
    "an own way out begun before the wearer was out": _("an own way out begun before the wearer was out"),
    "an own way out begun while held": _("an own way out begun while held"),
    "an own way out begun before the last step of the one before": _(
        "an own way out begun before the last step of the one before"
    ),
    "an own way out said to be left out, and done": _("an own way out said to be left out, and done"),
}
CHECKED: Mapping[str, Any] = {
    "the doffing area was confirmed": _("the doffing area was confirmed"),
    "the person was checked": _("the person was checked"),
    "signals were checked": _("signals were checked"),
}
"""What a flag speaks of that had to be confirmed."""

OVERRIDDEN = _("a rule was overridden by name: %(said)s")
FILLED: tuple[tuple[str, Any, Mapping[str, Any]], ...] = (
    ("resumed after a deviation on the word of {}", _("resumed after a deviation on the word of %(said)s"), {}),
    ("a rule was overridden by name: {}", OVERRIDDEN, {}),
    (
        "closed with the {}'s own way out neither done nor left out",
        _("closed with the own way out of the %(said)s neither done nor left out"),
        WHO,
    ),
    ("went in before {}", _("went in before this: %(said)s"), CHECKED),
    ("donning began before {}", _("donning began before this: %(said)s"), CHECKED),
    ("{} with something not in order", _("%(said)s with something not in order"), CHECKED),
)
"""Flags that speak of something: as the fold says them, in words, and the words of what they speak of."""


def flag_told(what: str, rule: Callable[[str], str] = str) -> str:
    """A flag in words, `rule` telling a rule that was overridden. One that is not known here stays as it was said."""
    if what in FLAG_WORDS:
        return str(FLAG_WORDS[what])
    for said, words, known in FILLED:
        before, after = said.split("{}")
        found = re.fullmatch(f"{re.escape(before)}(.+){re.escape(after)}", what, re.S)
        if found:
            speaks_of = ", ".join(map(rule, found[1].split(", "))) if words is OVERRIDDEN else found[1]
            return str(words) % {"said": known.get(speaks_of, speaks_of)}
    return what
