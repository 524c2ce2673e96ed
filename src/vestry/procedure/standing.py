"""Where an approval stands today: in force or retired, and what has changed beneath it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from vestry.procedure.approved import Approval
from vestry.procedure.used import Touched

Change = Literal["facts", "model", "review-due"]


@dataclass(frozen=True)
class Standing:
    """What has changed since approval. Retired blocks new entries only; an entry under way goes on to its end.

    changed   facts: a fact that the plan uses is another now; model: so is the contact model; review-due: the day came
    touched   those facts, where it is known which the plan uses
    """

    retired: bool
    changed: tuple[Change, ...]
    touched: tuple[Touched, ...] = ()

    @property
    def blocked_by(self) -> tuple[Touched, ...]:
        """The facts that were retired beneath it."""
        return tuple(one for one in self.touched if one.blocks)

    @property
    def may_start(self) -> bool:
        """Whether a new entry may be started from it: not retired, and no fact that it uses is."""
        return not self.retired and not self.blocked_by

    @property
    def assure_again(self) -> bool:
        """Whether the verdict that was approved may no longer be the verdict of today's facts and model."""
        return "facts" in self.changed or "model" in self.changed


def standing(
    approval: Approval,
    *,
    facts: str,
    model: str,
    today: str,
    retired: bool = False,
    touched: tuple[Touched, ...] | None = None,
) -> Standing:
    """Compare an approval with the facts, the model and the day (ISO 8601) of now.

    touched   the facts it uses that are others now; None: not known which it uses, so any other digest counts
    """
    changed: list[Change] = []
    if touched or (touched is None and approval.facts != facts):
        changed.append("facts")
    if approval.model != model:
        changed.append("model")
    if today >= approval.review_on:
        changed.append("review-due")
    return Standing(retired, tuple(changed), touched or ())
