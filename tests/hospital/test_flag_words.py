"""Whatever the fold flags is told in words of the page's language, not in the fold's own English."""

from __future__ import annotations

import ast
from pathlib import Path

import vestry.entry
from vestry.hospital.record.flag_words import FILLED, FLAG_WORDS, flag_told

FOLD = Path(vestry.entry.__file__).parent


def flagged() -> set[str]:
    """Every text that the fold flags with; what is filled in stands as {}."""
    found: set[str] = set()
    for path in FOLD.glob("*.py"):
        for node in ast.walk(ast.parse(path.read_text("utf-8"))):
            if isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute) and node.func.attr == "flag":
                found |= texts(node.args[1]) if len(node.args) == 2 else set()
    return found


def texts(said: ast.expr) -> set[str]:
    if isinstance(said, ast.IfExp):
        return texts(said.body) | texts(said.orelse)
    if isinstance(said, ast.JoinedStr):
        return {"".join(str(one.value) if isinstance(one, ast.Constant) else "{}" for one in said.values)}
    assert isinstance(said, ast.Constant), ast.dump(said)
    return {str(said.value)}


def test_every_flag_has_words():
    assert flagged() == {*FLAG_WORDS, *(said for said, _, _ in FILLED)}


def test_what_a_flag_speaks_of_is_told_too():
    assert flag_told("closed with the observer's own way out neither done nor left out") == (
        "closed with the own way out of the trained observer neither done nor left out"
    )
    assert flag_told("went in before signals were checked") == "went in before this: signals were checked"
    assert flag_told("of a later version") == "of a later version"
