"""A sequence to be asked about: a plan or anyone's order, compiled, its steps as they can be said and timed."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Literal

from vestry.contact.compiler import compile_order, setting_of
from vestry.contact.exposure import Setting
from vestry.contact.program import Program
from vestry.contact.taught import TaughtStep, taught
from vestry.sequence.assurance import Assurance
from vestry.sequence.assuring import assure, assure_order, order_of
from vestry.sequence.plan import Plan, PlanStep
from vestry.sequence.timing import Span, span_of
from vestry.trade import Catalogue, Order

Sort = Literal["order", "plan"]


@dataclass(frozen=True)
class Subject:
    """One sequence.

    name     what it is called by: an order's id, a file, a plan's hash
    order    what the contact model judges; of a plan, its way out
    plan     None for an order
    steps    of a plan, every step; of an order, its steps with every choice made
    """

    name: str
    title: str
    order: Order
    plan: Plan | None
    steps: tuple[PlanStep, ...]
    spans: tuple[Span, ...]
    program: Program
    catalogue: Catalogue

    @property
    def sort(self) -> Sort:
        return "order" if self.plan is None else "plan"

    @cached_property
    def setting(self) -> Setting:
        """For whom it is judged."""
        return setting_of(self.order, self.catalogue, frozenset())

    @cached_property
    def assurance(self) -> Assurance:
        """What the contact model says of it, on this catalogue."""
        if self.plan is not None:
            return assure(self.plan, self.catalogue)
        return assure_order(self.order, self.catalogue)

    @cached_property
    def ensemble(self) -> frozenset[str]:
        """Everything worn at any time, but for fresh gloves laid out for the way out."""
        everything = {item for worn in self.program.worn for item in worn}
        return frozenset(item for item in everything if self.catalogue.items[item].layer != "fresh")

    @cached_property
    def numbers(self) -> dict[str, int]:
        """The place of each step, from 1, by id."""
        return {step.id: number for number, step in enumerate(self.steps, 1)}


def subject_of_plan(plan: Plan, name: str, title: str, catalogue: Catalogue) -> Subject:
    """A plan as a subject. The plan was checked: `check_plan`."""
    spans = tuple(span_of(step.act, step.items, step.agent, catalogue) for step in plan.steps)
    order = order_of(plan)
    return Subject(name, title, order, plan, plan.steps, spans, compile_order(order, catalogue), catalogue)


def subject_of_order(order: Order, name: str, catalogue: Catalogue) -> Subject:
    """An order as a subject; BadFacts naming each step that cannot be done."""
    made = taught(order, catalogue)
    steps = tuple(_plan_step(one) for one in made)
    spans = tuple(span_of(one.act, one.items, one.agent, catalogue, one.seconds) for one in made)
    return Subject(name, order.title, order, None, steps, spans, compile_order(order, catalogue), catalogue)


def _plan_step(step: TaughtStep) -> PlanStep:
    return PlanStep.model_validate(
        {
            "id": step.id,
            "phase": "donning" if step.act == "don" else "doffing",
            "act": step.act,
            "items": step.items,
            "technique": step.technique.id,
            "who": step.who,
            "agent": step.agent,
            "to": step.to,
        }
    )
