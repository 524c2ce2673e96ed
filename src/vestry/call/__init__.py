"""The first hour: from the call to the first step of donning. What was said of a call, and what follows from it."""

from vestry.call.happened import CALL_KINDS, CallState, Happened, Made, Reply, stands
from vestry.call.start import LatestStart, Stretch, latest_start, stretches
from vestry.call.team import Present, Shortfall, TeamNow, team_now

__all__ = [
    "CALL_KINDS",
    "CallState",
    "Happened",
    "LatestStart",
    "Made",
    "Present",
    "Reply",
    "Shortfall",
    "Stretch",
    "TeamNow",
    "latest_start",
    "stands",
    "stretches",
    "team_now",
]
