"""Benchmarks: against other engines, and against limits.

    python -m bench                      all of them, as a report to read
    python -m bench cut-sets search      some of them
    python -m bench --out FILE           the run as JSON as well
    python -m bench --keep               keeps the run and the report of the proof, and writes
                                         docs/explanation/benchmarks.md (tools.make_proved_page writes the other page)
    python -m bench --page               writes the page again from the run that is kept
    python -m bench --tiny               a little of each, to see that it runs

Exit status: 0 all answers equal and every floor met; 1 not so; 2 wrong use.
"""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Callable, Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

from bench import amounts, cut_sets, forecast, load, machine, planning, proving, registers, searching, tablet
from bench.measured import Measured
from bench.page import page
from bench.size import TINY, WHOLE, Size

PLACE = Path(__file__).parent.parent / "docs" / "explanation"
KEPT = PLACE / "benchmarks" / "run.json"
PAGE = PLACE / "benchmarks.md"
REPORT = PLACE / "proved" / "report.json.gz"
BENCHMARKS: Mapping[str, Callable[[Size], Measured]] = {
    "cut-sets": cut_sets.measure_antichains,
    "enumeration": cut_sets.measure_enumeration,
    "search": searching.measure,
    "plan": planning.measure,
    "amounts": amounts.measure,
    "prove": proving.measure,
    "forecast": forecast.measure,
    "load": load.measure,
    "tablet": tablet.measure,
    "registers": registers.measure,
}


def main(arguments: list[str] | None = None) -> int:
    """Run what is asked for."""
    options = _options(arguments)
    if options.page:
        PAGE.write_text(page(json.loads(KEPT.read_text("utf-8"))), "utf-8")
        return 0
    size = TINY if options.tiny else WHOLE
    if options.keep:
        for place in (KEPT, REPORT):
            place.parent.mkdir(exist_ok=True)
        size = replace(size, report=REPORT)
    run = measure(options.name or list(BENCHMARKS), size)
    text = json.dumps(run, indent=1, ensure_ascii=False) + "\n"
    if options.out:
        Path(options.out).write_text(text, "utf-8")
    if options.keep:
        KEPT.write_text(text, "utf-8")
        PAGE.write_text(page(run), "utf-8")
    print(page(run))
    return 0 if all(one["good"] for one in run["benchmarks"]) else 1


def measure(names: list[str], size: Size) -> dict[str, Any]:
    """These benchmarks, one after the other, with the machine."""
    run: dict[str, Any] = {
        "format-version": 1,
        "date": machine.when(),
        "commit": machine.commit(),
        "machine": machine.machine(),
        "benchmarks": [],
    }
    for name in names:
        print(f"bench: {name}", file=sys.stderr, flush=True)
        found = BENCHMARKS[name](size)
        run["benchmarks"].append(found.as_json() | {"good": found.good})
    return run


def _options(arguments: list[str] | None) -> argparse.Namespace:
    parser = argparse.ArgumentParser(
        prog="python -m bench", description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("name", nargs="*", metavar="NAME", help=f"which: {', '.join(BENCHMARKS)} (all)")
    parser.add_argument("--out", metavar="FILE", help="write the run as JSON")
    parser.add_argument("--keep", action="store_true", help="keep the run and write the page")
    parser.add_argument("--page", action="store_true", help="write the page from the run that is kept")
    parser.add_argument("--tiny", action="store_true", help="a little of each")
    options = parser.parse_args(arguments)
    unknown = [name for name in options.name if name not in BENCHMARKS]
    if unknown:
        parser.error(f"no benchmark is called {', '.join(unknown)}; there are {', '.join(BENCHMARKS)}")
    if options.keep and (options.name or options.tiny):
        parser.error("--keep is for a whole run: all benchmarks at full size")
    if options.out and not Path(options.out).absolute().parent.is_dir():
        parser.error(f"--out: there is no folder for {options.out}")
    return options


if __name__ == "__main__":
    sys.exit(main())
