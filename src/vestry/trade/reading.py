"""Text of a TOML or JSON file in, a validated value out; every problem named with its line.

Nothing here opens a file: the caller passes the text. Depth and size are bounded before parsing, so that a hostile
file costs no more than reading it.
"""

from __future__ import annotations

import json
import tomllib
from collections.abc import Iterator
from typing import Any, TypeVar

import tree_sitter
import tree_sitter_toml
from pydantic import BaseModel, ValidationError

from vestry.trade.errors import BadFacts, Problem

MAX_CHARACTERS = 2_000_000
MAX_DEPTH = 24

Model = TypeVar("Model", bound=BaseModel)
Path = tuple[str | int, ...]

_LANGUAGE = tree_sitter.Language(tree_sitter_toml.language())


def decode(raw: bytes, file: str) -> str:
    """Bytes of a file as text. BadFacts when it is too large or not UTF-8."""
    if len(raw) > MAX_CHARACTERS:
        raise BadFacts([Problem(file, 0, "", f"the file is too large ({len(raw)} bytes; at most {MAX_CHARACTERS})")])
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = raw.count(b"\n", 0, error.start) + 1
        raise BadFacts([Problem(file, line, "", "not UTF-8 text; save the file as UTF-8")]) from None


def parse(text: str, file: str) -> tuple[dict[str, Any], dict[Path, int]]:
    """The document as plain values, and the line of each key path (empty for JSON)."""
    if len(text) > MAX_CHARACTERS:
        raise BadFacts([Problem(file, 0, "", f"the file is too large (at most {MAX_CHARACTERS} characters)")])
    _refuse_deep(text, file)
    if file.endswith(".json") or text.lstrip()[:1] == "{":
        return _parse_json(text, file), {}
    try:
        document = tomllib.loads(text)
    except (tomllib.TOMLDecodeError, RecursionError) as error:
        raise BadFacts([_toml_problem(error, file)]) from None
    return document, _line_map(text)


def validate(model: type[Model], document: object, file: str, lines: dict[Path, int]) -> Model:
    """`document` as a `model`; BadFacts with all problems, each with its line, when it does not fit."""
    try:
        return model.model_validate(document, strict=False)
    except ValidationError as error:
        raise BadFacts([_problem(one, file, lines) for one in error.errors()]) from None


def read(model: type[Model], text: str, file: str) -> Model:
    """Parse and validate in one call."""
    document, lines = parse(text, file)
    return validate(model, document, file, lines)


def line_of(lines: dict[Path, int], path: Path) -> int:
    """The line of a key path, or of its nearest parent; 0 when nothing is known."""
    while path:
        if path in lines:
            return lines[path]
        path = path[:-1]
    return 0


def _problem(error: Any, file: str, lines: dict[Path, int]) -> Problem:
    path = tuple(error["loc"])
    field = ".".join(str(part) for part in path)
    got = error.get("input")
    shown = "" if isinstance(got, dict | list) or error["type"] == "missing" else f" (got {str(got)[:60]!r})"
    return Problem(file, line_of(lines, path), field, error["msg"] + shown)


def _parse_json(text: str, file: str) -> dict[str, Any]:
    def no_repeats(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
        found: dict[str, Any] = {}
        for key, value in pairs:
            if key in found:
                raise BadFacts([Problem(file, 0, key, "the key stands twice in one object")])
            found[key] = value
        return found

    try:
        document = json.loads(text, object_pairs_hook=no_repeats)
    except json.JSONDecodeError as error:
        raise BadFacts([Problem(file, error.lineno, "", f"not JSON: {error.msg}")]) from None
    except (RecursionError, ValueError) as error:
        if isinstance(error, BadFacts):
            raise
        raise BadFacts([Problem(file, 0, "", "not JSON that can be read")]) from None
    if not isinstance(document, dict):
        raise BadFacts([Problem(file, 1, "", "the file must hold one object")])
    return document


def _toml_problem(error: Exception, file: str) -> Problem:
    message = str(error)
    line = 0
    if "line " in message:
        digits = message.rsplit("line ", 1)[1].split(",")[0].split(")")[0]
        line = int(digits) if digits.isdigit() else 0
    return Problem(file, line, "", f"not TOML: {message or 'nested too deeply'}")


def _refuse_deep(text: str, file: str) -> None:
    depth = deepest = 0
    for character in text:
        if character in "[{":
            depth += 1
            deepest = max(deepest, depth)
        elif character in "]}":
            depth = max(0, depth - 1)
    if deepest > MAX_DEPTH:
        raise BadFacts([Problem(file, 0, "", f"nested {deepest} deep; at most {MAX_DEPTH}")])


def _line_map(text: str) -> dict[Path, int]:
    tree = tree_sitter.Parser(_LANGUAGE).parse(text.encode())
    lines: dict[Path, int] = {}
    counts: dict[Path, int] = {}
    for node in tree.root_node.children:
        if node.type == "pair":
            _pair(node, (), lines)
        elif node.type in ("table", "table_array_element"):
            base = _table_base(node, counts)
            lines[base] = node.start_point[0] + 1
            for child in node.children:
                if child.type == "pair":
                    _pair(child, base, lines)
    return lines


def _table_base(node: Any, counts: dict[Path, int]) -> Path:
    key = next(child for child in node.children if child.type in ("bare_key", "quoted_key", "dotted_key"))
    path: Path = ()
    for part in _key_parts(key):
        path = (*path, part)
        if path in counts and not (node.type == "table_array_element" and path == tuple(_key_parts(key))):
            path = (*path, counts[path])
    if node.type == "table_array_element":
        counts[path] = counts.get(path, -1) + 1
        path = (*path, counts[path])
    return path


def _key_parts(node: Any) -> Iterator[str]:
    if node.type == "dotted_key":
        for child in node.children:
            if child.type in ("bare_key", "quoted_key", "dotted_key"):
                yield from _key_parts(child)
    else:
        yield node.text.decode().strip("\"'")


def _pair(node: Any, base: Path, lines: dict[Path, int]) -> None:
    path = (*base, *_key_parts(node.children[0]))
    lines[path] = node.start_point[0] + 1
    _value(node.children[-1], path, lines)


def _value(node: Any, path: Path, lines: dict[Path, int]) -> None:
    lines.setdefault(path, node.start_point[0] + 1)
    if node.type == "array":
        index = 0
        for child in node.children:
            if child.type in ("[", "]", ",", "comment"):
                continue
            lines[(*path, index)] = child.start_point[0] + 1
            _value(child, (*path, index), lines)
            index += 1
    elif node.type == "inline_table":
        for child in node.children:
            if child.type == "pair":
                _pair(child, path, lines)
