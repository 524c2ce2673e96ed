"""The one module of this room that reads a file: its own templates. The fonts beside it are read by typst."""

from __future__ import annotations

from importlib import resources

_ROOM = resources.files("vestry.papers")


def template() -> bytes:
    """The typst source of the sheets."""
    return (_ROOM / "template.typ").read_bytes()


def report_template() -> bytes:
    """The typst source of the reports for the desk."""
    return (_ROOM / "report.typ").read_bytes()


def book_template() -> bytes:
    """The typst source of the procedure book."""
    return (_ROOM / "book.typ").read_bytes()


def all_clear_template() -> bytes:
    """The typst source of the papers for those who were inside."""
    return (_ROOM / "all-clear.typ").read_bytes()


def posted_template() -> bytes:
    """The typst source of the papers that hang where they are used."""
    return (_ROOM / "posted.typ").read_bytes()


def font_folder() -> str:
    """Where the shipped fonts stand."""
    return str(_ROOM / "fonts")
