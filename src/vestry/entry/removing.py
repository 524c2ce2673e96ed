"""Content removed from a record, lawfully: what is left of an event, and the event that says that it was removed.

1. Salt and words go; the commitment stays, and both chains hold. Of an event whose content went, its kind, clock,
   device and number are left, in no hash any more.
2. The removal is an event of the same entry (`content-removed`), said by the server, chained like every other: which
   places, on which day, under which policy, and a digest of what is left. Whoever changes what is left is found.
3. A place without content that no removal names is a finding: emptying is no way round a chain.
4. A removal is never removed.
"""

from __future__ import annotations

import hashlib
import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import rfc8785

from vestry.entry.events import LONGEST_TEXT

REMOVED = "content-removed"
"""The kind of the event that says so."""
LEFT = ("id", "entry", "kind", "device", "clock", "counter", "plan")
"""What is left of an event whose content was removed."""
STILL_SAYS = frozenset({"opened", "entered", "coming-out", "left", "closed", "abandoned", "late-transcribed"})
"""Kinds that tell something by kind and clock alone: what is folded of an entry whose content was removed."""

_RUN = re.compile(r"([1-9][0-9]{0,17})(?:-([1-9][0-9]{0,17}))?")
Run = tuple[int, int]


@dataclass(frozen=True)
class Removal:
    """One removal. `runs`: the server's numbers from and to, both counted; `places`: how many they are."""

    sequence: int
    entry: str
    on: str
    policy: str
    act: str
    runs: tuple[Run, ...]
    left: str

    @property
    def places(self) -> int:
        """How many places it names."""
        return sum(last - first + 1 for first, last in self.runs)

    def numbers(self) -> list[int]:
        """All of them; ask `places` first how many."""
        return [number for first, last in self.runs for number in range(first, last + 1)]

    def names(self, sequence: int) -> bool:
        """Whether it names this place."""
        return any(first <= sequence <= last for first, last in self.runs)


def payload_of(on: str, policy: str, act: str, rows: Sequence[tuple[int, Mapping[str, Any]]]) -> dict[str, Any]:
    """What the event says. `rows`: number and what is left of each; at least one."""
    return {
        "on": on,
        "policy": policy,
        "act": act,
        "places": list(_places(sequence for sequence, _ in rows)),
        "left": digest_of(rows),
    }


def removal_of(sequence: int, said: Mapping[str, Any]) -> Removal | None:
    """The removal in what was said; None where it is none that can be read."""
    payload = said.get("payload")
    if said.get("kind") != REMOVED or not isinstance(payload, Mapping):
        return None
    texts = [payload.get(name) for name in ("on", "policy", "act", "left")]
    places = payload.get("places")
    if not all(isinstance(one, str) for one in texts) or not isinstance(places, list) or not places:
        return None
    runs: list[Run] = []
    for one in (run for text in places for run in str(text).split(" ")):
        found = _RUN.fullmatch(one)
        if not found:
            return None
        first, last = int(found[1]), int(found[2] or found[1])
        if not first <= last < sequence:
            return None
        runs.append((first, last))
    on, policy, act, left = (str(one) for one in texts)
    return Removal(sequence, str(said.get("entry")), on, policy, act, tuple(sorted(runs)), left)


def left_of(said: Mapping[str, Any]) -> dict[str, Any]:
    """What is left of an event of which all this was said."""
    return {name: said[name] for name in LEFT}


def digest_of(rows: Iterable[tuple[int, Mapping[str, Any]]]) -> str:
    """A digest of what is left of these places, in the order of their numbers."""
    listed: Any = [[sequence, left_of(one)] for sequence, one in sorted(rows, key=lambda pair: pair[0])]
    return hashlib.sha256(rfc8785.dumps(listed)).hexdigest()


def _places(sequences: Iterable[int]) -> Iterable[str]:
    """Runs in words ("3-7 9"), in texts no longer than a text of an event may be."""
    line = ""
    for first, last in _runs(sequences):
        run = str(first) if first == last else f"{first}-{last}"
        if line and len(line) + 1 + len(run) > LONGEST_TEXT:
            yield line
            line = ""
        line = f"{line} {run}" if line else run
    yield line


def _runs(sequences: Iterable[int]) -> Iterable[Run]:
    first = last = 0
    for one in sorted(set(sequences)):
        if first and one == last + 1:
            last = one
            continue
        if first:
            yield first, last
        first = last = one
    yield first, last
