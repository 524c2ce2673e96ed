"""Small rotas, by hand or at random, and a roster found by trying everything."""

from __future__ import annotations

from datetime import date, timedelta
from itertools import combinations, product
from typing import Any

from hypothesis import strategies as st

from vestry.roster import Rota, breaches
from vestry.roster.needing import Grid
from vestry.roster.rota import Assigned, asks_for

STARTS = date(2027, 3, 1)
SHIFTS = [{"id": "day", "from-hour": 7, "hours": 12}, {"id": "night", "from-hour": 19, "hours": 12}]
NO_RELIEF = {"minutes-inside": 720, "rest": 0}


def rota(**changed: Any) -> Rota:
    """Two days, two shifts, one inside and one observing; nobody is there."""
    base: dict[str, Any] = {
        "starts": STARTS,
        "days": 2,
        "shifts": SHIFTS,
        "needs": [{"duty": "inside", "people": 1}, {"duty": "observing", "people": 1}],
        "rules": NO_RELIEF,
        "effort": 5,
    }
    return Rota.model_validate(base | {name.replace("_", "-"): value for name, value in changed.items()})


def people(*may: str, **more: Any) -> list[dict[str, Any]]:
    """People a, b, c; each may what the letters say: i inside, o observing, a assisting."""
    words = {"i": "inside", "o": "observing", "a": "assisting"}
    return [{"id": "abcdefgh"[n], "may": [words[one] for one in letters]} | more for n, letters in enumerate(may)]


def day(number: int) -> str:
    return (STARTS + timedelta(days=number)).isoformat()


def asked(person: str, number: int, shift: str, duty: str) -> dict[str, str]:
    return {"person": person, "day": day(number), "shift": shift, "duty": duty}


def fewest_empty(one: Rota) -> int:
    """The fewest places that stay empty, by trying everybody everywhere: each person alone, then all together."""
    grid = Grid(one)
    ways = []
    for person in one.people:
        choices = [
            (None, *(duty for slot_, duty in grid.needs if slot_ == slot and asks_for(duty) in person.may))
            for slot in grid.slots
        ]
        found = []
        for choice in product(*choices):
            own = tuple(
                Assigned(person=person.id, day=grid.date_of(slot.day), shift=slot.shift, duty=duty)
                for slot, duty in zip(grid.slots, choice, strict=True)
                if duty
            )
            if not breaches(one, own):
                found.append([(grid.placed(a), a.duty) for a in own])
        ways.append(found)
    best = total = sum(grid.needs.values())
    for together in product(*ways):
        left = dict(grid.needs)
        for place in (place for own in together for place in own):
            left[place] -= 1
        if min(left.values(), default=0) >= 0:
            best = min(best, total - sum(map(len, together)))
    return best


def fewest_changes(one: Rota, most: int) -> int | None:
    """The fewest changes that leave nothing empty, by trying all sets of them; None: more than `most`."""
    from vestry.roster.found import Change

    able = ("inside", "observing")
    single = [Change(kind="qualify", person=p.id, duty=duty) for p in one.people for duty in able if duty not in p.may]
    single += [Change(kind="one-more", person=p.id) for p in one.people]
    single += [Change(kind="one-person", duties=able)] * most
    from vestry.roster import changed

    for count in range(most + 1):
        if any(fewest_empty(changed(one, some)) == 0 for some in combinations(single, count)):
            return count
    return None


RULES = {
    "rest-hours": st.sampled_from((0, 11, 24, 36)),
    "most-in-seven-days": st.integers(1, 4),
    "most-days-in-a-row": st.integers(1, 3),
    "most-hours-in-seven-days": st.sampled_from((12, 24, 48)),
}


@st.composite
def rotas(draw: st.DrawFn) -> Rota:
    """Up to three people on up to three days; absences, history, limits."""
    able = st.lists(st.sampled_from(("inside", "observing")), min_size=1, max_size=2, unique=True)
    days = draw(st.integers(1, 2))
    members = [
        {"id": name, "may": draw(able)}
        | {
            "off": draw(
                st.lists(
                    st.sampled_from([{"day": day(0), "shift": "day"}, {"day": day(1), "shift": "night"}]), max_size=1
                )
            )
        }
        for name in "abc"[: draw(st.integers(1, 3))]
    ]
    before = [asked("a", -1, draw(st.sampled_from(("day", "night"))), "inside")] if draw(st.booleans()) else []
    return rota(
        days=days,
        people=members,
        needs=[{"duty": "inside", "people": draw(st.integers(0, 2))}, {"duty": "observing", "people": 1}],
        rules=NO_RELIEF | {name: draw(values) for name, values in RULES.items()},
        before=before,
    )
