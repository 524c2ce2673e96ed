"""Plan and check every case of the catalogue: hazard, presentation, task, respirator, garment and the policy's options.

Identical work is done once. With --state the run can be interrupted and resumed. Exit status: 0 every planned case is
clean as taught; 1 one is not, or the run was stopped; 2 wrong use or bad input.
"""

from __future__ import annotations

import argparse
import json
import multiprocessing
import signal
import sys
import time
from collections.abc import Iterator

from vestry.cli import files, output, proving_state
from vestry.cli.proved_page import lines_of
from vestry.sequence.every_case import words_in_use
from vestry.sequence.proved import Proved, report
from vestry.sequence.proving import Gathered, Outcome, Prover, Work, gather
from vestry.trade import BadFacts, Catalogue, Problem
from vestry.trade.words import load_words

SAVED_EVERY = 20.0  # seconds
SAID_EVERY = 25  # ways out
_prover: Prover | None = None  # one in each worker


def arguments(parser: argparse.ArgumentParser) -> None:
    """The options of the command."""
    parser.add_argument(
        "--only",
        nargs="+",
        default=[],
        metavar="WORD",
        help="only cases with all of these words, such as `ebola wet coverall`",
    )
    parser.add_argument("--sample", type=int, default=1, metavar="N", help="only every Nth case")
    parser.add_argument("--state", metavar="FILE", help="keep what is done there, and go on from it")
    parser.add_argument("--workers", type=int, default=2, metavar="N", help="processes (2)")
    parser.add_argument("--out", metavar="FILE", help="write the JSON report there as well")
    files.facts_argument(parser)
    parser.add_argument("--json", action="store_true")


def run(options: argparse.Namespace) -> int:
    """Gather, prove, report."""
    catalogue, words = files.facts_of(options).catalogue, load_words("en")
    _check(options, catalogue)
    for name in filter(None, (options.out, options.state)):
        files.check_place(name)
    outcomes = proving_state.read(options.state, catalogue.digest) if options.state else {}
    begun = time.monotonic()
    gathered = gather(catalogue, options.only, options.sample)
    if not gathered.cases:
        raise BadFacts([Problem("prove", 0, "only", "no case has all of these words")])
    try:
        _prove(gathered, catalogue, outcomes, options)
    except KeyboardInterrupt:
        kept = f"; {len(outcomes)} kept in {options.state}" if options.state else "; nothing kept, there was no --state"
        print(f"\nstopped{kept}", file=sys.stderr)
        return 1
    print(f"{gathered.cases} cases in {time.monotonic() - begun:.0f} seconds".ljust(60), file=sys.stderr)
    found = report(gathered, outcomes, catalogue.digest, _of(options))
    document = found.model_dump(mode="json", by_alias=True)
    if options.out:
        files.write(options.out, json.dumps(document, indent=1, ensure_ascii=False).encode())
    if options.json:
        output.print_json(document)
    else:
        print("\n".join(lines_of(found, words)))
    return 0 if _all_clean(found) else 1


def _all_clean(found: Proved) -> bool:
    return not found.unclean and not found.team_unclean


def _check(options: argparse.Namespace, catalogue: Catalogue) -> None:
    problems = []
    known = words_in_use(catalogue)
    for word in options.only:
        if word not in known:
            problems.append(Problem("prove", 0, "only", f"no choice is called {word}; there are {', '.join(known)}"))
    for name, value in (("sample", options.sample), ("workers", options.workers)):
        if value < 1:
            problems.append(Problem("prove", 0, name, f"at least 1 (got {value})"))
    if problems:
        raise BadFacts(problems)


def _of(options: argparse.Namespace) -> str:
    parts = [f"with {' '.join(options.only)}"] if options.only else []
    parts += [f"one in {options.sample}"] if options.sample > 1 else []
    return ", ".join(parts) or "all"


def _prove(gathered: Gathered, catalogue: Catalogue, outcomes: dict[str, Outcome], options: argparse.Namespace) -> None:
    """Fill `outcomes`, works that are there already left out; saved now and then, and on the way out."""
    left = [work for work in gathered.works if work.key not in outcomes]
    saved, done = time.monotonic(), len(gathered.works) - len(left)
    try:
        for key, outcome in _outcomes(left, catalogue, options.workers):
            outcomes[key] = outcome
            done += 1
            if done % SAID_EVERY == 0 or done == len(gathered.works):
                output.progress(f"ways out, of {len(gathered.works)}:", done)
            if options.state and time.monotonic() - saved > SAVED_EVERY:
                proving_state.write(options.state, catalogue.digest, outcomes)
                saved = time.monotonic()
    finally:
        if options.state:
            proving_state.write(options.state, catalogue.digest, outcomes)


def _outcomes(works: list[Work], catalogue: Catalogue, workers: int) -> Iterator[tuple[str, Outcome]]:
    global _prover
    _prover = Prover(catalogue)
    if workers == 1 or len(works) < 8:
        yield from map(_one, works)
        return
    # Forked, so that the workers have the catalogue without its being written out and read again.
    with multiprocessing.get_context("fork").Pool(workers, _leave_stopping_to_the_parent) as pool:
        yield from pool.imap_unordered(_one, works, chunksize=8)


def _leave_stopping_to_the_parent() -> None:
    signal.signal(signal.SIGINT, signal.SIG_IGN)


def _one(work: Work) -> tuple[str, Outcome]:
    assert _prover is not None
    return work.key, _prover.outcome(work)
