"""The texts that the browser's modules put on the screen, found in their source. tools/messages.py lays them beside
their translations; anteroom/web/say.js looks them up.

Every literal with letters in it is a text, unless where it stands says otherwise (a key, a class, a comparison, the
name of an event), or it is one of the few words of code below. In a table of words (WORDS, SAYS ...), in say(), and as
what an element holds, everything is a text. A text with values stands in a template tagged `phrase`: it is then looked
up as "step {} of {}". A template with words that is not tagged could never be translated: `bare` finds it.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

# Modules that put nothing on the screen: what they say is kept in the record or told to other modules.
SILENT = {
    "chain.js", "fold.js", "handling.js", "interpret.js", "keeping.js", "keys.js", "now.js", "offering.js", "order.js",
    "pin.js", "presses.js", "sending.js", "steady.js", "ticking.js", "turnaround.js",
}  # fmt: skip


def _named(words: str) -> frozenset[str]:
    return frozenset(words.split())


# Words of code that stand where a text could stand.
CODE = _named("""
    abandoned act ahead alternative answer area assistant badge before chargingchange code contam crossing dark
    donning en false gloves held here item items label left levelchange light localhost long longer lost ltr
    middle mirror nearest observed observer other over override person pin placeholder reason receiver relief
    resumed rub short signals site step surfaces then title total trouble true unwell walked who wipe
""")

# Tables whose every value is a text.
_TABLES = {"W", "WORDS", "SAYS", "RUB", "NAMES", "HOW"}

# Calls whose arguments are no texts, and properties whose values are none.
_CALLS = _named("""
    querySelector querySelectorAll getElementById getAttribute setAttribute hasAttribute removeAttribute closest
    matches toggle add addEventListener removeEventListener DOMException createElement createElementNS
    startsWith endsWith includes meta Error register split join replace replaceAll fetch ask matchMedia
    parseFromString getItem setItem press get has drawing NumberFormat PluralRules ListFormat DateTimeFormat
    objectStore transaction importKey deriveBits encode setMeta choose indexedDB open contains remove request
""")
_KEYS = _named("""
    class id href type name for role press edge hour minute sort kind cache press said name autocapitalize inputmode
    autocomplete maxlength src rel lang dir says view part phase act course status scope behavior
    credentials redirect style hash item check how
""")
_COMPARED = {"===", "!==", "==", "!=", "case", "from", "import", "in"}
_TOKEN = re.compile(
    r"""(?P<space>\s+|//[^\n]*|/\*.*?\*/)|(?P<string>"(?:[^"\\\n]|\\.)*"|'(?:[^'\\\n]|\\.)*')|(?P<word>[A-Za-z_$#][\w$]*)"""
    r"|(?P<number>\d[\w.]*)|(?P<sign>===|!==|=>|==|!=|\?\?|\?\.|&&|\|\||\.\.\.|[^\w\s])",
    re.S,
)
_ADDRESS = re.compile(r"\.{0,2}/|[#.<\[?]|https?:|vestry-|image/|text/|application/|act (?:\w+|\{\})$|M[\d-]")
_PATTERN = re.compile(r"/(?:[^/\\\n\[]|\\.|\[(?:[^\]\\\n]|\\.)*\])+/[a-z]*")


@dataclass
class Token:
    """A piece of source: a word, a sign, a string, or a template (text with {} for its gaps)."""

    sort: str
    text: str
    at: int
    gaps: list[list[Token]] = field(default_factory=list)


def tokens(source: str, at: int = 0) -> list[Token]:
    """The tokens of a module, or of what stands in the gap of a template."""
    return _read(source, at, ends_at_brace=False)[0]


def _read(source: str, at: int, *, ends_at_brace: bool) -> tuple[list[Token], int]:
    found: list[Token] = []
    depth = 0
    while at < len(source):
        if source[at] == "`":
            token, at = _template(source, at)
            found.append(token)
            continue
        last = found[-1] if found else None
        if source[at] == "/" and (last is None or last.text in {*"(,=:[!&|?{};", "return", "=>", "&&", "||", "??"}):
            pattern = _PATTERN.match(source, at)
            if pattern and not source.startswith(("//", "/*"), at):
                found.append(Token("pattern", pattern[0], at))
                at = pattern.end()
                continue
        match = _TOKEN.match(source, at)
        if match is None:
            raise SyntaxError(f"not read at {at}: {source[at : at + 30]!r}")
        if match.lastgroup == "sign":
            depth += {"{": 1, "}": -1}.get(match[0], 0)
            if ends_at_brace and depth < 0:
                return found, match.end()
        if match.lastgroup == "string":
            found.append(Token("string", _said(match[0]), at))
        elif match.lastgroup != "space":
            found.append(Token(str(match.lastgroup), match[0], at))
        at = match.end()
    return found, at


def _said(literal: str) -> str:
    return str(json.loads(literal)) if literal.startswith('"') else literal[1:-1].replace("\\'", "'")


