"""Errors of planning: the reader's, with what would be right.

NoPlan     the gear at hand cannot protect, or no order exists
"""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from vestry.sequence.requirements import Unmet

WHAT_NOW = ("do-not-enter", "divert", "named-override")


class NoPlan(Exception):
    """No plan for this case. `reasons`: which site, by which route, and what would protect; `what_now`: the ways on."""

    def __init__(self, reasons: tuple[Unmet, ...], why: str = "gear") -> None:
        self.reasons = reasons
        self.why = why
        self.what_now = WHAT_NOW
        super().__init__(
            "; ".join(
                f"{one.site} by {one.route}: needs one of {', '.join(one.would) or 'nothing here'}" for one in reasons
            )
            or why
        )
