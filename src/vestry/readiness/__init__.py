"""Readiness: could this hospital take this patient tonight, and for how many hours or days."""

from vestry.readiness.forecast import forecast
from vestry.readiness.forecast_found import Forecast
from vestry.readiness.here import Here, ProcedureHere, RoomHere, RosterDay, SuppliesHere
from vestry.readiness.judging import tonight
from vestry.readiness.lasting import Lasting, Memory, lasting
from vestry.readiness.reading_stay import read_stay
from vestry.readiness.shelving import Used
from vestry.readiness.stay import Stay
from vestry.readiness.stay_checks import checked
from vestry.readiness.tonight import Cover, Day, Link, Mend, Question, TeamNeed, Tonight, Why

__all__ = [
    "Cover",
    "Day",
    "Forecast",
    "Here",
    "Lasting",
    "Link",
    "Memory",
    "Mend",
    "ProcedureHere",
    "Question",
    "RoomHere",
    "RosterDay",
    "Stay",
    "SuppliesHere",
    "TeamNeed",
    "Tonight",
    "Used",
    "Why",
    "checked",
    "forecast",
    "lasting",
    "read_stay",
    "tonight",
]
