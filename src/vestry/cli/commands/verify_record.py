"""Verify a record: is every event there, once, in its place and as it was said; and what a chain alone cannot say.

FILE is the export of an entry's record (JSON, docs/reference/record-export.md); --data walks the whole record of a data
folder. Give heads that were printed or exported before as anchors. Exit status: 0 the chains hold; 1 they do not;
2 wrong use or bad input.
"""

from __future__ import annotations

import argparse
import json
import re
from pathlib import Path
from typing import Any

from vestry.cli import output
from vestry.cli.record_of import open_record
from vestry.entry.verifying import CANNOT, Verified, verify
from vestry.trade.errors import BadFacts, Problem

LARGEST = 200_000_000
"""Bytes of a file."""


def arguments(parser: argparse.ArgumentParser) -> None:
    """The options of the command."""
    what = parser.add_mutually_exclusive_group(required=True)
    what.add_argument("file", nargs="?", metavar="FILE", help="the exported record of an entry")
    what.add_argument("--data", type=Path, help="the folder that holds the record")
    parser.add_argument(
        "--anchor", action="append", default=[], metavar="HEAD", help="a head printed before; several times for several"
    )
    parser.add_argument("--json", action="store_true")


def run(options: argparse.Namespace) -> int:
    """Verify and print."""
    anchors = [one.replace(" ", "").lower() for one in options.anchor]
    problems = [
        Problem("--anchor", 0, "", f"{one[:80]!r} is no head: 64 hexadecimal digits")
        for one in anchors
        if not re.fullmatch("[0-9a-f]{64}", one)
    ]
    if problems:
        raise BadFacts(problems)
    found = _of_data(options.data, anchors) if options.data else _of_file(options.file, anchors)
    if options.json:
        output.print_json(as_json(found))
    else:
        print("\n".join(_lines(found, bool(anchors))))
    return 0 if found.holds else 1


def as_json(found: Verified) -> dict[str, Any]:
    """What was found, as docs/reference/schemas/verified.json."""
    return {
        "holds": found.holds,
        "findings": [{"what": one.what, "sequence": one.sequence, "says": one.says} for one in found.findings],
        "events": found.events,
        "withheld": found.withheld,
        "unchained": found.unchained,
        "emptied": found.emptied,
        "removals": [
            {
                "sequence": one.sequence,
                "entry": one.entry,
                "on": one.on,
                "policy": one.policy,
                "act": one.act,
                "places": one.places,
            }
            for one in found.removals
        ],
        "parts": [
            {"before": one.before, "first": one.first, "last": one.last, "head": one.head} for one in found.parts
        ],
        "devices": [
            {
                "entry": one.entry,
                "device": one.device,
                "counter": one.counter,
                "events": one.events,
                "link": one.link,
            }
            for one in found.devices
        ],
        "anchored": found.anchored,
        "cannot": list(CANNOT),
    }


def _of_file(name: str, anchors: list[str]) -> Verified:
    path = Path(name)
    if not path.is_file():
        raise BadFacts([Problem(name, 0, "", "no such file")])
    if path.stat().st_size > LARGEST:
        raise BadFacts(
            [Problem(name, 0, "", f"larger than {LARGEST // 1_000_000} megabytes, which no entry's record is")]
        )
    try:
        document = json.loads(path.read_bytes().decode("utf-8"), object_pairs_hook=_once)
    except (ValueError, RecursionError) as bad:
        raise BadFacts([Problem(name, 0, "", f"JSON: {bad}")]) from None
    if not isinstance(document, dict) or document.get("format-version") != 1:
        raise BadFacts([Problem(name, 0, "format-version", "an exported record of format-version 1")])
    if not isinstance(document.get("events"), list) or not isinstance(document.get("heads"), dict):
        raise BadFacts([Problem(name, 0, "", "an exported record, with events and heads")])
    return verify(document["events"], document["heads"], anchors)


def _once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    """An object whose names stand once: of two under one name a reader would show one and verify the other."""
    found = dict(pairs)
    if len(found) < len(pairs):
        raise ValueError("a name stands twice in one object")
    return found


def _of_data(data: Path, anchors: list[str]) -> Verified:
    open_record(data)
    from django.db import DatabaseError

    from vestry.hospital.record.chain import verified

    try:
        return verified(tuple(anchors))
    except DatabaseError as bad:
        raise BadFacts([Problem(str(data), 0, "", f"no record of this version: {bad}")]) from None


def _lines(found: Verified, asked: bool) -> list[str]:
    rows = f"{found.events} events"
    if found.withheld:
        rows += f", and {found.withheld} places of other entries, by their commitments alone"
    if found.emptied:
        rows += f", and {found.emptied} whose content was removed, by their commitments alone"
    lines = [
        "The chains hold: every event is there once, in its place, as it was said"
        + (", but for content that was removed and is named below." if found.emptied else ".")
        if found.holds
        else "The chains do not hold.",
        f"Walked: {rows}.",
    ]
    lines += [f"  {'at ' + str(one.sequence) if one.sequence else 'as a whole'}: {one.says}" for one in found.findings]
    lines += [
        f"Content removed lawfully on {one.on} under {one.policy}: {one.places} "
        f"{'place' if one.places == 1 else 'places'} of entry {one.entry}, said at {one.sequence}"
        for one in found.removals
    ]
    lines += [f"Server, numbers {one.first} to {one.last}: head {one.head}" for one in found.parts]
    lines += [
        f"Device {one.device}, {one.events} events to its number {one.counter}: head {one.link}"
        for one in found.devices
    ]
    if found.unchained:
        lines.append(
            f"{found.unchained} events are of browsers that keep no chain of their own: the server's holds them."
        )
    if found.anchored is not None:
        lines.append(f"Up to number {found.anchored} it is as it was when the anchor was printed.")
    elif not asked:
        lines.append("No anchor was given: give --anchor a head that was printed, and what was cut off is found too.")
    lines += ["A chain alone cannot find:", *(output.paragraph(one, "  ") for one in CANNOT)]
    return lines
