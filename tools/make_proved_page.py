"""Writes docs/explanation/proved.md from a report of `vestry prove` on the whole catalogue of cases.

    .venv/bin/vestry prove --out report.json && gzip -9n report.json     then to docs/explanation/proved/
    .venv/bin/python -m tools.make_proved_page            writes the page from that report
    .venv/bin/python -m tools.make_proved_page --check    says whether it is what the report gives (exit status 1: not)

No number on it is typed by hand. The report belongs to one facts digest, which the page names; where the facts have
changed since, the tool says so, and the report has to be made again.
"""

from __future__ import annotations

import argparse
import gzip
import sys
from collections.abc import Iterator, Sequence
from pathlib import Path

from vestry.cli import output
from vestry.cli.proved_page import WEAK_HEAD, margin_head, margin_rows, names_of, tables_of_margins, weak_rows
from vestry.sequence import Route
from vestry.sequence.proved import Proved, WeakStep
from vestry.trade import load_catalogue
from vestry.trade.words import Words, load_words

PLACE = Path(__file__).parent.parent / "docs" / "explanation"
PAGE = PLACE / "proved.md"
REPORT = PLACE / "proved" / "report.json.gz"


def kept() -> Proved:
    """The report that is kept."""
    return Proved.model_validate_json(gzip.decompress(REPORT.read_bytes()))


def page(found: Proved, words: Words) -> str:
    """The page."""
    parts = [_head(found), *_margins(found, words), *_weak(found.weak, words), *_unclean(found, words)]
    parts += [*_without(found), *_gaps(found, words), "---\n", *(f"{one}\n" for one in words.cautions)]
    return "\n".join(parts)


def _head(found: Proved) -> str:
    return f"""<!-- Made by tools/make_proved_page.py from the report of `vestry prove`; not to be edited. -->

# Every case of the catalogue

What the contact model says of every case: hazard, presentation, task, respirator, garment and the options of a unit's
policy. [Decision 13](../decisions/0013-which-cases-are-proved.md) says which are crossed with which, and what is not in
it. "Clean" is checked against the contact model, as taught: each step done as it is taught, on published conventions.
What is not found is not promised.

| | |
| --- | --- |
| cases | {found.cases:,} ({found.of}) |
| with a plan | {found.planned:,} |
| without a plan | {found.cases - found.planned:,} |
| clean as taught, the wearer's own way out | {found.clean:,} |
| ways out planned | {found.works:,} |
| distinct compiled programs | {found.programs:,} |
| facts | `{found.facts[:12]}` |
| contact model | {found.model_version}, sets of up to {found.order} errors |

Cases alike in everything that a way out depends on are planned once, and ways out may compile to one program; so cases
and programs are counted apart, here as *cases (programs)*. How long it took is on the page of
[benchmarks](benchmarks.md).
"""


def _margins(found: Proved, words: Words) -> Iterator[str]:
    yield "## Further errors before each endpoint\n"
    for title, rows in tables_of_margins(found):
        yield f"{title[0].upper()}{title[1:]}:\n"
        yield _table(margin_head(found.order), margin_rows(rows, words))
    yield "Bare skin that is reached as taught is clean again at the end, wherever a case counts as clean.\n"


def _weak(weak: Sequence[WeakStep], words: Words) -> Iterator[str]:
    yield "## One error that suffices\n"
    yield "Each single error that reaches an endpoint somewhere, most frequent first.\n"
    yield _table(WEAK_HEAD, weak_rows(weak, words))


def _unclean(found: Proved, words: Words) -> Iterator[str]:
    yield "## Cases without a clean order\n"
    if not found.unclean:
        yield "For the wearer there are none: every case that has a plan has an order that is clean as taught.\n"
    for one in found.unclean:
        yield f"**Program `{one.program[:12]}`**, {len(one.cases):,} cases: {names_of(one)}.\n"
        yield from _routes(one.routes, words)
    for role in found.team_unclean:
        yield (
            f"**The {role.role}'s own way out** has no clean order in {len(role.cases):,} cases: {names_of(role)}.\n"
        )
        yield from _routes(role.routes, words)


def _routes(routes: Sequence[Route], words: Words) -> Iterator[str]:
    for route in routes:
        yield f"- {output.route_title(route, words)}"
        yield from (f"  - {line}" for line in output.route_lines(route, words))
    yield ""


def _without(found: Proved) -> Iterator[str]:
    yield "## Cases without a plan\n"
    if not found.without_plan:
        yield "There are none.\n"
    for one in found.without_plan:
        sites = f"; open: {', '.join(one.open_sites)}" if one.open_sites else ""
        yield f"- {one.why}{sites}: {len(one.cases):,} cases, {names_of(one)}"
    yield ""


def _gaps(found: Proved, words: Words) -> Iterator[str]:
    yield "## What nothing covers\n"
    if not found.gaps:
        yield "Every site is covered on arrival in every case.\n"
        return
    rows = [(one if one == "airways" else words.surface(f"body.{one}"), f"{cases:,}") for one, cases in found.gaps]
    yield _table(("on arrival", "cases"), rows)


def _table(head: Sequence[str], rows: Sequence[Sequence[object]]) -> str:
    lines = [head, ["---"] * len(head), *rows]
    return "\n".join(f"| {' | '.join(str(cell) for cell in line)} |" for line in lines) + "\n"


def run() -> int:
    """Write, or check."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--check", action="store_true")
    options = parser.parse_args()
    found = kept()
    text = page(found, load_words("en"))
    same = PAGE.exists() and PAGE.read_text("utf-8") == text
    if not options.check:
        PAGE.write_text(text, "utf-8")
    if found.facts != load_catalogue().digest:
        print("the report is of other facts than those that are shipped now", file=sys.stderr)
    print("up to date" if same else PAGE.name, file=sys.stderr)
    return 1 if options.check and not same else 0


if __name__ == "__main__":
    sys.exit(run())
