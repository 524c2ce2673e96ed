"""What is wrong with a stay as it is asked: everything at once, each with its field and what would be right."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from difflib import get_close_matches

from vestry.readiness.billing import Bill, bill_of
from vestry.readiness.stay import Stay
from vestry.trade import BadFacts, Catalogue, Problem
from vestry.trade.reading import Path, line_of

MOST_ENTRIES = 60_000_000
MOST_POOLS = 600
Found = Iterator[tuple[Path, str]]


def checked(stay: Stay, catalogue: Catalogue, file: str, lines: dict[Path, int]) -> Stay:
    """The same stay; BadFacts with every problem, each with its line where it is known."""
    found = [*_ids(stay), *_ranges(stay), *_items(stay, catalogue)]
    if not found:
        found = [*_whole(stay, catalogue)]
    if found:
        raise BadFacts([Problem(file, line_of(lines, at), ".".join(map(str, at)), what) for at, what in found])
    return stay


def bills(stay: Stay, catalogue: Catalogue) -> dict[str, Bill]:
    """The bill of each ensemble, by its id."""
    return {one.id: bill_of(one, stay.not_counted, stay.drawn_from, catalogue) for one in stay.ensembles}


def entries_a_day(stay: Stay) -> float:
    """Entries of a day, those at random on average."""
    return sum(
        one.inside * one.hours_a_day * 60 / (one.minutes_inside or 40) + one.regular_a_day + one.extra_a_day
        for one in stay.work
    )


# ---- names ----


def _ids(stay: Stay) -> Found:
    for sort in ("shifts", "people", "ensembles", "work"):
        count = Counter(one.id for one in getattr(stay, sort))
        yield from (((sort,), f"{one} stands {n} times; an id stands once") for one, n in count.items() if n > 1)
    shifts = [one.id for one in stay.shifts]
    for number, person in enumerate(stay.people):
        yield from _known(("people", number, "shifts"), person.shifts, shifts, "shift")
    ensembles = [one.id for one in stay.ensembles]
    groups = {group for person in stay.people for group in person.may}
    for number, work in enumerate(stay.work):
        yield from _known(("work", number, "ensemble"), [work.ensemble], ensembles, "ensemble")
        yield from _known(("work", number, "by"), [work.by], groups, "group of people")


def _known(at: Path, words: Iterable[str], known: Iterable[str], sort: str) -> Found:
    names = sorted(known)
    for word in words:
        if word not in names:
            near = get_close_matches(word, names, 1)
            there = f"; did you mean {near[0]}?" if near else f"; there are {', '.join(names[:12]) or 'none'}"
            yield at, f"no {sort} is called {word}{there}"


# ---- numbers ----


def _ranges(stay: Stay) -> Found:
    if (stay.starts.minute, stay.starts.second, stay.starts.microsecond) != (0, 0, 0):
        yield ("starts",), "a whole hour, such as 2027-03-01T08:00"
    if stay.transfer_hours and stay.transfer_hours[0] > stay.transfer_hours[1]:
        yield ("transfer-hours",), "from the earliest hour to the latest"
    for number, one in enumerate(stay.deliveries):
        if one.arrives_hours[0] > one.arrives_hours[1]:
            yield ("deliveries", number, "arrives-hours"), "from the earliest hour to the latest"
    if stay.rates.damage_per_piece is not None and stay.rates.damaged_a_day is not None:
        yield ("rates",), "damage-per-piece or damaged-a-day, not both"
    for number, work in enumerate(stay.work):
        if not (work.inside or work.regular_a_day or work.extra_a_day):
            yield ("work", number), "asks for nobody: give inside, regular-a-day or extra-a-day"
    asked = stay.draws * stay.hours / 24 * entries_a_day(stay)
    if asked > MOST_ENTRIES:
        yield ("draws",), f"{asked:.3g} entries to simulate; at most {MOST_ENTRIES:.0e}: fewer draws, or a shorter stay"


# ---- items ----


def _items(stay: Stay, catalogue: Catalogue) -> Found:
    items = catalogue.items
    for number, one in enumerate(stay.ensembles):
        at: Path = ("ensembles", number)
        if (one.plan is None) == (not one.wearer):
            yield at, "either a plan, or what the wearer puts on"
        for role in ("wearer", "observer", "assistant"):
            yield from _known((*at, role), getattr(one, role), items, "item")
        if one.plan is not None:
            worn = [item for step in one.plan.steps for item in step.items]
            yield from _known((*at, "plan"), dict.fromkeys(worn), items, "item")
        yield from _known((*at, "stream"), [one.stream], catalogue.waste_streams, "waste stream")
    for sort in ("stock", "deliveries", "reserves", "again"):
        for number, row in enumerate(getattr(stay, sort)):
            yield from _known((sort, number, "item"), [row.item], items, "item")
    for number, again in enumerate(stay.again):
        if again.item in items and not items[again.item].reusable:
            yield ("again", number, "item"), f"{again.item} is not used again"
    yield from _known(("lead-times",), stay.lead_times, items, "item")
    yield from _known(("not-counted",), stay.not_counted, items, "item")
    yield from _known(("drawn-from",), [*stay.drawn_from, *stay.drawn_from.values()], items, "item")
    kinds = {item.kind for item in items.values()}
    for number, person in enumerate(stay.people):
        yield from _known(("people", number, "sizes"), person.sizes, {*items, *kinds}, "item or kind")


def _whole(stay: Stay, catalogue: Catalogue) -> Found:
    """What can be seen only when every name is known."""
    sizing = Sizing(stay, catalogue)
    all_bills = bills(stay, catalogue)
    told: set[str] = set()
    for number, work in enumerate(stay.work):
        bill = all_bills[work.ensemble]
        roles = {work.by: bill.wearer}
        if stay.team != "not-counted":
            roles |= {"observer": bill.observer, "assistant": bill.assistant}
        for group, worn in roles.items():
            for item in worn:
                if item not in sizing.shelf and item not in told:
                    told.add(item)
                    yield ("stock",), f"nothing of {item}: give its count (0 for none), or name it in not-counted"
            yield from _wearing(stay, ("work", number), group, [one for one in worn if one not in told], sizing)
    pools = {(one.item, one.size) for one in stay.stock} | {(one.item, one.size) for one in stay.deliveries}
    pools |= {
        (item, sizing.of(person.sizes, item) or "")
        for bill in all_bills.values()
        for item in bill.items
        for person in stay.people
    }
    if len(pools) > MOST_POOLS:
        yield ("stock",), f"{len(pools)} items by size; at most {MOST_POOLS}"


def _wearing(stay: Stay, at: Path, group: str, worn: list[str], sizing: Sizing) -> Found:
    people = [(n, one) for n, one in enumerate(stay.people) if group in one.may]
    if worn and not people:
        yield at, f"{group} dresses for this work and nobody is one: name people who may, or say team = not-counted"
    for number, person in people:
        for item in worn:
            if sizing.of(person.sizes, item) is None:
                there = ", ".join(sorted(sizing.shelf[item]))
                yield ("people", number, "sizes"), f"which size of {item} does {person.id} wear? On the shelf: {there}"


class Sizing:
    """Which size somebody takes of an item: theirs by item, else by kind, else the only one that there is."""

    def __init__(self, stay: Stay, catalogue: Catalogue) -> None:
        self.kinds = {item.id: item.kind for item in catalogue.items.values()}
        self.shelf: dict[str, set[str]] = {}
        rows = [(one.item, one.size) for one in stay.stock] + [(one.item, one.size) for one in stay.deliveries]
        for item, size in rows:
            self.shelf.setdefault(item, set()).add(size)

    def of(self, sizes: Mapping[str, str], item: str) -> str | None:
        """The size, None when it is not known."""
        if size := sizes.get(item) or sizes.get(self.kinds[item]):
            return size
        only = self.shelf.get(item, set())
        return next(iter(only)) if len(only) == 1 else None
