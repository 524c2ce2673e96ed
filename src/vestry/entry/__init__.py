"""One colleague's pass: events, appended and never changed, and the state that they fold into."""

from vestry.entry.courses import Course, Led
from vestry.entry.events import KINDS, BadEvent, Event, Field, check_payload, read_event
from vestry.entry.fold import fold
from vestry.entry.leading import led_along
from vestry.entry.order import in_order
from vestry.entry.state import Deviation, EntryState, Flag, Held, Noted, StepRecord

__all__ = [
    "KINDS",
    "BadEvent",
    "Course",
    "Deviation",
    "EntryState",
    "Event",
    "Field",
    "Flag",
    "Held",
    "Led",
    "Noted",
    "StepRecord",
    "check_payload",
    "fold",
    "in_order",
    "led_along",
    "read_event",
]
