"""From content to pages: typst, with our own template and fonts, as PDF/UA-1."""

from __future__ import annotations

import json
from collections.abc import Sequence
from functools import lru_cache
from typing import Any

import typst

from vestry.papers.answers import Led
from vestry.papers.beside import Beside
from vestry.papers.labelled import labels_of
from vestry.papers.labels import Labels
from vestry.papers.sheet import KINDS, Approval, Kind, sheet_content
from vestry.papers.shipped import font_folder, template
from vestry.sequence import Assurance, Plan
from vestry.trade import Catalogue
from vestry.trade.words import Words


class CannotPrint(ValueError):
    """What is to be printed cannot be: a sign that no shipped font has, for instance. The message says what."""


def sheet_pdf(
    plan: Plan,
    assurance: Assurance,
    words: Words,
    catalogue: Catalogue,
    approval: Approval | None,
    *,
    kinds: Sequence[Kind] = KINDS,
    unit: str = "",
    printed_on: str | None = None,
    call: str = "",
    answers: Sequence[Led] = (),
    labels: Labels | None = None,
    beside: Beside | None = None,
) -> bytes:
    """The sheets of a plan as PDF/UA-1: a front, then donning and doffing as asked. Same input, same bytes.

    unit         printed when there is no approval that names one
    printed_on   the day, as text; there is no clock here
    call         whom to call after a STOP; left as a line to fill in by hand when empty
    answers      the approved answers, printed in compact form after the sheets
    beside       a last page with the unit's own short texts
    CannotPrint when the fonts lack a sign; NotOfThisPlan when the assurance is of another plan.
    """
    labels = labels or labels_of(words)
    content = sheet_content(
        plan, assurance, words, catalogue, approval, labels, kinds, unit, printed_on, call, answers, beside
    )
    return pdf(content)


def sheet_pages_png(content: dict[str, Any], ppi: int = 60, source: bytes | None = None) -> tuple[bytes, ...]:
    """The pages of `sheet_content` as PNG, to look at; `source` is another template's."""
    try:
        # As typed, always one picture; in truth a list where there are several pages.
        pages: Any = typst.compile(
            source or template(), format="png", ppi=ppi, font_paths=_fonts(), sys_inputs={"data": json.dumps(content)}
        )
    except typst.TypstError as problem:
        raise CannotPrint(problem.message) from problem
    return tuple(pages) if isinstance(pages, list) else (pages,)


def pdf(content: Any, source: bytes | None = None) -> bytes:
    """Content as PDF/UA-1; `source` is another template's.

    A warning of the typesetter counts as a failure: a sheet with a hole in it is none.
    """
    try:
        pages, warnings = typst.compile_with_warnings(
            source or template(),
            format="pdf",
            font_paths=_fonts(),
            pdf_standards="ua-1",
            sys_inputs={"data": json.dumps(content)},
        )
    except typst.TypstError as problem:
        raise CannotPrint(problem.message) from problem
    if warnings:
        raise CannotPrint("; ".join(str(warning) for warning in warnings))
    return pages


_TRIAL = b"""#let data = json(bytes(sys.inputs.data))
#set document(title: "-")
#set text(font: "Atkinson Hyperlegible Next")
#for line in data [#line #parbreak()]
"""


def unprintable(lines: Sequence[str]) -> tuple[int, ...]:
    """The places, from 0, of the lines with a sign that the paper's typefaces lack: such a line stops a whole sheet."""

    def fails(some: Sequence[str]) -> bool:
        try:
            pdf(list(some), _TRIAL)
        except CannotPrint:
            return True
        return False

    return tuple(place for place, line in enumerate(lines) if fails([line])) if lines and fails(lines) else ()


@lru_cache(maxsize=1)
def _fonts() -> typst.Fonts:
    """Our fonts and those inside typst, never the machine's: the pages are the same everywhere."""
    return typst.Fonts(include_system_fonts=False, include_embedded_fonts=True, font_paths=[font_folder()])
