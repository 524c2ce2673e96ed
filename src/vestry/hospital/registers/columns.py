"""The sorts of list that can be imported, with their columns (docs/reference/register-files.md says what they mean)."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass


@dataclass(frozen=True)
class Column:
    """One column: its name and whether it must be there."""

    name: str
    needed: bool = False


@dataclass(frozen=True)
class Sort:
    """One sort of list."""

    name: str
    title: str
    columns: tuple[Column, ...]


SORTS: Mapping[str, Sort] = {
    one.name: one
    for one in (
        Sort(
            "people",
            "People",
            (
                Column("code", True),
                Column("name", True),
                Column("sign-in"),
                Column("parts"),
                Column("height-mm"),
                Column("hand-mm"),
                Column("hand-length-mm"),
                Column("gloves"),
                Column("gown"),
                Column("coverall"),
                Column("boots"),
            ),
        ),
        Sort(
            "competencies",
            "Competencies",
            (Column("code", True), Column("in", True), Column("as", True), Column("on", True), Column("months")),
        ),
        Sort(
            "fit-tests",
            "Fit tests",
            (
                Column("code", True),
                Column("respirator", True),
                Column("model", True),
                Column("size", True),
                Column("class"),
                Column("system", True),
                Column("method", True),
                Column("on", True),
                Column("factors"),
                Column("overall"),
                Column("passed"),
                Column("months"),
            ),
        ),
        Sort(
            "clearances",
            "Clearances for a respirator",
            (Column("code", True), Column("cleared", True), Column("on", True), Column("until")),
        ),
        Sort(
            "stock",
            "Stock",
            (
                Column("item", True),
                Column("size", True),
                Column("lot", True),
                Column("expiry"),
                Column("quantity", True),
                Column("place", True),
                Column("gtin"),
                Column("model"),
                Column("back-length-mm"),
                Column("per-scan"),
            ),
        ),
        Sort(
            "rota",
            "Rota",
            (
                Column("person", True),
                Column("date", True),
                Column("shift"),
                Column("from"),
                Column("to"),
                Column("role"),
            ),
        ),
    )
}
