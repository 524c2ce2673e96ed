"""How much a run measures: all there is, or a little, so that a test can run every benchmark."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path


@dataclass(frozen=True)
class Size:
    """How much of each benchmark.

    every_nth      one published order in so many
    event_sets     sizes of cut sets that are looked for
    rounds         how often two ways are timed in turn
    ensembles      ensembles of the search's list that are confirmed
    cases          cases that are planned, drawn with a seed; `works`: distinct ways out, drawn likewise
    recovered      plans whose recoveries are made
    draws          draws of amounts
    stays          stays that are played event by event, to hold the forecast against
    entries        entries that upload at once; `databases`: on which
    presses        presses of an entry that is led in the browser (None: to its end)
    register       people, lots and movements of a large hospital, and how often each page is asked for
    proved         words that choose the cases of the proof; none: all
    report         where the report of the proof is kept (None: nowhere)
    """

    every_nth: int = 1
    event_sets: tuple[int, ...] = (3, 4)
    rounds: int = 3
    ensembles: int | None = None
    cases: int = 100
    works: int = 300
    recovered: int = 8
    draws: int = 200_000
    stays: int = 100
    entries: int = 60
    databases: tuple[str, ...] = ("SQLite", "PostgreSQL")
    presses: int | None = None
    register: tuple[int, int, int, int] = (2_000, 5_000, 200_000, 20)
    proved: tuple[str, ...] = ()
    report: Path | None = None


WHOLE = Size()
TINY = Size(
    every_nth=60,
    event_sets=(2,),
    rounds=1,
    ensembles=1,
    cases=2,
    works=2,
    recovered=1,
    draws=2_000,
    stays=4,
    entries=3,
    databases=("SQLite",),
    presses=24,
    register=(60, 100, 1_000, 2),
    proved=("hendra", "wet", "care", "belt-blower", "gown", "apron", "goggles", "hood", "change-none"),
)
