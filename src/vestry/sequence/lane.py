"""The lane of a plan: several wearers come out one after the other, and what one leaves meets the next.

Every wearer of a case follows the same plan; between two exits stands the unit's turnaround.
"""

from __future__ import annotations

from collections.abc import Iterator

from vestry.contact.exposure import Setting, clears
from vestry.contact.lane import Between, BetweenTouch, in_one_lane, left_behind
from vestry.contact.program import Program
from vestry.sequence.case import Case
from vestry.sequence.policy import Policy
from vestry.sequence.setting import setting_for
from vestry.trade import Catalogue
from vestry.trade.touches import parse_touch


def shared_owners(catalogue: Catalogue) -> frozenset[str]:
    """Whose surfaces stay in the lane from one exit to the next."""
    return frozenset({"place", "air", *catalogue.helpers})


def lane_program(
    program: Program, wearers: int, policy: Policy, catalogue: Catalogue, setting: Setting, turned_around: bool = True
) -> Program:
    """The same way out, taken by so many wearers through one lane."""
    between = turnaround(policy, catalogue, setting) if turned_around else ()
    return in_one_lane([program] * wearers, between, shared_owners(catalogue))


def left_in_lane(program: Program, catalogue: Catalogue) -> frozenset[str]:
    """What one or more exits leave on things of the place and on the helpers, every step as taught."""
    return left_behind(program, shared_owners(catalogue))


def turnaround(policy: Policy, catalogue: Catalogue, setting: Setting) -> tuple[Between, ...]:
    """What is done between two exits. Nobody does it where policy leaves the person away."""
    there = {"assistant": policy.assistant, "observer": policy.observer}
    return tuple(
        Between(one.id, tuple(_touches(one.id, one.touches, one.source, policy, catalogue, setting)))
        for one in catalogue.turnarounds.values()
        if there[one.who]
    )


def turnaround_of(case: Case, policy: Policy, catalogue: Catalogue) -> tuple[str, ...]:
    """What is done between two exits, by id; nothing where one wearer alone comes out."""
    if case.wearers < 2:
        return ()
    return tuple(one.id for one in turnaround(policy, catalogue, setting_for(case, catalogue)))


def _touches(
    key: str, lines: tuple[str, ...], source: str, policy: Policy, catalogue: Catalogue, setting: Setting
) -> Iterator[BetweenTouch]:
    for line in lines:
        parsed = parse_touch(line)
        if parsed.verb == "clean":
            on = "gloves" if parsed.a.partition(".")[0] in catalogue.helpers else "surfaces"
            agent = policy.glove_agent if on == "gloves" else policy.surface_agent
            if clears(catalogue, agent, on, setting):
                yield BetweenTouch("clean", parsed.a, None, f"turnaround:{key}:lane:left-out-or-short", source)
            continue
        b: str | None = parsed.b
        if b == "agent":
            b = catalogue.agents[policy.glove_agent].touches_first
        if b is None:
            continue
        yield BetweenTouch(parsed.verb, parsed.a, b, None, source)
        for name in (parsed.a, b) if parsed.verb == "contact" else (b,):
            yield from _hidden_faults(name, catalogue)


def _hidden_faults(name: str, catalogue: Catalogue) -> Iterator[BetweenTouch]:
    owner, _, face = name.partition(".")
    if owner in catalogue.helpers:
        for latent in catalogue.helpers[owner].latent:
            if latent.from_ == face:
                event = f"latent:{owner}:{latent.id}"
                yield BetweenTouch("slide", name, f"{owner}.{latent.to}", event, latent.source)
