"""The second way to the cut sets: all scenarios of up to `order` events at once, one bit a scenario.

A surface's value is a whole number whose bit j says whether the surface is contaminated in scenario j.
"""

from __future__ import annotations

from itertools import combinations
from typing import Literal

from vestry.contact.cutsets import Antichain, minimal
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
    masks: dict[int, bytearray] = {}
    for number, subset in enumerate(scenarios):
        for event in subset:
            masks.setdefault(event, bytearray((len(scenarios) + 7) // 8))[number // 8] |= 1 << (number % 8)
    with_event = {event: int.from_bytes(mask, "little") for event, mask in masks.items()}
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


def cut_sets_by_enumeration(
    program: Program, order: int, latent: bool = False, loads: Literal["all", "high"] = "all"
) -> tuple[dict[int, Antichain], dict[int, Antichain]]:
    """The minimal scenarios that reach each surface, ever and at the end."""
    scenarios = all_scenarios(program, order, latent)
    ever, now = run_scenarios(program, scenarios, latent, loads)
    return _minimal_scenarios(ever, scenarios), _minimal_scenarios(now, scenarios)


def _minimal_scenarios(bits: dict[int, int], scenarios: list[tuple[int, ...]]) -> dict[int, Antichain]:
    return {
        number: minimal({sum(1 << event for event in scenarios[j]) for j in _set_bits(value)})
        for number, value in bits.items()
        if value
    }


def _set_bits(value: int) -> list[int]:
    text = bin(value)[:1:-1]
    found, at = [], text.find("1")
    while at >= 0:
        found.append(at)
        at = text.find("1", at + 1)
    return found
