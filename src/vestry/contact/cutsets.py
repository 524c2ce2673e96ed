"""Cut sets: the smallest sets of events that together carry contamination to a surface.

A value is an antichain of event sets, each an integer with a bit an event, truncated at `order` events. Along a contact
values combine by union (plus); an event joins every set (times). `()` is never; `(0,)` is as taught.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

from vestry.contact.program import NO_EVENT, Program

Antichain = tuple[int, ...]
NEVER: Antichain = ()
AS_TAUGHT: Antichain = (0,)


def plus(a: Antichain, b: Antichain) -> Antichain:
    """The minimal sets of both."""
    if a == b or not b:
        return a
    if not a:
        return b
    if a == AS_TAUGHT or b == AS_TAUGHT:
        return AS_TAUGHT
    # Each is minimal in itself: only sets of the one can contain sets of the other. What both have is found at once.
    there = set(a)
    new = [one for one in b if one not in there and not _contains_any(one, a)]
    if not new:
        return a
    kept = [one for one in a if not _contains_any(one, new)]
    return tuple(sorted((*kept, *new), key=_canonical)) if kept else tuple(new)


def times(a: Antichain, event: int, order: int) -> Antichain:
    """Each set joined with an event, none larger than `order`."""
    if not a:
        return NEVER
    bit = 1 << event
    if a == AS_TAUGHT:
        return (bit,) if order >= 1 else NEVER
    having = [one for one in a if one & bit]
    joined = [one | bit for one in a if not one & bit and one.bit_count() < order]
    if not having:
        return tuple(joined)  # the same bit in all leaves their order as it is
    joined = [one for one in joined if not _contains_any(one, having)]
    return tuple(sorted((*having, *joined), key=_canonical)) if joined else tuple(having)


def _contains_any(one: int, sets: Iterable[int]) -> bool:
    for small in sets:  # noqa: SIM110 (a generator costs twice as much; this runs a million times a minute)
        if small & one == small:
            return True
    return False


def _canonical(one: int) -> tuple[int, int]:
    return (one.bit_count(), one)


def minimal(sets: set[int]) -> Antichain:
    """The sets that contain no other, in canonical order."""
    kept: list[int] = []
    for one in sorted(sets, key=_canonical):
        if not _contains_any(one, kept):
            kept.append(one)
    return tuple(kept)


def at_most(a: Antichain, b: Antichain) -> bool:
    """Whether a reaches only where b does: every set of a contains a set of b."""
    return all(_contains_any(one, b) for one in a)


@dataclass(frozen=True)
class CutSets:
    """Cut sets by surface number: of what was ever reached, and of what is contaminated at the end."""

    ever: dict[int, Antichain]
    at_end: dict[int, Antichain]
    order: int


def cut_sets(program: Program, order: int = 3, latent: bool = False, loads: Literal["all", "high"] = "all") -> CutSets:
    """The cut sets of every surface, truncated at `order` events."""
    now: dict[int, Antichain] = dict.fromkeys(program.sources(loads), AS_TAUGHT)
    ever = dict(now)
    run_cut_sets(list(program.active_ops(latent)), now, ever, order)
    return CutSets(ever, {number: value for number, value in now.items() if value}, order)


def run_cut_sets(ops: list, now: dict[int, Antichain], ever: dict[int, Antichain], order: int) -> None:  # type: ignore[type-arg]
    """Run operations on these values, in place. `ever` covers `now`, before and after."""
    get = now.get
    for op in ops:
        a = op.a
        va = get(a, NEVER)
        verb = op.verb
        if verb == "clean":
            if va:
                now[a] = times(va, op.event, order)
            continue
        if verb == "fresh":
            if va:
                now[a] = NEVER
            continue
        b = op.b
        vb = get(b, NEVER)
        if va == vb:
            continue
        event = op.event
        gain = va if event == NO_EVENT else times(va, event, order)
        if gain:
            new = plus(vb, gain)
            if new != vb:
                now[b] = new
                before = ever.get(b, NEVER)
                ever[b] = new if before is vb else plus(before, gain)
        if vb and verb == "contact":
            gain = vb if event == NO_EVENT else times(vb, event, order)
            if gain:
                new = plus(va, gain)
                if new != va:
                    now[a] = new
                    before = ever.get(a, NEVER)
                    ever[a] = new if before is va else plus(before, gain)


def counts(sets: Antichain, order: int) -> tuple[int, ...]:
    """How many sets there are of each size, from 0 to `order`."""
    tally = [0] * (order + 1)
    for one in sets:
        tally[one.bit_count()] += 1
    return tuple(tally)
