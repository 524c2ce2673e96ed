"""Heat and time: the clock of an entry is the unit's policy, and a prediction may only shorten it.

allowed          minutes of an entry: the policy, or less
predict          predicted heat strain (ISO 7933), inside the ranges it was checked in; Outside elsewhere
screen           the heat index WBGT with clothing against its reference values (ISO 7243)
opening_clock    the clock of one entry as it opens: policy, room, gear, and why heat shortens it or not
measured         what was found on people in suits that the model does not cover
"""

from vestry.heat.clock import Allowed, Shortening, allowed, shortenings
from vestry.heat.index import IndexRefused, Screened, screen, wbgt
from vestry.heat.opening import Gear, OpeningClock, Read, holds_for, opening_clock
from vestry.heat.strain import Conditions, Limit, Outside, Predicted, Reason, measured, outside, predict, vapour_of

__all__ = [
    "Allowed",
    "Conditions",
    "Gear",
    "IndexRefused",
    "Limit",
    "OpeningClock",
    "Outside",
    "Predicted",
    "Read",
    "Reason",
    "Screened",
    "Shortening",
    "allowed",
    "holds_for",
    "measured",
    "opening_clock",
    "outside",
    "predict",
    "screen",
    "shortenings",
    "vapour_of",
    "wbgt",
]
