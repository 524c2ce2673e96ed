"""Sorts of data, holds and reasons by their words."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django.utils.translation import gettext_lazy as _

SORT_WORDS: Mapping[str, Any] = {
    "entries": _("Entries: names and what was said"),
    "drills": _("Drill entries, whole"),
    "health": _("Exposures and health data"),
    "reads": _("Who read what"),
    "refusals": _("Log of refusals"),
    "people": _("People no longer here"),
    "tablets": _("What tablets leave behind"),
}
SORT_HELP: Mapping[str, Any] = {
    "entries": _(
        "Of entries that are over: names, free text and all that was pressed. Kind and time of each event, how many "
        "deviations there were, and the chains are left. Breaches and exposures stay: they have a policy of their own."
    ),
    "drills": _("As of entries, with the breaches and exposures that were played."),
    "health": _(
        "Breaches and exposures that occupational health has taken up; clearances that do not count any more; reasons "
        "of absences that are over. Records of exposures are kept for decades in many countries: ask before you set it."
    ),
    "reads": _("Who read or took away which record, and whose health data."),
    "refusals": _("Lines of the log of what was refused: who, from where, when, what."),
    "people": _(
        "Name, codes, badge and notes of somebody who is neither on the register nor signs in any more. Their name "
        "stays as long as a record or an approval that is kept needs it."
    ),
    "tablets": _(
        "Who was identified on which tablet, addresses of wearers' screens that have ended, codes that "
        "enrolled nothing."
    ),
}
HELD_WORDS: Mapping[str, Any] = {
    "entry": _("an entry"),
    "person": _("a person"),
    "exposure": _("a breach or an exposure"),
}
WHY_WORDS: Mapping[str, Any] = {
    "held": _("on hold"),
    "open": _("not over yet"),
    "young": _("not old enough"),
    "needed": _("needed by what is kept"),
}
