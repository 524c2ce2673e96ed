"""The one module that reads files: those shipped inside this package. Others ask it for text."""

from __future__ import annotations

from functools import lru_cache
from importlib import resources


def shipped_texts(folder: str = "") -> dict[str, str]:
    """The TOML files of a folder under data/, name to text, in order of name."""
    place = resources.files("vestry.trade") / "data"
    for part in filter(None, folder.split("/")):
        place = place / part
    files = sorted((entry for entry in place.iterdir() if entry.name.endswith(".toml")), key=lambda entry: entry.name)
    return {entry.name: entry.read_text("utf-8") for entry in files}


@lru_cache
def shipped_folders(folder: str) -> tuple[str, ...]:
    """The names of the folders in a folder under data/, in order."""
    place = resources.files("vestry.trade") / "data" / folder
    return tuple(sorted(entry.name for entry in place.iterdir() if entry.is_dir()))
