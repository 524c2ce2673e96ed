"""One colleague's pass: events, appended and never changed, and the state that they fold into."""

from vestry.entry.contradicting import Contradiction, contradictions
from vestry.entry.courses import Course, Led
from vestry.entry.events import KINDS, BadEvent, Event, Field, check_payload, read_event
from vestry.entry.fold import fold
from vestry.entry.leading import led_along
from vestry.entry.order import in_order
from vestry.entry.rates import Counted, Rate, counted, family_of
from vestry.entry.state import Crossing, Deviation, EntryState, Flag, Held, Injected, Noted, OwnWay, StepRecord
from vestry.entry.turnaround import LANE_TASKS

__all__ = [
    "KINDS",
    "LANE_TASKS",
    "BadEvent",
    "Contradiction",
    "Counted",
    "Course",
    "Crossing",
    "Deviation",
    "EntryState",
    "Event",
    "Field",
    "Flag",
    "Held",
    "Injected",
    "Led",
    "Noted",
    "OwnWay",
    "Rate",
    "StepRecord",
    "check_payload",
    "contradictions",
    "counted",
    "family_of",
    "fold",
    "in_order",
    "led_along",
    "read_event",
]
