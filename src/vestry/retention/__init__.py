"""Keeping and letting go: which records may go under the unit's policy, and which stay, and why."""

from vestry.retention.deciding import (
    HELD_SORTS,
    LEAST_DAYS,
    MOST_DAYS,
    SORTS,
    Decision,
    HeldSort,
    Hold,
    Sort,
    Subject,
    Why,
    decide,
)

__all__ = [
    "HELD_SORTS",
    "LEAST_DAYS",
    "MOST_DAYS",
    "SORTS",
    "Decision",
    "HeldSort",
    "Hold",
    "Sort",
    "Subject",
    "Why",
    "decide",
]
