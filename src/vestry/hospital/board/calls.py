"""The open calls as a wall shows them: what is still to be called."""

from __future__ import annotations

from dataclasses import dataclass

from django.utils import timezone

from vestry.hospital.call.reading import under_way


@dataclass(frozen=True)
class CallShown:
    """One open call as a wall shows it: how many of its calls are made, and which is open."""

    code: str
    drill: bool
    made: int
    of: int
    open: tuple[str, ...]


def calls_now() -> tuple[CallShown, ...]:
    """Open calls, the newest first. Only what was ticked is read: a wall asks every few seconds."""
    shown = []
    for one in under_way(timezone.now()):
        still = tuple(item.say for item in one.calls if item.id not in one.state.made)
        shown.append(CallShown(one.row.code, one.row.drill, one.calls_made, len(one.calls), still))
    return tuple(shown)