def _template(source: str, start: int) -> tuple[Token, int]:
    token, at = Token("template", "", start), start + 1
    while source[at] != "`":
        if source.startswith("${", at):
            gap, at = _read(source, at + 2, ends_at_brace=True)
            token.gaps.append(gap)
            token.text += "{}"
        elif source[at] == "\\":
            token.text, at = token.text + source[at + 1], at + 2
        else:
            token.text, at = token.text + source[at], at + 1
    return token, at + 1


@dataclass
class _Within:
    """What a bracket belongs to: the call it opens, the key whose value is read, how many commas passed."""

    sign: str
    call: str = ""
    table: bool = False
    key: str = ""
    place: int = 0


def literals(
    found: list[Token], outer: tuple[_Within, ...] = (), *, tagged: bool = True
) -> Iterator[tuple[Token, str]]:
    """Each string and template with what it is by where it stands: "text", "code", or "" where that does not say it."""
    open_: list[_Within] = list(outer) or [_Within("")]
    for place, token in enumerate(found):
        before = found[place - 1] if place else Token("sign", "", 0)
        after = found[place + 1] if place + 1 < len(found) else Token("sign", "", 0)
        if token.sort == "sign":
            if token.text in "([{":
                name = before.text if token.text == "(" and before.sort == "word" else ""
                named = found[place - 2].text if place > 1 and before.text == "=" else ""
                open_.append(_Within(token.text, call=name, table=named in _TABLES))
            elif token.text in ")]}" and len(open_) > 1:
                open_.pop()
            elif token.text == "," and open_:
                open_[-1].key, open_[-1].place = "", open_[-1].place + 1
            elif token.text == ":" and before.sort in ("word", "string") and open_[-1].sign == "{":
                earlier = found[place - 2].text if place > 1 else ""
                if earlier in ("{", ","):
                    open_[-1].key = before.text
            continue
        if token.sort in ("string", "template") and (tagged or before.text != "phrase"):
            yield token, _sort(token, before, after, open_)
        for gap in token.gaps:
            yield from literals(gap, tuple(open_), tagged=tagged)


def _sort(token: Token, before: Token, after: Token, open_: list[_Within]) -> str:
    inner = open_[-1]
    if before.text == "phrase":
        return "text"
    if before.text in _COMPARED or after.text in {"===", "!==", "==", "!="}:
        return "code"
    if inner.sign == "{" and after.text == ":" and before.text in ("{", ","):
        return "code"  # a key
    if inner.sign == "[" and before.text == "[" and after.text == "]" and len(open_) == 1:
        return "code"  # an index
    if any(one.table for one in open_):
        return "text"
    if inner.call in ("say", "sayMany") or (inner.call == "h" and inner.place > 1):
        return "text"
    if inner.call in _CALLS or (inner.call == "h" and inner.place == 0):
        return "code"
    if inner.call in ("button", "key", "press") and inner.place == (0 if inner.call == "press" else 1):
        return "code"  # what a key says in the record; its words come after it
    if any(one.sign == "{" and (one.key in _KEYS or one.key.startswith("data-")) for one in open_[-2:]):
        return "code"
    return ""


def _words(text: str) -> str:
    return text.replace("{}", " ").strip()


def _has_letters(text: str) -> bool:
    return bool(re.search(r"[^\W\d_]{2,}", _words(text)))


def _marked_up(text: str) -> bool:
    return bool(re.search(r'="|</|/>', text))


def _is_code(text: str) -> bool:
    return bool(
        not _has_letters(text)
        or _marked_up(text)
        or text in CODE
        or re.fullmatch(r"[a-z0-9]+(?:[-_.:/][a-z0-9{}]+)+[/:]?", text.strip())
        or _ADDRESS.match(text.strip())
    )


def texts_of(source: str) -> list[str]:
    """The texts of one module."""
    return [token.text for token, sort in literals(tokens(source)) if _is_text(token, sort)]


def _is_text(token: Token, sort: str) -> bool:
    if sort == "text":
        return _has_letters(token.text) and not _marked_up(token.text)
    return sort == "" and token.sort == "string" and not _is_code(token.text)


def bare(source: str) -> list[str]:
    """Texts with values that nothing looks up."""
    return [
        token.text
        for token, sort in literals(tokens(source), tagged=False)
        if token.sort == "template" and sort != "code" and not _is_code(token.text)
    ]


def speaking(folder: Path) -> list[Path]:
    """The modules that put texts on the screen."""
    return [path for path in sorted(folder.glob("*.js")) if path.name not in SILENT]


def in_modules(folder: Path) -> dict[str, set[str]]:
    """Every text with the modules in which it stands."""
    found: dict[str, set[str]] = {}
    for path in speaking(folder):
        for text in texts_of(path.read_text("utf-8")):
            found.setdefault(text, set()).add(path.name)
    return found
