"""What is to be known of an order's steps beside the verdict: what is drawn out from beneath what holds it, and written
touches that meet nothing because it is not worn."""

from __future__ import annotations

from vestry.contact.references import touches_nothing
from vestry.contact.taught import taught, worn_after
from vestry.sequence.assurance import Note
from vestry.trade import Catalogue, Order


def notes_of(order: Order, catalogue: Catalogue) -> tuple[Note, ...]:
    """The notes, step by step; BadFacts when a step cannot be done. `number` counts the steps as opened."""
    found: list[Note] = []
    worn = order.worn
    for number, step in enumerate(taught(order, catalogue), 1):
        for item in step.items if step.act == "doff" else ():
            above = worn[worn.index(item) + 1 :]
            kind = catalogue.items[item].kind
            holding = (over for over in above if over not in step.items and kind in catalogue.items[over].traps)
            found += [
                Note(kind="drawn-from-beneath", step=step.id, number=number, what=f"{item} {over}") for over in holding
            ]
        found += [
            Note(kind="touches-nothing", step=step.id, number=number, what=ref)
            for ref in step.touches or ()
            if touches_nothing(ref, step.items, worn, catalogue)
        ]
        worn = worn_after(step, worn, catalogue)
    return tuple(found)
