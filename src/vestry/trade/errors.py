"""Errors of data: what was wrong, where, and what would be right; all at once.

BadFacts        one or more problems in files of facts, or in a file handed to a command
  .problems     the list of Problem, sorted by file and line
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, order=True)
class Problem:
    """One thing wrong in one file: file name, line (0 when unknown), field path, and what would be right."""

    file: str
    line: int
    field: str
    what: str

    def __str__(self) -> str:
        place = f"{self.file}:{self.line}" if self.line else self.file
        return f"{place}: {self.field}: {self.what}" if self.field else f"{place}: {self.what}"


class BadFacts(ValueError):
    """Data that cannot be accepted. Nothing of it is loaded."""

    def __init__(self, problems: list[Problem]) -> None:
        self.problems = sorted(problems)
        super().__init__("\n".join(str(problem) for problem in self.problems))
