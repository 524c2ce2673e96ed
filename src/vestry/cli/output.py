"""Readable tables and JSON. Text that could be piped goes to standard output, progress to standard error."""

from __future__ import annotations

import json
import sys
import textwrap
from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING, Any

from vestry.trade.words import Words

if TYPE_CHECKING:  # the sequence is heavy, and rooms and heat print without it
    from vestry.sequence import Assurance, NoPlan, Route

CLASSES = ("mucosa", "skin", "helper", "clothing", "place")


def print_json(document: Any) -> None:
    """JSON, indented, keys as they are."""
    json.dump(document, sys.stdout, indent=1, ensure_ascii=False)
    sys.stdout.write("\n")


def table(rows: Iterable[Sequence[object]], head: Sequence[str]) -> str:
    """Left-aligned columns under a head."""
    lines = [[str(cell) for cell in row] for row in ([*head], *rows)]
    widths = [max(len(line[column]) for line in lines) for column in range(len(head))]
    text = ["  ".join(cell.ljust(width) for cell, width in zip(line, widths, strict=True)).rstrip() for line in lines]
    text.insert(1, "  ".join("-" * width for width in widths))
    return "\n".join(text)


def paragraph(text: str, indent: str = "") -> str:
    """Wrapped at 100."""
    return textwrap.fill(text, 100, initial_indent=indent, subsequent_indent=indent)


def verdict_lines(found: Assurance, words: Words) -> list[str]:
    """The verdict, what it rests on, and the routes, in words."""
    from vestry.sequence.telling import told_note

    named = words.verdict(found.verdict)
    lines = [named.short, paragraph(named.says), ""]
    if found.reached:
        lines.append("Reached with every step as taught:")
        for route in found.reached:
            lines += [f"  {route_title(route, words)}", *(f"    {line}" for line in route_lines(route, words))]
        lines.append("")
    for loads, latent, title in (
        ("all", False, "Routes by errors needed (from every contaminated face)"),
        ("all", True, "The same with hidden faults"),
        ("high", False, "The same from heavily loaded faces only"),
    ):
        rows = next(t for t in found.tables if t.loads == loads and t.latent == latent)
        lines += [
            f"{title}:",
            table(
                [
                    (words.endpoint(row.endpoint), *row.ever, row.margin if row.margin is not None else "more")
                    for row in rows.endpoints
                ],
                (
                    "reaches",
                    *(f"{size} errors" if size != 1 else "1 error" for size in range(found.order + 1)),
                    "fewest",
                ),
            ),
            "",
        ]
    if found.gaps:
        lines += [
            "Nothing covers: "
            + ", ".join(gap if gap == "airways" else words.surface(f"body.{gap}") for gap in found.gaps),
            "",
        ]
    lines += [paragraph(told_note(one, words)) for one in found.notes]
    lines += [""] if found.notes else []
    lines.append("Rests on: " + "; ".join(words.convention(one).name for one in found.conventions))
    if found.flips:
        lines.append(
            "Would be another verdict without: " + "; ".join(words.convention(one).name for one in found.flips)
        )
    lines += ["", *(paragraph(caution) for caution in words.cautions)]
    return lines


def route_title(route: Route, words: Words) -> str:
    """Which surface, and whether it is clean again at the end."""
    when = "" if route.when == "at-end" else ", clean again at the end"
    return f"{words.surface(route.surface)} ({words.endpoint(route.endpoint)}{when})"


def route_lines(route: Route, words: Words) -> list[str]:
    """A route, touch by touch."""
    lines = []
    for link in route.chain:
        where = link.step or "on arrival"
        error = f", error: {words.event(link.event)}" if link.event and not link.event.startswith("latent") else ""
        verb = words.term("verb", link.verb)
        touch = f"{words.surface(link.from_surface)} {verb} {words.surface(link.to_surface)}"
        lines.append(f"{where}: {touch}{error} [{link.source}]")
    return lines


def no_plan(none: NoPlan, as_json: bool, words: Words) -> int:
    """Say why there is no plan; the exit status."""
    reasons = [
        {
            "site": one.site,
            "route": one.route,
            "requirement": one.requirement,
            "source": one.source,
            "would": list(one.would),
        }
        for one in none.reasons
    ]
    if as_json:
        print_json({"plan": None, "why": none.why, "reasons": reasons, "what-now": list(none.what_now)})
        return 1
    print("No plan: the gear at hand cannot protect." if reasons else f"No plan: {none.why}.")
    for one in none.reasons:
        would = ", ".join(words.item(item) for item in one.would) or "nothing in the catalogue by itself"
        print(
            f"  {words.surface('body.' + one.site)}, by {words.term('route', one.route)} "
            f"({words.why(one.requirement)}): would need one of {would}"
        )
    print("What now: " + "; ".join(words.term("what-now", way) for way in none.what_now))
    print("\n".join(["", *(paragraph(caution) for caution in words.cautions)]))
    return 1


def progress(stage: str, count: int) -> None:
    """One line of progress on standard error, overwritten when it is a terminal."""
    end = "\r" if sys.stderr.isatty() else "\n"
    print(f"{stage} {count or ''}".rstrip().ljust(60), end=end, file=sys.stderr, flush=True)
