"""A language that nobody speaks, for looking at the layout: runs from right to left, and is longer by two fifths.

    python -m tools.pseudo_language FOLDER    lay it into a hospital's folder of languages (VESTRY_DATA/languages)

Made from the English sources at each run. Its letters are Latin ones that are forced to run backwards, so that a reader
of English can still find the way; placeholders, tags and entities stay as they are.
"""

from __future__ import annotations

import json
import re
import sys
from pathlib import Path
from typing import Any

from babel.messages.catalog import Catalog
from tools.messages import as_mo, gathered, in_tablet

from vestry.trade.shipped import shipped_texts

TAG = "und"
NAME = "Rightward"
BACKWARDS, END = "\u202e", "\u202c"
LONGER = 0.4
KEPT = re.compile(r"(%\(\w+\)[sg]|%%|\{\w*\}|<[^>]*>|&\w+;|\n)")
_LINE = re.compile(r'^(\s*(?:(?:"[^"]+"|[\w-]+)\s*=\s*)?)"((?:[^"\\]|\\.)*)"(,?)\s*$')


def pseudo(text: str) -> str:
    """A text that runs backwards and is longer; what is put into it stays whole."""
    letters = len(KEPT.sub("", text))
    if not re.search(r"[A-Za-z]", KEPT.sub("", text)):
        return text
    more = " " + "loremipsum"[: max(1, round(letters * LONGER))] if letters < 24 else _padding(round(letters * LONGER))
    parts = [one if KEPT.fullmatch(one) else f"{BACKWARDS}{one}{END}" for one in KEPT.split(text) if one]
    return "".join(parts) + f"{BACKWARDS}{more}{END}"


def _padding(count: int) -> str:
    words = ["lorem", "ipsum", "dolor", "sit", "amet", ""]
    text = ""
    while len(text) < count:
        text += " " + words[len(text) % 5 or 1]
    return text[:count]


def words_files() -> dict[str, str]:
    """The files of words, each text made so."""
    files = {}
    for name, source in shipped_texts("words/en").items():
        if name == "language.toml":
            continue
        lines = []
        for line in source.splitlines():
            found = _LINE.match(line)
            if found and not line.startswith("#") and not line.startswith("aliases"):
                text = json.loads(f'"{found[2]}"')
                line = f"{found[1]}{json.dumps(pseudo(text))}{found[3]}"
            lines.append(line)
        files[name] = "\n".join(lines) + "\n"
    files["language.toml"] = (
        f'format-version = 1\n\n[language]\ntag = "{TAG}"\nname = "{NAME}"\ndirection = "rtl"\nstatus = "draft"\n'
    )
    return files


def catalogue() -> Catalog:
    """The texts of the pages, each made so."""
    made = Catalog(locale="en", charset="utf-8")
    for message in gathered():
        said: Any = pseudo(message[0]) if len(message) == 1 else tuple(pseudo(one) for one in message)
        made.add(message if len(message) == 2 else message[0], said)
    return made


def lay(folder: Path) -> None:
    """Write it as a hospital's own language."""
    place = folder / TAG
    (place / "words").mkdir(parents=True, exist_ok=True)
    (place / "LC_MESSAGES").mkdir(exist_ok=True)
    for name, text in words_files().items():
        (place / "words" / name).write_text(text, "utf-8")
    (place / "LC_MESSAGES" / "django.mo").write_bytes(as_mo(catalogue()))
    texts = {text: pseudo(text) for text in in_tablet()}
    (place / "tablet.json").write_text(json.dumps(texts, ensure_ascii=False), "utf-8")


if __name__ == "__main__":
    lay(Path(sys.argv[1]))
