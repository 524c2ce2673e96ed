"""An approved plan: what was approved, by whom, for what reason, and on which facts and model it rests.

Everything that leads an entry is in it, so that an entry needs no fact that may have changed since.
"""

from __future__ import annotations

from typing import Any, Literal

from pydantic import Field

from vestry.sequence.assurance import Assurance, Recovery
from vestry.sequence.plan import Plan, PlanStep
from vestry.trade.values import Id, Value


class NotWhole(ValueError):
    """Parts that do not belong together: an approval of one plan with the assurance of another, say."""


class Approval(Value):
    """What the programme lead put their name to.

    plan, facts, model   hash of the plan, digest of the facts, version of the contact model: all three are approved
    version              counts up within a procedure; a version is never changed
    at, review_on        ISO 8601, a moment and a day
    """

    procedure: Id
    version: int = Field(ge=1)
    reason: str = Field(min_length=1, max_length=2000)
    approved_by: str = Field(min_length=1)
    at: str
    review_on: str
    plan: str
    facts: str
    model: str


class Scene(Value):
    """The state of the wearer before one step, and the deviations that the step knows, as event ids of the model."""

    step: str
    worn: tuple[Id, ...] = ()
    contaminated: tuple[str, ...] = ()
    grasp: tuple[str, ...] = ()
    avoid: tuple[str, ...] = ()
    pose: str = "standing"
    slips: tuple[str, ...] = ()


class Answer(Value):
    """One approved recovery with a name, and its steps as they are led."""

    name: Id
    recovery: Recovery
    steps: tuple[PlanStep, ...]


class Approved(Value):
    """A procedure at one version, whole. `answers` are the unit's answers to deviations: they were approved with it."""

    format_version: Literal[1] = 1
    approval: Approval
    plan: Plan
    assurance: Assurance
    answers: tuple[Answer, ...] = ()
    scenes: tuple[Scene, ...]

    def __init__(self, /, **parts: Any) -> None:
        super().__init__(**parts)
        problems = list(self._problems())
        if problems:
            raise NotWhole("; ".join(problems))

    def _problems(self) -> list[str]:
        named, found = self.approval, []
        if named.plan != self.plan.hash:
            found.append(f"approved is plan {named.plan[:12]}, but this is {self.plan.hash[:12]}")
        if self.assurance.plan != self.plan.hash:
            found.append("the assurance is of another plan")
        if named.facts != self.assurance.facts:
            found.append("the assurance rests on other facts than those approved")
        if named.model != self.assurance.model_version:
            found.append("the assurance is of another model than the one approved")
        if [scene.step for scene in self.scenes] != [step.id for step in self.plan.steps]:
            found.append("the scenes are not those of the steps")
        return found

    def scene(self, step: str) -> Scene | None:
        """The scene of a step of the plan; None for a step of a recovery."""
        return next((scene for scene in self.scenes if scene.step == step), None)

    def answer_named(self, name: str) -> Answer | None:
        """The approved recovery of this name."""
        return next((one for one in self.answers if one.name == name), None)

    def as_json(self) -> dict[str, Any]:
        """Plain JSON, kebab-case keys."""
        return dict(self.model_dump(mode="json", by_alias=True))
