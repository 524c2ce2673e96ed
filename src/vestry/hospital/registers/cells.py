"""One row of a list being read: cell by cell to values, with everything that is wrong gathered and nothing raised."""

from __future__ import annotations

import datetime
import unicodedata
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any

from pydantic import ValidationError

from vestry.hospital.registers.files import Row
from vestry.people import SHAPES
from vestry.trade.tables import BadCell, DateOrder, RowProblem, read_date, read_whole
from vestry.trade.told import told


def plain(text: str) -> str:
    """A text as it is compared: one form of each letter, small, single spaces."""
    return " ".join(unicodedata.normalize("NFKC", text).casefold().split())


@dataclass
class Cells:
    """One row being read: what is wrong is gathered, never raised."""

    row: Row
    order: DateOrder
    problems: list[RowProblem] = field(default_factory=list)

    def wrong(self, column: str, what: str) -> None:
        self.problems.append(RowProblem(self.row.line, column, what))

    def text(self, column: str) -> str:
        return self.row.cells.get(column, "")

    def _read(self, column: str, read: Callable[[str], Any]) -> Any:
        text = self.text(column)
        if not text:
            return None
        try:
            return read(text)
        except BadCell as bad:
            self.wrong(column, bad.what)
            return None

    def date(self, column: str) -> datetime.date | None:
        day: datetime.date | None = self._read(column, lambda text: read_date(text, self.order))
        return day

    def whole(self, column: str, least: int, most: int) -> int | None:
        number: int | None = self._read(column, lambda text: read_whole(text, least, most))
        return number

    def one_of(self, column: str, known: Mapping[str, str]) -> str | None:
        """What stands there, by the id or the name of something known."""
        text = self.text(column)
        if not text:
            return None
        found = known.get(plain(text))
        if found is None:
            choices = sorted(set(known.values()))
            shown = told("; one of %(choices)s", choices=", ".join(choices)) if len(choices) <= 8 else ""
            self.wrong(column, told("%(text)r is not known here%(shown)s", text=text, shown=shown))
        return found

    def value(self, shape: str, said: Mapping[str, Any]) -> dict[str, Any] | None:
        """A note's value as JSON, where it makes sense and nothing was wrong before."""
        if self.problems:
            return None
        try:
            made = SHAPES[shape].model_validate({key: one for key, one in said.items() if one not in (None, "")})  # type: ignore[index]
        except ValidationError as bad:
            for one in bad.errors():
                column = ".".join(str(part) for part in one["loc"])
                self.wrong(column, str(one["msg"]).removeprefix("Value error, "))
            return None
        return made.model_dump(mode="json", by_alias=True)
