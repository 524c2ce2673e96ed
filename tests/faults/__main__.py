"""Seeded runs of tablets that lead an entry while everything fails, and a summary.

    python -m tests.faults                    60 seeds
    python -m tests.faults --seeds 0-299      these; --workers 2: so many browsers and servers at once
    python -m tests.faults --until 600        begins no run after so many seconds, and says how many it made
    python -m tests.faults --json             the summary and every run as JSON

Exit status: 0 nothing lost, nothing doubled, both sides alike; 1 not so; 2 wrong use.
"""

from __future__ import annotations

import argparse
import json
import multiprocessing
import sys
import tempfile
import time
from collections import Counter
from pathlib import Path
from typing import Any

from tests.demonstration import fill
from tests.faults.hospital import staffed
from tests.faults.run import Told
from tests.faults.worker import runs


def main(arguments: list[str] | None = None) -> int:
    """Run what is asked for."""
    options = _options(arguments)
    begun = time.monotonic()
    until = begun + options.until if options.until else None
    with tempfile.TemporaryDirectory(prefix="vestry-faults-") as folder:
        template = staffed(fill(Path(folder) / "demonstration"), Path(folder) / "template")
        shares = [options.seeds[place :: options.workers] for place in range(options.workers)]
        work = [(template, Path(folder) / f"worker-{place}", share, until) for place, share in enumerate(shares)]
        if options.workers == 1:
            told = runs(*work[0])
        else:
            with multiprocessing.get_context("spawn").Pool(options.workers) as pool:
                told = [one for part in pool.starmap(runs, work) for one in part]
    found = summary(told) | {"seconds": round(time.monotonic() - begun)}
    if options.json:
        print(json.dumps({"summary": found, "runs": [one.as_json() for one in told]}, indent=1))
    else:
        print(said(found))
    return 0 if told and all(one.good for one in told) else 1


def summary(told: list[Told]) -> dict[str, Any]:
    """What all runs found together."""
    faults: Counter[str] = Counter()
    for one in told:
        faults += one.faults
    return {
        "runs": len(told),
        "presses": sum(one.presses for one in told),
        "faults": sum(faults.values()),
        "faults-by-kind": dict(sorted(faults.items())),
        "events": sum(one.events for one in told),
        "shown": sum(one.shown for one in told),
        "lost": sum(len(one.lost) for one in told),
        "doubled": sum(len(one.doubled) for one in told),
        "went-with-storage": sum(one.went_with_storage for one in told),
        "problems": [f"seed {one.seed}: {problem}" for one in told for problem in one.problems],
    }


def said(found: dict[str, Any]) -> str:
    """The summary to read."""
    kinds = ", ".join(f"{name} {count}" for name, count in found["faults-by-kind"].items())
    lines = [
        f"{found['runs']} runs in {found['seconds']} s: {found['presses']} presses, {found['faults']} faults ({kinds})",
        f"{found['shown']} events shown as taken, {found['events']} in the record; "
        f"lost {found['lost']}, doubled {found['doubled']}; "
        f"{found['went-with-storage']} went with a storage that was cleared before they were sent",
        *found["problems"],
    ]
    return "\n".join(lines)


def _seeds(text: str) -> list[int]:
    first, _, last = text.partition("-")
    return list(range(int(first), int(last or first) + 1))


def _options(arguments: list[str] | None) -> argparse.Namespace:
    parser = argparse.ArgumentParser(
        prog="python -m tests.faults", description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--seeds", type=_seeds, default=list(range(60)), metavar="A-B", help="which (0-59)")
    parser.add_argument("--workers", type=int, default=1, metavar="N", help="at once (1)")
    parser.add_argument("--until", type=float, metavar="SECONDS", help="begin no run after so many")
    parser.add_argument("--json", action="store_true")
    return parser.parse_args(arguments)


if __name__ == "__main__":
    sys.exit(main())
