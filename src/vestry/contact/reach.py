"""May-reach: the Boolean algebra, with the shortest chain of touches as witness.

A surface's value is the shortest chain that contaminates it now, or None. A contact passes the shorter chain on; a
cleaning or a fresh item forgets it, unless the event that defeats it is among those that happen.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from typing import Literal

from vestry.contact.program import NO_EVENT, Program


@dataclass(frozen=True, slots=True)
class Link:
    """How contamination came to a surface: by an operation from the link before (None at the source)."""

    surface: int
    op: int
    before: Link | None
    length: int


@dataclass(frozen=True)
class Reach:
    """What is contaminated at the end, and what was ever; each with its shortest chain. Keys are surface numbers.

    after[n] is what is contaminated once step n is done; after[-1 + 1] counts from arrival: after[0] is on arrival.
    """

    at_end: dict[int, Link]
    ever: dict[int, Link]
    after: tuple[frozenset[int], ...]


def reach(
    program: Program,
    happening: Collection[int] = (),
    loads: Literal["all", "high"] = "all",
    seen: Mapping[int, Collection[int]] | None = None,
) -> Reach:
    """Run the program with these events happening. Residue never happens here; a latent fault only if it is named.

    seen    surfaces that were seen soiled, by the step after which they were (-1: on arrival)
    """
    on = frozenset(happening)
    now: dict[int, Link] = {number: Link(number, -1, None, 0) for number in program.sources(loads)}
    ever: dict[int, Link] = dict(now)
    after: list[frozenset[int]] = []
    step = -1

    def soil(number: int) -> None:
        for surface in (seen or {}).get(number, ()):
            _put(now, ever, surface)

    for number, op in enumerate(program.ops):
        while step < op.step:
            soil(step)
            after.append(frozenset(now))
            step += 1
        if op.verb in ("clean", "fresh"):
            if op.verb == "fresh" or op.event not in on:
                now.pop(op.a, None)
            continue
        if op.event != NO_EVENT and op.event not in on:
            continue
        from_a, from_b = now.get(op.a), now.get(op.b)
        if from_a is not None:
            _pass_on(now, ever, op.b, number, from_a)
        if from_b is not None and op.verb == "contact":
            _pass_on(now, ever, op.a, number, from_b)
    while step < len(program.steps):
        soil(step)
        after.append(frozenset(now))
        step += 1
    return Reach(now, ever, tuple(after))


def _pass_on(now: dict[int, Link], ever: dict[int, Link], to: int, op: int, link: Link) -> None:
    length = link.length + 1
    known = now.get(to)
    if known is None or length < known.length:
        now[to] = Link(to, op, link, length)
    if to not in ever or length < ever[to].length:
        ever[to] = Link(to, op, link, length)


def _put(now: dict[int, Link], ever: dict[int, Link], surface: int) -> None:
    """Contaminated from outside, as on arrival."""
    now[surface] = ever[surface] = Link(surface, -1, None, 0)


def chain(link: Link) -> list[Link]:
    """The links from the source to this one."""
    links = [link]
    while links[-1].before is not None:
        links.append(links[-1].before)
    return links[::-1]
