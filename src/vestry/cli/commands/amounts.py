"""How much reaches where: chances of reaching an alarm load or being found, what each step contributes, what matters.

Simulated runs of a plan or of an order written by anyone, on the estimates of `vestry evidence`. Never a probability of
infection. With --against: a second sequence on the same runs. Exit status: 0; 2 wrong use or bad input.
"""

from __future__ import annotations

import argparse
from dataclasses import replace

from vestry.cli import asking, output
from vestry.cli.sequences import WHAT, read_subject
from vestry.sequence.amounts import Asked, amounts, context_of, differ
from vestry.sequence.amounts_found import AmountsDiffer, AmountsFound
from vestry.sequence.amounts_telling import (
    CLASSES,
    WEAK,
    endpoint,
    in_thousand,
    of_contribution,
    of_row,
    relative,
    signed,
)
from vestry.sequence.subject import Subject
from vestry.trade.words import Words, load_words

MOST_ROWS = 12


def arguments(parser: argparse.ArgumentParser) -> None:
    """The options of the command."""
    asking.arguments(parser)
    parser.add_argument("--against", metavar="SEQUENCE", help=f"compare on the same runs: {WHAT}")


def run(options: argparse.Namespace) -> int:
    """Ask, and print."""
    words = load_words("en")
    asked = asking.asked(options)
    if options.against:
        found = differ(asked, _other(options, asked, words))
        print_differ(found, words) if not options.json else output.print_json(found.as_json())
        return 0
    answer = amounts(asked, progress=_told)
    if options.json:
        output.print_json(answer.as_json())
    else:
        print("\n".join(describe(answer, asked.subject, words)))
    return 0


def _other(options: argparse.Namespace, asked: Asked, words: Words) -> Asked:
    """The other side, in the same circumstances but for who is there."""
    subject = read_subject(options.against, asked.subject.catalogue, words, options.presentation)
    there = context_of(subject)
    kept = options.observer or options.read_aloud
    context = asked.context if kept else replace(asked.context, observer=there.observer, read_aloud=there.read_aloud)
    return replace(asked, subject=subject, context=context, recoveries=asking.recoveries_of(options, subject))


def _told(stage: str, done: int, total: int) -> None:
    output.progress(stage, done)


def describe(found: AmountsFound, subject: Subject, words: Words) -> list[str]:
    """An answer as it is read in a terminal."""
    lines = [found.title, output.paragraph(words.term("amounts", "caution")), ""]
    lines += [f"{found.draws:,} runs, seed {found.seed}. {words.term('amounts', 'in-thousand')}", ""]
    limits = [one.name for one in found.limits]
    rows = [
        (
            of_row(row, words),
            words.term("amounts", row.when),
            *(in_thousand(row.limits[name]) for name in limits),
            relative(row.quantiles[2].value),
            relative(row.quantiles[4].value),
        )
        for kind in CLASSES
        for when in ("ever", "at-end")
        for row in [found.row(kind, when)]
        if kind in {one.endpoint for one in found.reaching}
    ]
    head = ("what is reached", "", *(words.term("amounts", name) for name in limits), "half of runs below", "19 in 20")
    lines += [output.table(rows, head), "", *_notes(found, words), ""]
    if found.contributions:
        head = ("what went wrong", "happens, in 1,000", "exposure fewer", "eyes, nose, mouth fewer")
        lines += [output.paragraph(words.term("amounts", "contributions"))]
        lines += [output.table(contributed(found, subject, words), head), ""]
    if found.unknowns:
        lines += [output.paragraph(words.term("amounts", "unknowns")), output.table(unknown(found, words), (
            "estimate", "of what reaches", "share of the spread", "more of it"))]  # fmt: skip
    weak = sum(one.certainty in WEAK for one in found.rests_on)
    lines += ["", f"{weak} of {len(found.rests_on)} {words.term('amounts', 'judged')} `--json` lists them all."]
    if found.defaults:
        lines += [words.term("amounts", "defaults"), *(f"  {one.quantity}" for one in found.defaults)]
    return [*lines, "", *(output.paragraph(caution) for caution in words.cautions)]


def _notes(found: AmountsFound, words: Words) -> list[str]:
    notes = [output.paragraph(words.term("amounts", f"limit-{one.name}")) for one in found.limits]
    notes += [f"  {one.name}: {', '.join(one.records)}" for one in found.limits]
    if found.uncovered:
        sites = ", ".join(words.surface(site) for site in found.uncovered)
        notes.append(output.paragraph(f"{words.term('amounts', 'uncovered')} {sites}."))
    said = "recoveries" if found.recoveries else "no-recoveries"
    share = f" {found.recovered:.0%} of runs." if found.recoveries else ""
    return [*notes, output.paragraph(words.term("amounts", said) + share)]


def contributed(found: AmountsFound, subject: Subject, words: Words) -> list[tuple[str, ...]]:
    """The largest contributions, as rows."""
    rows = [row for row in found.contributions if row.falls["exposure"].value > 0][:MOST_ROWS]
    return [
        (
            of_contribution(row, subject, words),
            f"{row.happened * 1000:.0f}",
            in_thousand(row.falls["exposure"]),
            in_thousand(row.falls["mucosa"]) if "mucosa" in row.falls else "",
        )
        for row in rows
    ]


def unknown(found: AmountsFound, words: Words) -> list[tuple[str, ...]]:
    """The unknowns that matter most to exposure, as rows."""
    rows = [row for row in found.unknowns if row.endpoint == "exposure"][:MOST_ROWS]
    return [
        (
            row.record,
            endpoint(row.endpoint, words),
            f"{row.share.value:.0%} ± {2 * row.share.error:.0%}",
            "more there" if row.direction > 0 else "less there",
        )
        for row in rows
    ]


def print_differ(found: AmountsDiffer, words: Words) -> None:
    """A comparison as it is read in a terminal."""
    print(f"A  {found.a}\nB  {found.b}\n{found.draws:,} runs on the same draws, seed {found.seed}.")
    rows = [
        (
            endpoint(row.endpoint, words),
            in_thousand(row.a),
            in_thousand(row.b),
            signed(row.difference),
            f"{row.interval[0] * 1000:.1f} to {row.interval[1] * 1000:.1f}".replace("-", "−"),
            f"{row.less:.0%} / {row.more:.0%}",
        )
        for row in found.rows
    ]
    limit = words.term("amounts", found.limit) if found.limit else ""
    head = (f"{limit}, in 1,000 runs", "A", "B", "B less A", "95 percent", "B has less / more there")
    print(output.table(rows, head))
    print("\n".join(["", output.paragraph(words.term("amounts", "caution")), *words.cautions]))
