"""From a body's measures to sizes: gloves by the published table, and whether a gown reaches mid-calf. Millimetres.

A table gives where to begin trying on; a size found by trying on stands before it. Glove letters of two systems do not
map one to one: the hand table goes by circumference, the width of an examination glove is measured laid flat.
"""

from __future__ import annotations

from dataclasses import dataclass

from vestry.people.values import Hand
from vestry.trade.standards import GloveSize, GownSize, Standards


@dataclass(frozen=True)
class GloveFit:
    """What a table says for a hand.

    by_length     the row that the hand's length asks for, where it is another one; None: none other, or not measured
    """

    row: GloveSize
    by_length: GloveSize | None = None


class OffTheTable(ValueError):
    """A measure that lies outside the table, so that no size follows from it."""


def glove_size(hand: Hand, standards: Standards, system: str = "en-420") -> GloveFit:
    """The row of the hand table nearest in circumference; of two equally near ones the larger.

    OffTheTable where the hand lies further outside the table than half a row.
    """
    rows = standards.gloves(system)
    if not rows:
        raise OffTheTable(f"no hand table is called {system}")
    step = rows[-1].circumference_mm - rows[-2].circumference_mm
    low, high = rows[0].circumference_mm - step / 2, rows[-1].circumference_mm + step / 2
    if not low <= hand.circumference_mm <= high:
        raise OffTheTable(
            f"a hand of {hand.circumference_mm} mm lies outside the table ({rows[0].circumference_mm} to "
            f"{rows[-1].circumference_mm} mm)"
        )
    row = min(rows, key=lambda one: (abs(one.circumference_mm - hand.circumference_mm), -one.number))
    if hand.length_mm is None:
        return GloveFit(row)
    length = hand.length_mm
    other = min(rows, key=lambda one: (abs(one.hand_length_mm - length), -one.number))
    return GloveFit(row, other if other != row else None)


def sizes_of_width(width_mm: float, standards: Standards, system: str) -> tuple[str, ...]:
    """The sizes that a glove of this width, laid flat, may be marked with. Several: the table's rows overlap."""
    return tuple(
        one.size
        for one in standards.widths(system)
        if (one.least_mm is None or width_mm >= one.least_mm) and (one.most_mm is None or width_mm <= one.most_mm)
    )


def mid_calf_length(height_mm: int, standards: Standards) -> int:
    """How long the back of a gown must be to reach mid-calf: from the base of the neck to half-way between knee and
    ankle, rounded up to the millimetre. Shares of stature, so an estimate that the mirror corrects."""
    share = standards.proportions
    down = 2 * share["neck-base"].thousandths - share["knee"].thousandths - share["ankle"].thousandths
    return -(-height_mm * down // 2000)


def reaches_mid_calf(height_mm: int, gown_mm: int, standards: Standards) -> bool:
    """Whether a gown with this back length reaches the mid-calf of somebody so tall."""
    return gown_mm >= mid_calf_length(height_mm, standards)


def gowns_long_enough(height_mm: int, standards: Standards) -> tuple[tuple[GownSize, str], ...]:
    """Each size of the published gown table: `surely` long enough at its shortest, `by its length` only where the
    gown's own length says so, `too-short` even at its longest."""
    needed = mid_calf_length(height_mm, standards)

    def says(row: GownSize) -> str:
        if row.back_least_mm >= needed:
            return "surely"
        return "by-its-length" if row.back_most_mm >= needed else "too-short"

    return tuple((row, says(row)) for row in standards.gown_sizes.values())
