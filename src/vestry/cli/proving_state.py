"""The state of an unfinished `vestry prove`: what is done already, in a file that is whole or refused.

One JSON object: facts digest, model version, what was chosen, the outcomes by work, and a checksum over them. It is
written beside its place and moved there, so that an interruption leaves the last whole one.
"""

from __future__ import annotations

import hashlib
import json
from pathlib import Path
from typing import Any

import rfc8785
from pydantic import ValidationError

from vestry.cli import files
from vestry.sequence.assurance import MODEL_VERSION
from vestry.sequence.proving import Outcome
from vestry.trade import BadFacts, Problem

FORMAT = 2
MOST_BYTES = 200_000_000


def read(name: str, facts: str) -> dict[str, Outcome]:
    """The outcomes in a state file; none when there is no such file yet. BadFacts when it cannot be relied on."""
    path = Path(name)
    if not path.exists():
        return {}
    if path.is_dir():
        raise BadFacts([Problem(name, 0, "", "a folder; a file is wanted")])
    if path.stat().st_size > MOST_BYTES:
        raise BadFacts([Problem(name, 0, "", f"the state is too large (at most {MOST_BYTES} bytes)")])
    try:
        document = json.loads(path.read_bytes())
    except (ValueError, RecursionError):
        raise _not_a_state(name, "not JSON") from None
    if not isinstance(document, dict) or set(document) != {"format", "facts", "model", "outcomes", "checksum"}:
        raise _not_a_state(name, "not a state of vestry prove")
    return _outcomes(document, name, facts)


def _outcomes(document: dict[str, Any], name: str, facts: str) -> dict[str, Outcome]:
    outcomes = document["outcomes"]
    whole = isinstance(outcomes, dict) and document["checksum"] == _sum(outcomes)
    if document["format"] != FORMAT or not whole:
        raise _not_a_state(name, "cut short or changed since it was written")
    for field, there, here in (("facts", document["facts"], facts), ("model", document["model"], MODEL_VERSION)):
        if there != here:
            what = f"of other {field} ({str(there)[:16]}; here {here[:16]}); name another file, or remove this one"
            raise BadFacts([Problem(name, 0, field, what)])
    try:
        return {key: Outcome.model_validate(value) for key, value in outcomes.items()}
    except ValidationError:
        raise _not_a_state(name, "an outcome in it cannot be read") from None


def write(name: str, facts: str, outcomes: dict[str, Outcome]) -> None:
    """Write the state, whole or not at all."""
    plain = {key: value.model_dump(mode="json", by_alias=True) for key, value in sorted(outcomes.items())}
    document = {"format": FORMAT, "facts": facts, "model": MODEL_VERSION, "outcomes": plain, "checksum": _sum(plain)}
    files.write(name, json.dumps(document, separators=(",", ":")).encode())


def _not_a_state(name: str, why: str) -> BadFacts:
    return BadFacts([Problem(name, 0, "", f"{why}; remove it to start anew")])


def _sum(outcomes: dict[str, Any]) -> str:
    try:
        return hashlib.sha256(rfc8785.dumps(outcomes)).hexdigest()
    except rfc8785.CanonicalizationError:
        return "cannot be summed"
