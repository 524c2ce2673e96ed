"""Text of a file in, a checked rota out; every problem at once, with its line."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator
from difflib import get_close_matches

from vestry.roster.needing import Grid
from vestry.roster.replaying import breaches
from vestry.roster.rota import Rota
from vestry.trade import BadFacts, Problem, reading
from vestry.trade.reading import Path, line_of

MOST_PLACES = 60_000
Found = Iterator[tuple[Path, str]]


def read_rota(text: str, file: str) -> Rota:
    """A rota as TOML or JSON. BadFacts with every problem."""
    document, lines = reading.parse(text, file)
    return checked(reading.validate(Rota, document, file, lines), file, lines)


def checked(rota: Rota, file: str = "rota", lines: dict[Path, int] | None = None) -> Rota:
    """The same rota; BadFacts with every problem."""
    found = [*_names(rota), *_days(rota)] or [*_settled(rota)]
    if found:
        at = lines or {}
        raise BadFacts([Problem(file, line_of(at, path), ".".join(map(str, path)), what) for path, what in found])
    return rota


def _names(rota: Rota) -> Found:
    for sort in ("shifts", "people"):
        count = Counter(one.id for one in getattr(rota, sort))
        yield from (((sort,), f"{one} stands {n} times; an id stands once") for one, n in count.items() if n > 1)
    shifts, people = [one.id for one in rota.shifts], [one.id for one in rota.people]
    for number, need in enumerate(rota.needs):
        yield from _known(("needs", number, "shifts"), need.shifts, shifts, "shift")
    for number, person in enumerate(rota.people):
        yield from _known(("people", number, "off"), [one.shift for one in person.off], shifts, "shift")
        if person.id.startswith("+"):
            yield ("people", number, "id"), f"{person.id} begins with +, as those who are proposed to join do"
    for sort in ("fixed", "before"):
        for number, one in enumerate(getattr(rota, sort)):
            yield from _known((sort, number, "shift"), [one.shift], shifts, "shift")
            yield from _known((sort, number, "person"), [one.person], people, "person")


def _known(at: Path, words: Iterable[str], known: list[str], sort: str) -> Found:
    for word in words:
        if word not in known:
            near = get_close_matches(word, known, 1)
            yield at, f"no {sort} is called {word}" + (f"; did you mean {near[0]}?" if near else "")


def _days(rota: Rota) -> Found:
    grid = Grid(rota)
    for number, person in enumerate(rota.people):
        for place, away in enumerate(person.away):
            if away.from_ > away.until:
                yield ("people", number, "away", place), "from the first day to the last"
    for number, one in enumerate(rota.fixed):
        if not 0 <= grid.day_of(one.day) < rota.days:
            yield ("fixed", number, "day"), f"{one.day} is not one of the {rota.days} days from {rota.starts}"
    for number, one in enumerate(rota.before):
        if grid.day_of(one.day) >= 0:
            yield ("before", number, "day"), f"{one.day} is not before {rota.starts}"
    places = len(rota.people) * rota.days * len(rota.shifts) * 4
    if places > MOST_PLACES:
        yield ("days",), f"{places} people by shift and duty; at most {MOST_PLACES}: fewer days or people at a time"


def _settled(rota: Rota) -> Found:
    """What is fixed has to hold by itself."""
    for one in breaches(rota, rota.fixed):
        number = next(
            (n for n, f in enumerate(rota.fixed) if f.person == one.person and Grid(rota).day_of(f.day) == one.day), 0
        )
        yield ("fixed", number), f"{one.person} on {Grid(rota).date_of(one.day)} breaks a rule: {one.rule}"
