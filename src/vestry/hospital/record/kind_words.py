"""Names of what a record holds: kinds of events, and where an entry stands."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django.utils.translation import gettext_lazy as _

KIND_WORDS: Mapping[str, Any] = {
    "opened": _("Entry opened"),
    "item-checked": _("Looked at"),
    "overridden": _("Named override"),
    "area-confirmed": _("Doffing area confirmed"),
    "person-checked": _("Person checked"),
    "signal-checked": _("Signals agreed"),
    "stop-said": _("Stop spoken"),
    "read": _("Read"),
    "acknowledged": _("Acknowledged"),
    "done-seen": _("Done and seen"),
    "done-not-seen": _("Done, not seen"),
    "prompted": _("Prompted just in time"),
    "stopped": _("STOP"),
    "resumed": _("Resumed"),
    "deviation": _("Deviation"),
    "tear": _("Tear"),
    "soiling": _("Soiling"),
    "zone-crossed": _("Line crossed"),
    "unwell": _("Unwell"),
    "recovery-taken": _("Approved answer taken"),
    "glove-changed": _("Gloves changed"),
    "hygiene-timed": _("Hygiene timed"),
    "entered": _("Went in"),
    "relief-called": _("Relief called"),
    "coming-out": _("Way out begun"),
    "left": _("Came out"),
    "item-crossed": _("Item crossed the door"),
    "lane-cleared": _("Lane cleared"),
    "undressing-begun": _("Own way out begun"),
    "undressing-left-out": _("Own way out left out"),
    "breach": _("Breach"),
    "exposure": _("Exposure"),
    "inspected": _("Inspected"),
    "observer-handed-over": _("Observer handed over"),
    "device-taken-over": _("Device taken over"),
    "pressed-wrongly": _("Pressed wrongly"),
    "correction": _("Correction"),
    "signed": _("Signed"),
    "abandoned": _("Abandoned"),
    "closed": _("Entry closed"),
    "late-transcribed": _("Transcribed late"),
    "drill-injected": _("Put in for the drill"),
    "content-removed": _("Content removed"),
}
_SIGNED: Mapping[str, Any] = {
    "badge-pin": _("signed with badge and PIN on the tablet"),
    "sign-in": _("signed in to decide"),
    "told": _("told, not signed"),
}


def signed_told(how: str) -> str:
    """How an override was signed, in words; empty where the event does not say."""
    return str(_SIGNED.get(how, how))


CHECK_SAYS: Mapping[str, Any] = {
    "in-order": _("in order"),
    "not-in-order": _("not in order"),
    "goes-on": _("not in order, and gone on with"),
}
LANE_SAID: Mapping[str, Any] = {
    "seat": _("Seat wiped"),
    "floor": _("Floor wiped"),
    "bins": _("Bins closed and changed"),
    "restock": _("Restocked"),
}
"""The parts of the lane's turnaround (entry.LANE_TASKS), as they are said."""

LOUD = {
    "overridden",
    "stopped",
    "deviation",
    "tear",
    "soiling",
    "zone-crossed",
    "breach",
    "exposure",
    "recovery-taken",
    "abandoned",
    "unwell",
}

STAGES: Mapping[str, Any] = {
    "not-opened": _("not opened"),
    "under-way": _("under way"),
    "held": _("held"),
    "walked": _("last step done, not closed"),
    "closed": _("closed"),
    "abandoned": _("abandoned"),
}
