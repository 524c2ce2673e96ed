"""Remove what the policies in force let go, when two persons have decided it; nothing goes by default.

--dry-run lists what would go now and what stays. A removal is proposed at the desk (/keeping/purges/) by one person;
--confirm NUMBER --as SIGN-IN is the other's word, with their password, read from the terminal or from a line of the
input, and a code of their second factor where they have one. Backups made before still hold what is removed.

Exit status: 0 something would go, or it was done; 1 nothing would go, or it was refused; 2 wrong use.
"""

from __future__ import annotations

import argparse
import getpass
import sys
from pathlib import Path
from typing import Any

from vestry.cli import output
from vestry.cli.record_of import open_record
from vestry.trade.errors import BadFacts, Problem

BACKUPS = (
    "A backup made before still holds what is removed, and so does paper, an exported file, and a tablet that was "
    "never wiped. They have their own end: see to it."
)
AT_THE_DESK = (
    "Who signs in by the hospital's own account, or has passkeys alone, has nothing to type here: they confirm at the "
    "desk, under Record, Keeping, Removals, where they are signed in."
)
RUNNING = (
    "A server that runs meanwhile keeps people and entries in memory until it is restarted, and cuts the newest file "
    "of the log of refusals only when a removal is confirmed at the desk."
)


def arguments(parser: argparse.ArgumentParser) -> None:
    """The options of the command."""
    parser.add_argument("--data", type=Path, default=Path("data"), help="the folder that holds the record")
    what = parser.add_mutually_exclusive_group(required=True)
    what.add_argument("--dry-run", action="store_true", help="list what would go now; nothing is changed")
    what.add_argument("--confirm", type=int, metavar="NUMBER", help="confirm a proposal, and remove what it lists")
    parser.add_argument("--as", dest="who", metavar="SIGN-IN", help="who confirms")
    parser.add_argument("--json", action="store_true")


def run(options: argparse.Namespace) -> int:
    """List, or remove."""
    if options.confirm is not None and not options.who:
        raise BadFacts([Problem("--as", 0, "", "whose word it is: a sign-in name")])
    open_record(options.data)
    from django.db import DatabaseError

    try:
        return _dry_run(options.json) if options.dry_run else _confirm(options)
    except DatabaseError as bad:
        raise BadFacts([Problem(str(options.data), 0, "", f"no record of this version: {bad}")]) from None


def _dry_run(as_json: bool) -> int:
    from django.utils import timezone

    from vestry.hospital.retention.purging import due
    from vestry.hospital.retention.words import SORT_WORDS, WHY_WORDS
    from vestry.retention import SORTS

    found = due(timezone.now(), live=False)
    sorts: list[dict[str, Any]] = []
    for sort in SORTS:
        policy = found.policies.get(sort)
        sorts.append(
            {
                "data": sort,
                "days": policy.days if policy else None,
                "goes": [{"key": one.key, "last": one.last.isoformat(timespec="seconds")} for one in found.of(sort)],
                "stays": dict(sorted(found.stays(sort).items())),
            }
        )
    if as_json:
        output.print_json({"format-version": 1, "data": sorts, "later": found.later, "backups": BACKUPS})
        return 0 if found.goes else 1
    for one in sorts:
        kept = "for ever: no policy" if one["days"] is None else f"{one['days']} days"
        print(f"{SORT_WORDS[one['data']]}: kept {kept}; would go: {len(one['goes'])}")
        for row in one["goes"]:
            print(f"  {row['key']}, last word {row['last']}")
        stays = [f"{count} {WHY_WORDS.get(why, why)}" for why, count in one["stays"].items()]
        if stays:
            print(f"  stays: {', '.join(stays)}")
    if found.later:
        print(f"{found.later} more entries are due, and are for the next time.")
    print(output.paragraph(BACKUPS, ""))
    return 0 if found.goes else 1


def _confirm(options: argparse.Namespace) -> int:
    from django.utils import timezone

    from vestry.hospital.retention.models import Proposal
    from vestry.hospital.retention.policies import NotSo
    from vestry.hospital.retention.purging import confirm

    who = _authentic(str(options.who))
    if who is None:
        print(f"Nothing was removed: name, password and code do not fit together. {AT_THE_DESK}", file=sys.stderr)
        return 1
    proposal = Proposal.objects.filter(pk=options.confirm).select_related("by").first()
    if proposal is None:
        print(f"Nothing was removed: no proposal has number {options.confirm}.", file=sys.stderr)
        return 1
    try:
        done = confirm(proposal, who, timezone.now(), live=False)
    except NotSo as why:
        print(f"Nothing was removed: {why}", file=sys.stderr)
        return 1
    if options.json:
        output.print_json({"format-version": 1, "removal": done.pk, "counts": done.counts, "backups": BACKUPS})
        return 0
    print(f"Removal {done.pk} is done: " + ", ".join(f"{count} {sort}" for sort, count in done.counts.items()) + ".")
    print(output.paragraph(BACKUPS, ""))
    print(output.paragraph(RUNNING, ""))
    return 0


def _authentic(name: str) -> Any:
    """Who this is, by password and by a code where they have a second factor; None where it does not fit.

    Failures count with those of signing in.
    """
    from django.contrib.auth import authenticate
    from django.utils import timezone

    from vestry.hospital.access import second, slowing

    name, now, here = name.lower(), timezone.now(), "terminal"
    if slowing.too_many(name, here, now):
        return None
    user: Any = authenticate(username=name, password=_ask("Password: "))
    if user is not None and user.has_second_factor and not second.take(user, _ask("Code: "), now):
        user = None  # who has passkeys alone confirms at the desk: none can be asked for here
    if user is None:
        slowing.failed(name, here, now)
    return user


def _ask(what: str) -> str:
    if sys.stdin.isatty():
        return getpass.getpass(what)
    return sys.stdin.readline().rstrip("\n")
