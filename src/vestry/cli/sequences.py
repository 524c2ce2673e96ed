"""What a command is asked about, by whatever it is called: a plan, a sequence file, or a published order's id."""

from __future__ import annotations

from difflib import get_close_matches
from pathlib import Path

from vestry.cli import files
from vestry.sequence import Subject, subject_of_order, subject_of_plan
from vestry.trade import BadFacts, Catalogue, Order, Problem, read_order, reading
from vestry.trade.orders import packaged_orders
from vestry.trade.words import Words

WHAT = "a sequence file, a plan as JSON, or a published order's id"


def read_subject(name: str, catalogue: Catalogue, words: Words, presentation: str | None = None) -> Subject:
    """The sequence of this name: a file where there is one, else the published order of this id.

    presentation    judge an order for this one; a plan is always judged for its own case
    """
    texts = packaged_orders()
    if name in texts and not Path(name).exists():
        return subject_of_order(_for(read_order(texts[name], name), presentation), name, catalogue)
    if name != "-" and not Path(name).exists():
        near = get_close_matches(name, texts, 1)
        hint = f"; did you mean {near[0]}?" if near else "; `vestry orders` lists the published ones"
        raise BadFacts([Problem(name, 0, "", f"no such file, and no published order is called so{hint}")])
    text = files.read_text(name)
    document, lines = reading.parse(text, name)
    if "ensemble" in document or isinstance(document.get("plan"), dict):
        plan = files.plan_in(document, lines, name, catalogue, words)
        return subject_of_plan(plan, name, plan_title(name, plan.hash), catalogue)
    order = _for(read_order(text, name), presentation)
    with files.blamed_on(name, lines):
        return subject_of_order(order, name, catalogue)


def plan_title(name: str, plan_hash: str) -> str:
    """What a plan out of a file is called."""
    return f"plan {plan_hash[:12]}" if name == "-" else f"plan {plan_hash[:12]} in {Path(name).name}"


def _for(order: Order, presentation: str | None) -> Order:
    if presentation is None:
        return order
    return order.model_copy(update={"case": order.case.model_copy(update={"presentation": presentation})})
