"""The report of `vestry prove` as it is read in a terminal; tools/make_proved_page.py makes a page of it."""

from __future__ import annotations

from collections.abc import Iterable

from vestry.cli import output
from vestry.contact.check import SEVERITY
from vestry.sequence.proved import Margin, NoPlanFor, Proved, TeamUnclean, Unclean, WeakStep
from vestry.sequence.proving import When
from vestry.trade.words import UnknownWord, Words

MOST_WEAK = 20
MOST_NAMES = 6
WEAK_HEAD = ("error", "technique", "reaches at worst", "cases", "programs")
ERRORS: tuple[int | None, ...] = (0, 1, 2, 3, None)


def lines_of(found: Proved, words: Words) -> list[str]:
    """The whole report, in lines."""
    return [
        *_head(found),
        "",
        *_margins(found, words),
        *_weak(found, words),
        *_unclean(found, words),
        *_team(found, words),
        *_without(found),
        *(output.paragraph(caution) for caution in words.cautions),
    ]


def _head(found: Proved) -> list[str]:
    return [
        "Checked against the contact model, as taught and with errors. What is not found is not promised.",
        f"Cases: {found.cases} ({found.of}), planned {found.planned}, without a plan {found.cases - found.planned}.",
        f"Ways out planned: {found.works}. Distinct compiled programs: {found.programs}.",
        f"Clean as taught: {found.clean} of {found.planned} cases.",
        f"Facts {found.facts}; contact model {found.model_version}; sets of up to {found.order} errors.",
    ]


def _margins(found: Proved, words: Words) -> list[str]:
    lines = ["Further errors before each endpoint, by cases (programs):"]
    for title, rows in tables_of_margins(found):
        lines += ["", f"{title}:", output.table(margin_rows(rows, words), margin_head(found.order)), ""]
    return lines


def tables_of_margins(found: Proved) -> list[tuple[str, list[Margin]]]:
    """The margins in four tables, each with its title."""
    titles: tuple[tuple[bool, When, str], ...] = (
        (False, "ever", "ever reached"),
        (False, "at-end", "reached at the end"),
        (True, "ever", "ever reached, with hidden faults (each counts as one)"),
        (True, "at-end", "reached at the end, with hidden faults (each counts as one)"),
    )
    return [
        (title, [one for one in found.margins if one.latent == latent and one.when == when])
        for latent, when, title in titles
    ]


def margin_head(order: int) -> tuple[str, ...]:
    """The columns of a table of margins."""
    return ("reaches", "as taught", "1 error", *(f"{size} errors" for size in range(2, order + 1)), "more")


def margin_rows(margins: Iterable[Margin], words: Words) -> list[tuple[str, ...]]:
    """A line for each endpoint class: cases (programs) by the fewest errors."""
    rows = []
    by_place = {(one.endpoint, one.errors): one for one in margins}
    for kind in SEVERITY:
        cells = []
        for errors in ERRORS:
            one = by_place.get((kind, errors))  # type: ignore[arg-type]
            cells.append(f"{one.cases} ({one.programs})" if one else "-")
        rows.append((words.endpoint(kind), *cells))
    return rows


def _weak(found: Proved, words: Words) -> list[str]:
    worst = sorted(found.weak, key=lambda one: (SEVERITY.index(one.worst), -one.cases))
    return [
        f"One error that suffices, most frequent first ({min(MOST_WEAK, len(found.weak))} of {len(found.weak)}):",
        output.table(weak_rows(found.weak[:MOST_WEAK], words), WEAK_HEAD),
        "",
        "One error that suffices, worst first:",
        output.table(weak_rows(worst[:MOST_WEAK], words), WEAK_HEAD),
        "",
    ]


def weak_rows(steps: Iterable[WeakStep], words: Words) -> list[tuple[object, ...]]:
    """A line for each error, with the technique in which it happens."""
    return [
        (event_words(one.event, words), one.event.split(":")[2], words.endpoint(one.worst), one.cases, one.programs)
        for one in steps
    ]


def event_words(event: str, words: Words) -> str:
    """An error with what it happens at, in trade words."""
    _, what, *_ = event.split(":")
    at = ", ".join(words.item(item) for item in what.split("+") if item in words.kinds)
    try:
        said = words.event(event)
    except UnknownWord:
        return event
    return f"{said} ({at})" if at else said


def _unclean(found: Proved, words: Words) -> list[str]:
    if not found.unclean:
        return ["Every case that has a plan has a clean order.", ""]
    lines = [f"Cases that have no clean order under their rules: {sum(len(one.cases) for one in found.unclean)}"]
    for one in found.unclean:
        lines.append(f"  program {one.program[:12]}, {len(one.cases)} cases: {names_of(one)}")
        for route in one.routes:
            lines.append(f"    {output.route_title(route, words)}")
            lines += [f"      {line}" for line in output.route_lines(route, words)]
    return [*lines, ""]


def _team(found: Proved, words: Words) -> list[str]:
    lines = []
    for one in found.team_unclean:
        lines.append(f"The {one.role}'s own way out has no clean order in {len(one.cases)} cases: {names_of(one)}")
        for route in one.routes:
            lines.append(f"    {output.route_title(route, words)}")
            lines += [f"      {line}" for line in output.route_lines(route, words)]
    return [*lines, ""] if lines else []


def _without(found: Proved) -> list[str]:
    lines = []
    for one in found.without_plan:
        sites = f"; open: {', '.join(one.open_sites)}" if one.open_sites else ""
        lines.append(f"No plan for {len(one.cases)} cases, {one.why}{sites}: {names_of(one)}")
    for gap, cases in found.gaps:
        lines.append(f"Nothing covers {gap} in {cases} cases.")
    return [*lines, ""]


def names_of(one: Unclean | TeamUnclean | NoPlanFor) -> str:
    """The first cases by name; all of them are in the JSON report."""
    more = len(one.cases) - MOST_NAMES
    return ", ".join(one.cases[:MOST_NAMES]) + (f" and {more} more" if more > 0 else "")
