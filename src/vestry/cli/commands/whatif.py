"""What a change would buy: hygiene acts dropped or added, agents, glove changes, people, practice; ranked.

Each on the same simulated runs as the sequence as it is. What a published or local minimum asks for is never offered
for removal. Exit status: 0 some change clearly lowers exposure; 1 none does; 2 wrong use or bad input.
"""

from __future__ import annotations

import argparse

from vestry.cli import asking, output
from vestry.sequence.amounts_found import WhatIf
from vestry.sequence.amounts_telling import in_thousand, of_change, of_kept, signed
from vestry.sequence.subject import Subject
from vestry.sequence.whatif import what_if
from vestry.trade.words import Words, load_words


def arguments(parser: argparse.ArgumentParser) -> None:
    """The options of the command."""
    asking.arguments(parser)


def run(options: argparse.Namespace) -> int:
    """Ask, and print."""
    words = load_words("en")
    asked = asking.asked(options)
    found = what_if(asked, lambda done, total: output.progress("changes", done))
    if options.json:
        output.print_json(found.as_json())
    else:
        print("\n".join(describe(found, asked.subject, words)))
    return 0 if any(one.clear and one.exposure.difference.value < 0 for one in found.changes) else 1


def describe(found: WhatIf, subject: Subject, words: Words) -> list[str]:
    """A ranked list as it is read in a terminal."""
    limit = words.term("amounts", found.limit) if found.limit else "no limit"
    lines = [found.name, output.paragraph(words.term("amounts", "caution")), ""]
    lines += [output.paragraph(words.term("amounts", "ranked")), words.term("amounts", "steps-alone"), ""]
    lines.append(
        f"As it is, {limit}, in 1,000 runs: {words.term('amounts', 'exposure')} {in_thousand(found.base['exposure'])}."
    )
    rows = [
        (
            of_change(one, subject, words),
            signed(one.exposure.difference),
            *(signed(row.difference) for row in one.rows if row.endpoint == "mucosa"),
            f"{one.minutes:+.1f}",
            words.term("change-bought", "clear" if one.clear else "not-clear"),
        )
        for one in found.changes
    ]
    lines += [output.table(rows, ("change", "exposure", "eyes, nose, mouth", "minutes", "")), ""]
    lines += [words.term("amounts", "kept"), *(f"  {of_kept(one, words)}" for one in found.kept), ""]
    return [*lines, *(output.paragraph(caution) for caution in words.cautions)]
