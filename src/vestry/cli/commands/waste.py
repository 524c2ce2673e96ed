"""Where the waste of a hazard goes, how it is packed, how much to expect, and who may let a held bag go.

Amounts are the stretch of what was published, by days with a patient or by doffings. Exit status: 0 a text settles the
stream; 1 none does, and the stricter one is taken; 2 wrong use or bad input.
"""

from __future__ import annotations

import argparse
from collections.abc import Iterator

from vestry.cli import output
from vestry.cli.answers import AmountAnswer, Cited, PackingAnswer, WasteAnswer, cited
from vestry.cli.asking_rooms import Asked, operations_argument, operations_of, print_answer, short, told_source
from vestry.room.waste import Amount, Routed, WasteRefused, amounts, routed, who_may
from vestry.trade.catalogue import Catalogue, load_catalogue
from vestry.trade.jurisdictions import UNSTATED
from vestry.trade.operations import Operations
from vestry.trade.quantities import number
from vestry.trade.values import Fact
from vestry.trade.words import Words, load_words


def arguments(parser: argparse.ArgumentParser) -> None:
    """The options of the command."""
    parser.add_argument("--hazard", required=True, metavar="ID", help="`vestry catalog` lists them")
    parser.add_argument("--jurisdiction", default=UNSTATED, metavar="ID", help="whose rules hold")
    parser.add_argument("--patient-days", metavar="NUMBER", help="how much that many days with a patient leave")
    parser.add_argument("--doffings", metavar="NUMBER", help="how much that many doffings leave")
    operations_argument(parser)


def run(options: argparse.Namespace) -> int:
    """Look up and print."""
    operations, words, catalogue = operations_of(options), load_words("en"), load_catalogue()
    asked = Asked("waste")
    counts = {
        name: asked.read(getattr(options, name), name.replace("_", "-"), number)
        for name in ("patient_days", "doffings")
    }
    way, found = None, None
    try:
        way = routed(options.hazard, catalogue, operations, options.jurisdiction)
        found = amounts(operations, **counts)
    except WasteRefused as bad:
        asked.wrong(bad.field, bad.what)
    asked.done()
    assert way is not None, "no problem was told"
    assert found is not None, "no problem was told"
    answer = answer_of(way, found, catalogue, operations, words)
    print_answer(answer, describe(answer, words), options, words)
    return 0 if answer.settled else 1


def answer_of(
    way: Routed, found: tuple[Amount, ...], catalogue: Catalogue, operations: Operations, words: Words
) -> WasteAnswer:
    """The answer, as it is printed."""
    says = ["held" if way.held else "not-held", *([] if way.settled else ["not-settled"])]
    says += [*(["stretch"] if found else []), "local-law"]
    return WasteAnswer(
        operations=operations.digest,
        facts=catalogue.digest,
        hazard=way.hazard,
        jurisdiction=way.jurisdiction,
        stream=way.stream,
        container=way.container,
        settled=way.settled,
        stream_cited=_of_fact(way.stream_fact, catalogue),
        category=None if way.category is None else way.category.value or way.category.default,
        category_of=way.category_of,
        category_cited=None if way.category is None else _of_fact(way.category, catalogue),
        held=way.held,
        may_release=who_may("release", operations),
        may_downgrade=who_may("downgrade", operations),
        packing=tuple(
            PackingAnswer(
                holds=one.holds,
                way=one.way,
                layers=one.layers,
                most_litres=one.most_litres,
                most_kilograms=one.most_kilograms,
                instruction=one.instruction,
                cited=cited(one, operations),
            )
            for one in way.packing
        ),
        amounts=tuple(
            AmountAnswer(
                of=one.of,
                per=one.per,
                measure=one.measure,
                low=float(one.low),
                high=float(one.high),
                or_more=one.or_more,
                cited=tuple(cited(record, operations) for record in one.records),
            )
            for one in found
        ),
        says=tuple(words.term("waste", key) for key in says),
    )


def _of_fact(fact: Fact, catalogue: Catalogue) -> Cited:
    source = catalogue.sources.get(fact.source)
    return Cited(
        record=None,
        source=fact.source,
        publisher=source.publisher if source else fact.source,
        title=source.title if source else fact.source,
        url=source.url if source else None,
        year=str(fact.year) if fact.year else (source.year if source else None),
        certainty=fact.certainty,
        note=fact.note,
    )


def describe(answer: WasteAnswer, words: Words) -> Iterator[str]:
    """The answer as it is read in a terminal."""
    yield f"{words.hazard(answer.hazard)}, rules: {words.jurisdiction(answer.jurisdiction)}"
    yield f"Stream: {words.waste(answer.stream)}; into: {words.term('container', answer.container)}"
    yield output.paragraph(told_source(answer.stream_cited, words), "  ")
    if answer.category and answer.category_cited and answer.category_of:
        category = words.term("waste-category", answer.category)
        yield f"Category for transport ({words.jurisdiction(answer.category_of)}): {category}"
        yield output.paragraph(told_source(answer.category_cited, words), "  ")
    else:
        yield words.term("waste", "no-category")
    yield f"May release: {', '.join(answer.may_release)}; may downgrade: {', '.join(answer.may_downgrade)}"
    for one in answer.packing:
        layers = ", ".join(words.term("packing", layer) for layer in one.layers)
        most = f"at most {one.most_litres:g} L or {one.most_kilograms:g} kg" if one.most_litres else ""
        told = "; ".join(filter(None, (one.instruction, layers, most)))
        yield output.paragraph(f"Packing, {one.holds}, {one.way}: {told} ({told_source(one.cited, words)})")
    for amount in answer.amounts:
        stretch = short(amount.low) if amount.low == amount.high else f"{short(amount.low)} to {short(amount.high)}"
        more = f" {words.term('waste', 'or-more')}" if amount.or_more else ""
        yield (
            f"{words.term('waste-of', amount.of)}, reckoned by {words.term('waste-per', amount.per)}: "
            f"{stretch}{more} {words.term('waste-measure', amount.measure)}"
        )
    yield ""
    for says in answer.says:
        yield output.paragraph(says)
