"""The second way to the cut sets: all scenarios of up to `order` events at once, one bit a scenario.

A surface's value is a whole number whose bit j says whether the surface is contaminated in scenario j.
"""

from __future__ import annotations

from itertools import combinations
from typing import Literal

from vestry.contact.cutsets import Antichain
from vestry.contact.program import NO_EVENT, Program


def all_scenarios(program: Program, order: int, latent: bool) -> list[tuple[int, ...]]:
    """Every set of up to `order` events that can happen, smallest first."""
    sorts = {"slip", "omission", "latent"} if latent else {"slip", "omission"}
    events = [number for number, event in enumerate(program.events) if event.sort in sorts]
    return [subset for size in range(order + 1) for subset in combinations(events, size)]


def run_scenarios(
    program: Program, scenarios: list[tuple[int, ...]], latent: bool, loads: Literal["all", "high"] = "all"
) -> tuple[dict[int, int], dict[int, int]]:
    """What was ever contaminated and what is at the end, as bits over the scenarios."""
    every = (1 << len(scenarios)) - 1
    with_event = scenarios_with(scenarios)
    now = dict.fromkeys(program.sources(loads), every)
    ever = dict(now)
    for op in program.active_ops(latent):
        a = now.get(op.a, 0)
        mask = every if op.event == NO_EVENT else with_event.get(op.event, 0)
        if op.verb == "fresh":
            now[op.a] = 0
        elif op.verb == "clean":
            now[op.a] = a & mask
        else:
            b = now.get(op.b, 0)
            now[op.b] = b | (a & mask)
            ever[op.b] = ever.get(op.b, 0) | now[op.b]
            if op.verb == "contact":
                now[op.a] = a | (b & mask)
                ever[op.a] = ever.get(op.a, 0) | now[op.a]
    return ever, now


def scenarios_with(scenarios: list[tuple[int, ...]]) -> dict[int, int]:
    """Event to the scenarios in which it happens, as bits."""
    masks: dict[int, bytearray] = {}
    for number, subset in enumerate(scenarios):
        place, bit = number >> 3, 1 << (number & 7)
        for event in subset:
            if event not in masks:
                masks[event] = bytearray((len(scenarios) + 7) // 8)
            masks[event][place] |= bit
    return {event: int.from_bytes(mask, "little") for event, mask in masks.items()}


def cut_sets_by_enumeration(
    program: Program, order: int, latent: bool = False, loads: Literal["all", "high"] = "all"
) -> tuple[dict[int, Antichain], dict[int, Antichain]]:
    """The minimal scenarios that reach each surface, ever and at the end."""
    scenarios = all_scenarios(program, order, latent)
    with_event = scenarios_with(scenarios)
    return tuple(  # type: ignore[return-value]
        {number: minimal_scenarios(value, scenarios, with_event) for number, value in bits.items() if value}
        for bits in run_scenarios(program, scenarios, latent, loads)
    )


def minimal_scenarios(bits: int, scenarios: list[tuple[int, ...]], with_event: dict[int, int]) -> Antichain:
    """Those of these scenarios that hold no other of them, in canonical order; `scenarios` stand smallest first."""
    found: list[int] = []
    while bits:
        least = scenarios[(bits & -bits).bit_length() - 1]
        found.append(sum(1 << event for event in least))
        holding = bits
        for event in least:
            holding &= with_event[event]
        bits ^= holding
    return tuple(sorted(found, key=lambda one: (one.bit_count(), one)))
