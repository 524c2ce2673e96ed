"""Explain a verdict: the route touch by touch with its sources, and what would have to go wrong.

Exit status: 0 a route that answers the question is shown, or the verdict is clean; 1 reached as taught; 2 wrong use or
bad input.
"""

from __future__ import annotations

import argparse
import datetime

from vestry.cli import files, output
from vestry.cli.sequences import WHAT, read_subject
from vestry.sequence import Explanation, Subject, explain
from vestry.sequence.explanation import ExplainedRoute
from vestry.sequence.telling import place_of, told_end, told_explained, told_source, told_touch, told_would_take
from vestry.trade.words import Words, load_words


def arguments(parser: argparse.ArgumentParser) -> None:
    """The options of the command."""
    parser.add_argument("sequence", metavar="SEQUENCE", help=WHAT)
    parser.add_argument("--surface", metavar="SURFACE", help="about one endpoint: body.eyes, assistant.skin and so on")
    parser.add_argument("--step", metavar="STEP", help="about one step, by its id: what an error there opens")
    parser.add_argument("--why-not", action="store_true", help="only what would have to go wrong")
    parser.add_argument("--presentation", choices=("dry", "wet"), help="judge an order for this presentation")
    parser.add_argument("--sheet", metavar="FILE", help="write it there with pictures, as an accessible PDF")
    files.facts_argument(parser)
    parser.add_argument("--json", action="store_true")


def run(options: argparse.Namespace) -> int:
    """Explain and print."""
    if options.sheet:
        files.check_place(options.sheet)
    catalogue, words = files.facts_of(options).catalogue, load_words("en")
    subject = read_subject(options.sequence, catalogue, words, options.presentation)
    found = explain(subject, options.surface, options.step)
    if options.sheet:
        from vestry.papers import explanation_pdf

        content = explanation_pdf(found, subject, words, printed_on=datetime.date.today().isoformat())
        files.write(options.sheet, content)
    if options.json:
        output.print_json(found.as_json())
    else:
        print("\n".join(describe(found, subject, words, options.why_not)))
    return 0 if found.clean else 1


def describe(found: Explanation, subject: Subject, words: Words, why_not: bool) -> list[str]:
    """An explanation as it is read in a terminal."""
    lines = [subject.title, output.paragraph(words.verdict(found.verdict).says), ""]
    if not why_not:
        lines += _why(found, subject, words)
    if found.would_take and (why_not or found.clean or found.surface):
        lines += [words.finding("why-not.title"), ""]
        for one in found.would_take:
            lines.append(output.paragraph(told_would_take(one, found.order, words)))
            for route in one.routes:
                lines.append(output.paragraph(told_explained(route, subject, words), "    "))
        lines.append("")
    return [*lines, *(output.paragraph(caution) for caution in words.cautions)]


def _why(found: Explanation, subject: Subject, words: Words) -> list[str]:
    if found.step is not None:
        step = place_of(found.step, subject.numbers, words)
        key = "why.step" if found.routes else "why.step-none"
        lines = [output.paragraph(words.finding(key, step=step, count=found.order)), ""]
    else:
        key = "why.clean" if not found.routes else "why.not-deciding" if found.clean else "why.reached"
        lines = [output.paragraph(words.finding(key)), ""]
    for route in found.routes:
        lines += [told_end(route, words)]
        lines += [output.paragraph(told_explained(route, subject, words), "  "), *_touches(route, subject, words), ""]
    return lines


def _touches(route: ExplainedRoute, subject: Subject, words: Words) -> list[str]:
    lines = []
    for touch in route.touches:
        where = place_of(touch.step, subject.numbers, words)
        lines.append(output.paragraph(f"{where}: {told_touch(touch, words)}", "    "))
        lines.append(
            output.paragraph(f"source: {told_source(touch, words)} {touch.source.url or ''}".rstrip(), "      ")
        )
    return lines
