"""The calls that are to be made, where the calls are kept; nothing where they are not."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class CallShown:
    """One open call as a wall shows it: how many of its calls are made, and which is open."""

    code: str
    drill: bool
    made: int
    of: int
    open: tuple[str, ...]


def calls_now() -> tuple[CallShown, ...]:
    """Open calls; none while nobody keeps them."""
    return ()
