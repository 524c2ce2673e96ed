"""The published and practice orders that are shipped: list them, print one, or check them all.

Exit status: 0; with --check 1 when one is reached; 2 wrong use.
"""

from __future__ import annotations

import argparse

from vestry.cli import files, output
from vestry.sequence import assure_order
from vestry.trade import BadFacts, Catalogue, Order, Problem, read_order
from vestry.trade.orders import packaged_orders


def arguments(parser: argparse.ArgumentParser) -> None:
    """The options of the command."""
    parser.add_argument("id", nargs="?", help="print this order as a sequence file")
    parser.add_argument(
        "--check", action="store_true", help="check each for the presentations that it is published for"
    )
    files.facts_argument(parser)
    parser.add_argument("--json", action="store_true")


def run(options: argparse.Namespace) -> int:
    """List, print or check."""
    texts = packaged_orders()
    if options.id is not None:
        if options.id not in texts:
            raise BadFacts([Problem("orders", 0, "id", f"no order is called {options.id}; `vestry orders` lists them")])
        if options.json:
            output.print_json(
                read_order(texts[options.id], options.id).model_dump(mode="json", by_alias=True, exclude_none=True)
            )
        else:
            print(texts[options.id])
        return 0
    rows = [(name, read_order(text, name)) for name, text in texts.items()]
    if options.check:
        return _check(rows, files.facts_of(options).catalogue, options.json)
    if options.json:
        output.print_json([_summary(name, order) for name, order in rows])
    else:
        print(
            output.table(
                [tuple(_summary(name, order).values()) for name, order in rows],
                ("order", "kind", "publisher", "year", "certainty", "for"),
            )
        )
    return 0


def _check(rows: list[tuple[str, Order]], catalogue: Catalogue, as_json: bool) -> int:
    results = []
    for name, order in rows:
        presentations = order.published.for_presentations if order.published else (order.case.presentation,)
        for presentation in presentations:
            case = order.case.model_copy(update={"presentation": presentation})
            found = assure_order(order.model_copy(update={"case": case}), catalogue, 1)
            results.append(
                {
                    "order": name,
                    "presentation": presentation,
                    "verdict": found.verdict,
                    "reached": [route.surface for route in found.reached if route.when == "at-end"],
                }
            )
    if as_json:
        output.print_json(results)
    else:
        print(
            output.table(
                [(one["order"], one["presentation"], one["verdict"], " ".join(one["reached"])) for one in results],
                ("order", "for", "verdict", "reached at the end, as taught"),
            )
        )
    return 0 if all(one["verdict"] == "clean" for one in results) else 1


def _summary(name: str, order: Order) -> dict[str, str]:
    published = order.published
    return {
        "order": name,
        "kind": published.kind if published else "doff",
        "publisher": published.publisher if published else "common practice, no source",
        "year": published.year if published else "",
        "certainty": published.certainty if published else "common-practice",
        "for": ", ".join(published.for_presentations) if published else order.case.presentation,
    }
