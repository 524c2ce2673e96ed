"""The texts that the tablet puts on the screen, found in the source of its modules. tools/messages.py lays them
beside their translations; anteroom/web/say.js looks a text up when an element is made of it.

A literal counts as a text when it reads like one: words with a space or a capital, not a class, a key, an address or a
drawing. A template literal is a text with gaps: `step ${n} of ${count}` is "step {} of {}".
"""

from __future__ import annotations

import json
import re
from pathlib import Path

# Modules that put nothing on the screen: what they say is kept in the record or told to other modules.
SILENT = {
    "chain.js", "fold.js", "handling.js", "interpret.js", "keeping.js", "now.js", "offering.js", "order.js", "pin.js",
    "presses.js", "say.js", "sending.js", "steady.js", "ticking.js", "turnaround.js",
}  # fmt: skip
_NOT = re.compile(
    r"(?:(?:from|import)|(?:class|id|href|type|name|for|role|press|edge|hour|minute|reason|note|site|sort|kind|cache|says"
    r'|"data-[\w-]+")\s*:|(?:class|id)\s*:\s*[^,{}()]*[?:]'
    r"|(?:querySelector(?:All)?|getElementById|[gs]etAttribute|hasAttribute|removeAttribute|closest|matches|toggle"
    r"|addEventListener|DOMException|createElement|startsWith|endsWith|includes|meta|Error|register|split|join|replace"
    r"|fetch|ask|matchMedia|parseFromString|toLocaleTimeString|getItem|setItem|press|get|has|drawing)\(|===|!==|case)\s*$"
)
_STRING = re.compile(r'"(?:[^"\\\n]|\\.)*"')


def _literals(source: str) -> list[tuple[int, int, str]]:
    """Where each literal begins and ends, and its text, gaps as {}; those inside the gaps of another too."""
    found, place = [], 0
    while place < len(source):
        if source[place] == '"' and (string := _STRING.match(source, place)):
            found.append((place, string.end(), json.loads(string[0])))
            place = string.end()
        elif source[place] == "`":
            end, text, inner = _template(source, place)
            found += [(place, end, text), *((place + at, place + until, one) for at, until, one in inner)]
            place = end
        else:
            place += 1
    return found


def _template(source: str, start: int) -> tuple[int, str, list[tuple[int, int, str]]]:
    text, inner, place = "", [], start + 1
    while source[place] != "`":
        if source.startswith("${", place):
            gap, depth, place = place + 2, 1, place + 2
            while depth:
                if source[place] == "`":
                    place = _template(source, place)[0]
                    continue
                depth += {"{": 1, "}": -1}.get(source[place], 0)
                place += 1
            inner += [(gap - start + at, gap - start + to, one) for at, to, one in _literals(source[gap : place - 1])]
            text += "{}"
        else:
            text, place = text + source[place], place + 1
    return place + 1, text, inner


def texts_of(source: str) -> list[str]:
    """The texts of one module."""
    source = re.sub(r"^\s*(?://|\*|/\*).*$", "", source, flags=re.M)
    found = []
    for start, end, text in _literals(source):
        before = source[max(0, start - 90) : start].replace("\n", " ")
        if not _NOT.search(before) and _reads(text) and source[end : end + 1] != ":":
            found.append(text)
    return found


def _reads(text: str) -> bool:
    words = text.replace("{}", " ").strip()
    if not re.search(r"[A-Za-z]{2,}", words) or re.match(r"[/#.<]|http|vestry-|image/|xmlns|application/", words):
        return False
    if re.search(r"[<>=]|^\(|^act\b", words):
        return False
    return bool(
        re.match(r"[A-Z][a-z]|[A-Z]{2,}$", words)
        or re.search(r"[a-z]{2,} [a-z]{2,}|^[a-z]+ $|^ [a-z]", text)
        or "{}" in text
    )


def in_modules(folder: Path) -> dict[str, set[str]]:
    """Every text with the modules in which it stands."""
    found: dict[str, set[str]] = {}
    for path in sorted(folder.glob("*.js")):
        if path.name not in SILENT:
            for text in texts_of(path.read_text("utf-8")):
                found.setdefault(text, set()).add(path.name)
    return found
