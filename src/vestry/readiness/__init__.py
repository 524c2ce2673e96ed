"""Readiness: could this hospital take this patient tonight, and for how many hours or days."""

from vestry.readiness.here import Here, ProcedureHere, RoomHere
from vestry.readiness.judging import tonight
from vestry.readiness.links import Used
from vestry.readiness.tonight import Cover, Day, Link, Mend, Question, TeamNeed, Tonight, Why

__all__ = [
    "Cover",
    "Day",
    "Here",
    "Link",
    "Mend",
    "ProcedureHere",
    "Question",
    "RoomHere",
    "TeamNeed",
    "Tonight",
    "Used",
    "Why",
    "tonight",
]
