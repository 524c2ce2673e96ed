"""Where a recipe goes wrong in the making: what is said beside it, worked out for this one.

A trap is a code and its numbers; the words are the page's and the paper's.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

from vestry.room.dilution import Mix
from vestry.room.strength import Strength

Code = Literal["made-up-to", "parts-either-way", "label", "usual-strength", "whole-tablets", "spoons"]


@dataclass(frozen=True)
class Trap:
    """`numbers` by name, exact: percent, litres or parts as the code has it."""

    code: Code
    numbers: tuple[tuple[str, Fraction], ...] = ()


def traps(mix: Mix, stock: Strength | None, *, usual: bool, in_spoons: bool) -> tuple[Trap, ...]:
    """The traps of this recipe, those that make it too weak first.

    stock      the strength it starts from, percent available chlorine; None for tablets
    usual      nobody read the label: the strength is the usual one of the product
    in_spoons  spoons are given beside grams
    """
    found: list[Trap] = []
    if mix.litres is not None and not (mix.form == "liquid" and mix.parts_water == 0):
        found.append(Trap("made-up-to", (("litres", mix.litres),)))
    if mix.form == "liquid" and mix.parts_water is not None and mix.parts_water > 0:
        # 1:10 for 1 part in 10 of the whole is read by others as 1 part and 10 of water: weaker than wanted.
        whole = mix.parts_water + 1
        found.append(Trap("parts-either-way", (("whole", whole), ("gives", mix.wanted * whole / (whole + 1)))))
    if stock is not None:
        if usual:
            found.append(Trap("usual-strength", (("percent", stock.percent),)))
        found.append(Trap("label", (("percent", stock.percent),)))
    if mix.form == "tablet" and mix.gives > mix.wanted:
        found.append(Trap("whole-tablets", (("gives", mix.gives),)))
    if in_spoons:
        found.append(Trap("spoons"))
    return tuple(found)
