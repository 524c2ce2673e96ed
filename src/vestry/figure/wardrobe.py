"""Which drawing belongs to which item of the catalogue."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from types import MappingProxyType

from vestry.figure import apron, body, feet, garments, hands, head, powered
from vestry.figure import palette as c
from vestry.figure.pieces import Pieces, on_head
from vestry.figure.stage import Stage

Draw = Callable[[Stage, str], Pieces]


class UnknownItem(KeyError):
    """An item id for which nothing is drawn."""

    def __init__(self, item: str, known: tuple[str, ...]) -> None:
        """Name the item and the ids that can be drawn."""
        super().__init__(item)
        self.item = item
        self.known = known

    def __str__(self) -> str:
        """The sentence for the reader."""
        return f"no drawing for item {self.item!r}; drawn are: {', '.join(self.known)}"


def _gloves(layer: str, length: str, fill: str) -> Draw:
    def draw(stage: Stage, item: str) -> Pieces:
        return hands.gloves(stage, item, layer, length, fill)

    return draw


def _head(draw: Draw) -> Draw:
    def drawn(stage: Stage, item: str) -> Pieces:
        return on_head(draw(stage, item))

    return drawn


def _scrubs(stage: Stage, item: str) -> Pieces:
    return body.scrubs(stage)


DRAWINGS: Mapping[str, Draw] = MappingProxyType(
    {
        "scrubs": _scrubs,
        "washable-shoes": feet.shoes,
        "washable-boots": feet.boots,
        "inner-gloves-long": _gloves("inner", "long", c.GLOVE_INNER),
        "inner-gloves-standard": _gloves("inner", "standard", c.GLOVE_INNER),
        "middle-gloves-long": _gloves("middle", "long", c.GLOVE_MIDDLE),
        "outer-gloves-long": _gloves("outer", "long", c.GLOVE_OUTER),
        "gloves-long": _gloves("single", "long", c.GLOVE_SINGLE),
        "gloves-standard": _gloves("single", "standard", c.GLOVE_SINGLE),
        "fresh-gloves": _gloves("fresh", "standard", c.GLOVE_FRESH),
        "gown-impermeable": garments.gown,
        "gown-fluid-resistant": garments.gown,
        "gown-isolation": garments.gown,
        "coverall-impermeable": garments.coverall,
        "coverall-fluid-resistant": garments.coverall,
        "coverall-hooded": garments.coverall,
        "apron": apron.apron,
        "surgical-mask": _head(head.mask),
        "respirator-disposable": _head(head.respirator),
        "face-shield": _head(head.shield),
        "goggles": _head(head.goggles),
        "hair-cover": _head(head.hair_cover),
        "surgical-hood": _head(head.hood),
        "papr-hood": _head(powered.hood),
        "papr-hose": powered.hose,
        "papr-belt-unit": powered.belt_unit,
        "papr-helmet": _head(powered.helmet),
        "papr-shroud": _head(powered.shroud),
        "foot-covers-low": feet.foot_covers,
        "boot-covers-high": feet.boot_covers,
    }
)


def drawing(item: str) -> Draw:
    """The drawing of an item; UnknownItem, a KeyError, if there is none."""
    try:
        return DRAWINGS[item]
    except KeyError:
        raise UnknownItem(item, tuple(DRAWINGS)) from None
