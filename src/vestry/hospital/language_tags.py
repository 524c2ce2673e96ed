"""Which languages there are, for the settings: read before Django is set up, so nothing of it is asked here."""

from __future__ import annotations

import tomllib
from pathlib import Path

from vestry.trade.shipped import shipped_folders, shipped_texts


def languages_of(own: Path | None) -> tuple[list[tuple[str, str]], list[str]]:
    """Tags with names of all languages, ours and a hospital's own; and those that run from right to left."""
    said = {tag: shipped_texts(f"words/{tag}")["language.toml"] for tag in shipped_folders("words")}
    if own is not None and own.is_dir():
        for path in sorted(own.glob("*/words/language.toml")):
            said[path.parent.parent.name] = path.read_text("utf-8")
    read = {tag: tomllib.loads(text)["language"] for tag, text in said.items()}
    return [(tag, one["name"]) for tag, one in read.items()], [
        t for t, one in read.items() if one["direction"] == "rtl"
    ]
