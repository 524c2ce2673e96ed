"""Where an approval stands today: in force or retired, and what has changed beneath it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from vestry.procedure.approved import Approval

Change = Literal["facts", "model", "review-due"]


@dataclass(frozen=True)
class Standing:
    """What has changed since approval. Retired blocks new entries only; an entry under way goes on to its end.

    changed   facts: the catalogue's digest is another now; model: so is the contact model; review-due: the day has come
    """

    retired: bool
    changed: tuple[Change, ...]

    @property
    def may_start(self) -> bool:
        """Whether a new entry may be started from it."""
        return not self.retired

    @property
    def assure_again(self) -> bool:
        """Whether the verdict that was approved is no longer the verdict of today's facts and model."""
        return "facts" in self.changed or "model" in self.changed


def standing(approval: Approval, *, facts: str, model: str, today: str, retired: bool = False) -> Standing:
    """Compare an approval with the facts, the model and the day (ISO 8601) of now."""
    changed: list[Change] = []
    if approval.facts != facts:
        changed.append("facts")
    if approval.model != model:
        changed.append("model")
    if today >= approval.review_on:
        changed.append("review-due")
    return Standing(retired, tuple(changed))
