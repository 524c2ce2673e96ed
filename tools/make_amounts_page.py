"""Computes the example in docs/explanation/amounts.md: one more rub, where it helps and where it harms.

.venv/bin/python -m tools.make_amounts_page          writes it
.venv/bin/python -m tools.make_amounts_page --check  says whether it is up to date (exit status 1 when not)
"""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

from vestry.contact.amounts import bind_order
from vestry.contact.amounts.answers import Question, difference
from vestry.contact.amounts.limits import limits_of
from vestry.trade import load_catalogue, load_evidence, read_order

PAGE = Path(__file__).parent.parent / "docs" / "explanation" / "amounts.md"
BEGIN, END = "<!-- computed by tools/make_amounts_page.py -->\n", "<!-- end -->"
DRAWS = 20_000
RUB = '{ act = "disinfect-gloves", agent = "alcohol-rub" }, '
ORDER = """
format-version = 1
title = "rub"
case = { presentation = "wet", virus-class = "CLASS" }
worn = ["scrubs", "respirator-disposable", "fresh-gloves"]
loads = LOADS
lane = { contaminated = [LANE] }
steps = [RUBS{ act = "doff", item = "respirator-disposable" }]
"""
SOILED = '{ "fresh-gloves.palm-l" = "high", "fresh-gloves.palm-r" = "high" }'
CASES = (
    ("enveloped virus, gloves soiled, dispenser clean", "enveloped", SOILED, ""),
    ("enveloped virus, gloves clean, dispenser soiled", "enveloped", "{}", '"place.dispenser"'),
    ("non-enveloped virus, gloves soiled, dispenser clean", "non-enveloped", SOILED, ""),
    ("non-enveloped virus, gloves clean, dispenser soiled", "non-enveloped", "{}", '"place.dispenser"'),
)


def block() -> str:
    """The table, as it stands in the page."""
    rows = [
        "| before a respirator comes off in gloves | without a rub | with one | one more rub, 95 percent |",
        "| --- | --- | --- | --- |",
    ]
    for said, virus, loads, lane in CASES:
        row = _mucosa(virus, loads, lane)
        low, high = (1000 * end for end in row.interval)
        verdict = "more" if low > 0 else "less" if high < 0 else "not to be told apart"
        rows.append(
            f"| {said} | {1000 * row.a.value:.1f} | {1000 * row.b.value:.1f} | {low:+.1f} to {high:+.1f}: {verdict} |"
        )
    said = f"Runs in 1,000 in which eyes, nose or mouth reach the alarm load; {DRAWS:,} paired runs, seed 1."
    return f"{said}\n\n" + "\n".join(rows) + "\n"


def _mucosa(virus: str, loads: str, lane: str):  # type: ignore[no-untyped-def]
    catalogue, evidence = load_catalogue(), load_evidence()
    sides = []
    for rubs in ("", RUB):
        text = ORDER.replace("CLASS", virus).replace("LANE", lane).replace("RUBS", rubs)
        spread = loads.replace(
            '"fresh-gloves.palm-*" = "high"', '"fresh-gloves.palm-l" = "high", "fresh-gloves.palm-r" = "high"'
        )
        bound = bind_order(read_order(text.replace("LOADS", spread), "rub"), catalogue, evidence)
        sides.append(Question(bound.model, limits_of(bound, evidence), draws=DRAWS, leave_out=bound.uncovered))
    return next(row for row in difference(*sides) if row.endpoint == "mucosa")


def written(text: str) -> str:
    """The page with the table put in anew."""
    head, rest = text.split(BEGIN)
    return f"{head}{BEGIN}{block()}{END}{rest.split(END, 1)[1]}"


def run() -> int:
    """Write, or check."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--check", action="store_true")
    options = parser.parse_args()
    before = PAGE.read_text("utf-8")
    after = written(before)
    if not options.check:
        PAGE.write_text(after, "utf-8")
    return 1 if options.check and before != after else 0


if __name__ == "__main__":
    sys.exit(run())
