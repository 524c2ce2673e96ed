"""Small stays to ask about, made by hand or at random."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from typing import Any

import numpy as np
from hypothesis import strategies as st

from vestry.readiness import Stay, checked
from vestry.readiness.forecast import Drawn, simulate
from vestry.readiness.forecast_model import Model, model_of
from vestry.trade import load_catalogue
from vestry.trade.staying import load_stay_figures

CATALOGUE = load_catalogue()
FIGURES = load_stay_figures()
STARTS = datetime(2027, 3, 1, 8)
ALWAYS = ({"id": "all-day", "from-hour": 8, "hours": 24},)
PLAIN = {"damage-per-piece": 0.0, "glove-changes-an-hour": 0.0}


def stay(**changed: Any) -> Stay:
    """One work, one item in one size, nothing at random; keys of the file with underscores."""
    base: dict[str, Any] = {
        "starts": STARTS,
        "hours": 48,
        "shifts": ALWAYS,
        "people": [{"id": "a", "may": ["nurse"], "shifts": ["all-day"]}],
        "ensembles": [{"id": "set", "wearer": ["apron"]}],
        "work": [{"id": "care", "ensemble": "set", "by": "nurse", "inside": 1, "minutes-inside": 60}],
        "team": "not-counted",
        "stock": [{"item": "apron", "count": 30}],
        "rates": PLAIN,
        "draws": 100,
    }
    return Stay.model_validate(base | {name.replace("_", "-"): value for name, value in changed.items()})


def model(asked: Stay) -> Model:
    """What is simulated of it, once it has been checked."""
    return model_of(checked(asked, CATALOGUE, "stay", {}), CATALOGUE, FIGURES)


def drawn(asked: Stay) -> Drawn:
    """All draws of it."""
    return simulate(model(asked), np.arange(asked.draws))


def days(number: float) -> str:
    """The date so many days after the start."""
    return (STARTS.date() + timedelta(days=number)).isoformat()


# ---- at random ----

ITEMS = {"apron": ("one-size",), "gloves-long": ("s", "m"), "gown-isolation": ("m", "l"), "papr-helmet": ("one-size",)}
COUNTS = st.integers(0, 40)
EXPIRES = st.one_of(st.none(), st.integers(-1, 4).map(lambda n: date.fromisoformat(days(n))))


@st.composite
def stays(draw: st.DrawFn) -> Stay:
    """A stay of up to four days with up to four items: shifts, sizes, expiry, deliveries, cleaning, damage, changes."""
    items = draw(st.lists(st.sampled_from(sorted(ITEMS)), min_size=1, max_size=3, unique=True))
    pools = [(item, size) for item in items for size in ITEMS[item]]
    sizes = st.fixed_dictionaries({item: st.sampled_from(ITEMS[item]) for item in items})
    people = [
        {"id": f"p{n}", "may": ["nurse"], "shifts": draw(st.sampled_from((["day"], ["night"], ["day", "night"])))}
        | {"sizes": draw(sizes)}
        for n in range(draw(st.integers(1, 3)))
    ]
    work = [
        {"id": f"w{n}", "ensemble": "set", "by": "nurse"}
        | {"inside": draw(st.integers(0, 1)), "minutes-inside": draw(st.sampled_from((60, 90, 240)))}
        | {"regular-a-day": draw(st.integers(0, 3)), "extra-a-day": draw(st.sampled_from((0.5, 3.0, 8.0)))}
        for n in range(draw(st.integers(1, 2)))
    ]
    lots = [
        {"item": item, "size": size, "count": draw(COUNTS), "expires": draw(EXPIRES)}
        for item, size in pools
        for _ in range(draw(st.integers(1, 2)))
    ]
    coming = [
        {"item": item, "size": size, "count": draw(COUNTS), "expires": draw(EXPIRES)}
        | {"arrives-hours": draw(st.sampled_from(([5, 5], [10, 40], [0, 90])))}
        for item, size in draw(st.lists(st.sampled_from(pools), max_size=2))
    ]
    return stay(
        hours=draw(st.sampled_from((24, 50, 96))),
        shifts=[{"id": "day", "from-hour": 8, "hours": 12}, {"id": "night", "from-hour": 20, "hours": 12}],
        people=people,
        ensembles=[{"id": "set", "wearer": items}],
        work=work,
        stock=lots,
        deliveries=coming,
        reserves=[{"item": pools[0][0], "size": pools[0][1], "count": draw(st.integers(0, 5))}],
        again=[{"item": "papr-helmet", "hours": draw(st.integers(1, 8))}],
        transfer_hours=draw(st.sampled_from((None, [12, 30]))),
        rates={
            "damage-per-piece": draw(st.sampled_from((0.0, 0.1, 0.4))),
            "glove-changes-an-hour": draw(st.sampled_from((0.0, 0.7))),
        },
        seed=draw(st.integers(0, 1000)),
    )
