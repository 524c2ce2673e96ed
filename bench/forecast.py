"""A thousand stays of thirty days: the forecast against the same stays played event by event (SimPy)."""

from __future__ import annotations

import random
import time
from collections.abc import Iterator
from datetime import datetime
from math import sqrt
from typing import Any

import numpy as np

from bench.measured import Measured, Resources, Table, times
from bench.peers.stay_events import Run, play
from bench.size import Size
from vestry.readiness import Stay, checked
from vestry.readiness.forecast import Drawn, simulate
from vestry.readiness.forecast_model import Model, model_of
from vestry.trade import load_catalogue
from vestry.trade.staying import load_stay_figures

STAYS, HOURS, SEED = 1000, 30 * 24, 1
WIDE = 5.0  # standard errors of both together; set before the first run
WORN = (
    "inner-gloves-long",
    "gown-fluid-resistant",
    "respirator-disposable",
    "face-shield",
    "gloves-long",
    "papr-helmet",
)
SIZES = {"inner-gloves-long": "sml", "gown-fluid-resistant": "ml", "respirator-disposable": "sm", "gloves-long": "sml"}
COUNTS = {"inner-gloves-long": 230, "gown-fluid-resistant": 300, "respirator-disposable": 300, "gloves-long": 420}


def measure(size: Size) -> Measured:
    """Both, and whether they agree."""
    used = Resources()
    stay = asked()
    catalogue = load_catalogue()
    model = model_of(checked(stay, catalogue, "stay", {}), catalogue, load_stay_figures())
    begun = time.process_time()
    drawn = simulate(model, np.arange(STAYS))
    fast = (time.process_time() - begun) / STAYS
    begun = time.process_time()
    chance = random.Random(SEED)
    runs = [play(stay, chance) for _ in range(size.stays)]
    slow = (time.process_time() - begun) / size.stays
    rows = (
        ("forecast", str(STAYS), f"{fast * STAYS:.2f}", "1"),
        ("event by event", str(size.stays), f"{slow * STAYS:.0f}", times(slow / fast)),
    )
    said = (
        "One stay is thirty days of care with somebody inside at all times, visits and entries at random, six items, "
        "twelve with their sizes, damage, glove changes, two expiries, a delivery, and helmets that "
        "come back from cleaning.",
        "The second plays each entry as an event in continuous time, one run after the other, and shares no code with "
        f"the first. They agree where used, lacking, expired, left and cover of every size differ by at most {WIDE:g} "
        "standard errors of both together.",
        "Seconds are of the processor, one way after the other; the peer's are scaled from the stays it played.",
    )
    head = ("way", "stays", "processor seconds for 1,000 stays", "ratio")
    return Measured(
        "forecast",
        "A forecast of thirty days against event by event",
        said,
        (),
        (Table("Stays", head, rows),),
        tuple(differences(model, drawn, runs)),
        used.used(),
    )


def asked() -> Stay:
    """The stay, with numbers that bring some things close to running out."""
    stock: list[dict[str, Any]] = [
        {"item": item, "size": one, "count": COUNTS[item]} for item, sizes in SIZES.items() for one in sizes
    ]
    stock += [{"item": "face-shield", "count": 560}, {"item": "papr-helmet", "count": 6}]
    stock += [{"item": "gown-fluid-resistant", "size": one, "count": 60, "expires": "2027-03-09"} for one in "ml"]
    people = [
        {"id": f"p{number}", "may": ["nurse"], "shifts": ["day" if number % 2 else "night"]}
        | {"sizes": {item: sizes[number % len(sizes)] for item, sizes in SIZES.items()}}
        for number in range(8)
    ]
    return Stay.model_validate(
        {
            "starts": datetime(2027, 3, 1, 8),
            "hours": HOURS,
            "shifts": [{"id": "day", "from-hour": 8, "hours": 12}, {"id": "night", "from-hour": 20, "hours": 12}],
            "people": people,
            "ensembles": [{"id": "set", "wearer": WORN}],
            "work": [
                {"id": "care", "ensemble": "set", "by": "nurse", "inside": 1, "minutes-inside": 120},
                {"id": "round", "ensemble": "set", "by": "nurse", "regular-a-day": 3, "minutes-inside": 60}
                | {"extra-a-day": 3},
            ],
            "team": "not-counted",
            "stock": stock,
            "deliveries": [{"item": "face-shield", "count": 50, "arrives-hours": [100, 200]}],
            "again": [{"item": "papr-helmet", "hours": 5}],
            "rates": {"damage-per-piece": 0.01, "glove-changes-an-hour": 0.4},
            "draws": STAYS,
            "seed": SEED,
        }
    )


def differences(model: Model, drawn: Drawn, runs: list[Run]) -> Iterator[str]:
    """Where the two do not agree."""
    kept = drawn.kept
    for number, pool in enumerate(model.pools):
        pairs = {
            name: (getattr(kept, name)[:, number], np.array([getattr(run, name)[pool] for run in runs]))
            for name in ("used", "lacking", "expired", "left")
        }
        pairs["cover"] = (kept.short_at[:, number], np.array([run.short_at.get(pool, HOURS) for run in runs]))
        for name, (ours, theirs) in pairs.items():
            error = sqrt(ours.var() / len(ours) + theirs.var() / len(theirs)) + 1 / len(theirs)
            if abs(ours.mean() - theirs.mean()) > WIDE * error:
                yield f"{name} of {' '.join(pool)}: {ours.mean():.2f} and {theirs.mean():.2f} (error {error:.2f})"
