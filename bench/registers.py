"""A hospital group over years: does a page of the desk cost as many queries as in a small hospital, and how long."""

from __future__ import annotations

import time
from typing import Any

from bench.measured import Floor, Measured, Resources, Table, at_share, ms, times
from bench.served import Served, served
from bench.size import Size

SEED = 11
FOR_AT_MOST = 12.0
"""Seconds in which one page is asked for again."""
LARGEST = 250_000
"""Bytes of one page, before the wire makes them fewer. Set before the first run."""


def measure(size: Size) -> Measured:
    """The invented hospital as it is, and grown."""
    used = Resources()
    with served() as hospital:
        small, large, grown, took = run(hospital, size.register)
    rows, unequal = [], list(grown["problems"])
    for name, one in large.items():
        ours, bare = map(sorted, took[name])
        shares = [(at_share(ours, share), at_share(bare, share)) for share in (0.5, 0.95)]
        (half, _), (most, most_bare) = shares
        rows.append(
            (
                name, str(small[name]["queries"]), str(one["queries"]), _kb(small[name]), _kb(one), str(len(ours)),
                ms(half), ms(most), ms(most_bare), times(most / most_bare),
            )
        )  # fmt: skip
        if one["queries"] != small[name]["queries"]:
            unequal.append(f"{name}: {small[name]['queries']} queries in the small one, {one['queries']} in the large")
    heaviest = max(large, key=lambda name: large[name]["bytes"])
    said = (
        "The invented hospital has some two dozen people, forty lots and their movements. The large one: "
        f"{grown['people']:,} people, {grown['lots']:,} lots over four years, {grown['movements']:,} movements, like "
        "the invented ones, with balances that are what the ledger comes to.",
        "Queries are of a page asked for a second time, by the programme lead. Where the numbers differ, the run "
        "fails. Times are over the wire, one page after the other and each in turn with a bare view that reads one "
        "row; SQLite.",
        "A thousand stays of thirty days are measured in the forecast's own benchmark.",
    )
    head = (
        "page",
        "queries, small",
        "large",
        "kB, small",
        "large",
        "asked",
        "p50, ms",
        "p95, ms",
        "bare p95, ms",
        "ratio",
    )
    return Measured(
        "registers",
        "A hospital group over years",
        said,
        (
            Floor(
                "registers: largest page of the desk",
                f"at most {LARGEST / 1000:.0f} kB",
                f"{_kb(large[heaviest])} kB ({heaviest})",
                large[heaviest]["bytes"] <= LARGEST,
            ),
        ),
        (Table("Pages", head, tuple(rows)),),
        tuple(unequal),
        used.used(),
    )


def _kb(one: dict[str, Any]) -> str:
    return f"{one['bytes'] / 1000:.0f}"


Took = dict[str, tuple[list[float], list[float]]]


def run(
    hospital: Served, register: tuple[int, int, int, int]
) -> tuple[dict[str, Any], dict[str, Any], dict[str, Any], Took]:
    """What the pages cost before and after the hospital grew, what it grew to, and the seconds of each page."""
    people, lots, movements, asked = register
    small = hospital.inside("counted")
    grown = hospital.inside("enlarge", people=people, lots=lots, movements=movements, seed=SEED)
    large = hospital.inside("counted")
    session = hospital.inside("session", sign_in="ingrid")
    headers = {"Cookie": f"vestry-session={session}"}
    return small, large, grown, {name: _took(hospital, one["address"], headers, asked) for name, one in large.items()}


def _took(hospital: Served, address: str, headers: dict[str, str], asked: int) -> tuple[list[float], list[float]]:
    ours: list[float] = []
    bare: list[float] = []
    connection = hospital.connection()

    def ask(path: str) -> float:
        begun = time.perf_counter()
        connection.request("GET", path, headers=headers)
        answer = connection.getresponse()
        answer.read()
        if answer.status != 200:
            raise RuntimeError(f"{path}: {answer.status}")
        return time.perf_counter() - begun

    ask(address)
    until = time.monotonic() + FOR_AT_MOST
    while len(ours) < asked and (time.monotonic() < until or not ours):
        ours.append(ask(address))
        bare.append(ask("/bare/"))
    return ours, bare
