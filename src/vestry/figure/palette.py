"""The colours and line weights of the figure, by role.

Ink for lines and text, plum for where to act, oxide for what may be contaminated and nothing else.
Fills differ in lightness too, so that a grey print still tells skin, glove, gown and hood apart.
"""

from __future__ import annotations

from typing import Final

INK: Final = "#1B2230"
INK_SOFT: Final = "#4A5160"
PAPER: Final = "#F6F2EA"
LIFT: Final = "#FCFAF5"
PLUM: Final = "#5B2A4E"
OXIDE: Final = "#8A2F1C"

SKIN: Final = "#C89A76"
HAIR: Final = "#3B302E"
HAIR_HATCHED: Final = "#BCA79B"
UNDER: Final = "#E4DED2"
SCRUB: Final = "#A9B7C3"
SHOE: Final = "#9AA2AC"
BOOT: Final = "#A3B0A9"
SOLE: Final = "#959EA8"

GOWN: Final = "#F1EFE6"
GOWN_FLUID: Final = "#E3E9EA"
GOWN_ISOLATION: Final = "#F2E9CF"
COVERALL: Final = "#F4F2EC"
COVERALL_FLUID: Final = "#E2E8EA"
KNIT: Final = "#DCD6C8"
APRON: Final = "#CBD8DC"

GLOVE_INNER: Final = "#D9C3D4"
GLOVE_MIDDLE: Final = "#C6CFAF"
GLOVE_OUTER: Final = "#A9BACA"
GLOVE_SINGLE: Final = "#B9C6D6"
GLOVE_FRESH: Final = "#EADFEA"

MASK: Final = "#DCE7EA"
RESPIRATOR: Final = "#FBF8F0"
CAP: Final = "#D3DDDA"
HOOD: Final = "#CFDBDD"
BAND: Final = "#C9CFD2"
STRAP: Final = "#FBF8F0"
GLASS: Final = "#FFFFFF"
POWER: Final = "#98A2AE"
POWER_LIGHT: Final = "#C6CCD2"
HELMET: Final = "#E6E3DA"
SHROUD: Final = "#DDE6E6"
FOOT_COVER: Final = "#DDE0DB"
SEAT: Final = "#E2DACB"

CONTOUR: Final = 2.6
LINE: Final = 2.0
DETAIL: Final = 1.5
FONT: Final = "Atkinson Hyperlegible Next, Atkinson Hyperlegible, sans-serif"
