"""What an entry took from the shelf, read from its own events.

1. One of each item in a step of putting on that was done, along the plan or a recovery.
2. A glove change beside the plan: one pair more, of the outermost gloves worn; on the way out, a fresh pair.
3. A tear before going in: one more of the item named, since it was replaced. Later nothing is put on in its place.
4. A drill uses up no live stock; an entry that was never opened, nothing.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from vestry.entry import EntryState, Event, Led, in_order
from vestry.stock.using import FRESH, put_on, used_up
from vestry.trade import Catalogue


@dataclass(frozen=True)
class EntryUse:
    """Item to how many, by why it was taken: worn, changed, torn. `reused`: what goes to be cleaned."""

    worn: Mapping[str, int]
    changed: Mapping[str, int]
    torn: Mapping[str, int]
    reused: tuple[str, ...]

    @property
    def nothing(self) -> bool:
        """Whether nothing was taken."""
        return not (self.worn or self.changed or self.torn)


def entry_use(led: Led, state: EntryState, events: Iterable[Event], catalogue: Catalogue) -> EntryUse:
    """What this entry took."""
    if state.drill or state.stage == "not-opened":
        return EntryUse({}, {}, {}, ())
    donned: Counter[str] = Counter()
    for record in state.steps:
        course = led.course(record.course)
        step = next((one for one in course.steps if one.id == record.step), None) if course and record.done else None
        if step is not None:
            donned.update(put_on(step))
    changed, torn = _beside(led, events, donned, catalogue)
    reused = tuple(one for one in donned if catalogue.items[one].reusable and not used_up(one, catalogue))
    return EntryUse({item: count for item, count in donned.items() if used_up(item, catalogue)}, changed, torn, reused)


def _beside(
    led: Led, events: Iterable[Event], donned: Mapping[str, int], catalogue: Catalogue
) -> tuple[Mapping[str, int], Mapping[str, int]]:
    changed: Counter[str] = Counter()
    torn: Counter[str] = Counter()
    inside = {step.id for step in led.plan.steps if step.phase in ("before", "donning", "entry")}
    entered = False
    for event in in_order(events):
        entered = entered or event.kind == "entered"
        if event.kind == "glove-changed":
            gloves = [one for one in donned if catalogue.items[one].kind == "gloves" and one != FRESH]
            changed[gloves[-1] if gloves and event.step in inside else FRESH] += 1
        elif event.kind == "tear" and not entered and event.step in inside:
            item = str(event.payload.get("item", ""))
            if item in catalogue.items and used_up(item, catalogue):
                torn[item] += 1
    return dict(changed), dict(torn)
