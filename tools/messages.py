"""Texts of pages and forms, and of the tablet's modules: gathered from the source, laid beside their translations.

    python -m tools.messages            bring every catalogue up to date, and make the compiled ones anew
    python -m tools.messages --check    1 when a catalogue is not what the source asks for; changes nothing
    python -m tools.messages --missing  the texts that a language lacks still

Needs Babel, a development package; GNU gettext is not needed. A text that is new stands in the catalogue
with an empty translation, and the tests fail for a complete language until it has one.
"""

from __future__ import annotations

import argparse
import ast
import io
import json
import os
import sys
from collections.abc import Iterable, Iterator
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from babel.messages.catalog import Catalog
from babel.messages.mofile import write_mo
from babel.messages.pofile import read_po, write_po
from tools.tablet_texts import in_modules as in_modules_of_tablet

ROOT = Path(__file__).parent.parent
SHELL = ROOT / "src" / "vestry" / "hospital"
TRADE = ROOT / "src" / "vestry" / "trade"  # what is told there keeps apart what is filled in (trade/told.py)
TEMPLATES = SHELL / "templates"
LOCALE = SHELL / "locale"
TABLET = SHELL / "anteroom" / "web"
TABLET_LANGUAGES = SHELL / "anteroom" / "languages"
MADE = datetime(2026, 1, 1, tzinfo=UTC)
HEADER = "# Texts of Vestry's pages in {language}. Made by tools/messages.py; translations are written in by hand.\n"

Message = tuple[str, ...]  # (text,) or (one, many)


# ---- pages ----


def in_templates(folder: Path = TEMPLATES) -> Iterator[tuple[Message, str]]:
    """Every text of the templates with the file it stands in, as Django asks gettext for it."""
    from django.template import engines

    engine: Any = engines["django"].engine
    for path in sorted(folder.rglob("*.html")):
        place = path.relative_to(folder).as_posix()
        template = engine.from_string(path.read_text("utf-8"))
        for message in _of_nodes(template.nodelist):
            yield message, f"templates/{place}"


def _of_nodes(nodes: Iterable[Any]) -> Iterator[Message]:
    from django.templatetags.i18n import BlockTranslateNode, TranslateNode

    for node in nodes:
        if isinstance(node, TranslateNode):
            yield (_percent(str(node.filter_expression.var.literal)),)
        elif isinstance(node, BlockTranslateNode):
            one, _ = node.render_token_list(node.singular)
            if node.plural:
                yield _trimmed(node, one), _trimmed(node, node.render_token_list(node.plural)[0])
            else:
                yield (_trimmed(node, one),)
        yield from ((text,) for text in _of_filters(node))
        for name in getattr(node, "child_nodelists", ()):
            yield from _of_nodes(getattr(node, name, ()) or ())
        for _, block in getattr(node, "conditions_nodelists", ()):
            yield from _of_nodes(block)


def _trimmed(node: Any, text: str) -> str:
    from django.utils.translation import trim_whitespace

    return trim_whitespace(text) if node.trimmed else text


def _percent(text: str) -> str:
    return text.replace("%", "%%")


def _of_filters(node: Any) -> Iterator[str]:
    """Texts marked with _() in the expressions of a node."""
    from django.utils.functional import Promise
    from django.utils.translation import override

    seen: list[Any] = [value for key, value in vars(node).items() if key not in ("nodelist", "token", "origin")]
    while seen:
        one = seen.pop()
        if isinstance(one, list | tuple):
            seen.extend(one)
        elif isinstance(one, dict):
            seen.extend(one.values())
        elif type(one).__name__ == "FilterExpression":
            seen.append(one.var)
            seen.extend(value for _, arguments in one.filters for _, value in arguments)
        elif type(one).__name__ == "Variable" and one.translate and one.literal is not None:
            yield _percent(str(one.literal))
        elif isinstance(one, Promise):  # what a filter is given, marked: looked up when the page is shown
            with override("en"):
                yield str(one)
        elif type(one).__name__ in ("TemplateLiteral",):
            seen.append(one.value)


GETTEXT = {"_", "_later", "told", "gettext", "gettext_lazy", "gettext_noop", "ngettext", "ngettext_lazy"}


def in_modules(folder: Path = SHELL) -> Iterator[tuple[Message, str]]:
    """Every text of the modules of a folder that is marked, with the file it stands in."""
    for path in sorted(folder.rglob("*.py")):
        if "migrations" in path.parts:
            continue
        tree = ast.parse(path.read_text("utf-8"))
        for call in ast.walk(tree):
            if not isinstance(call, ast.Call) or not isinstance(call.func, ast.Name) or call.func.id not in GETTEXT:
                continue
            count = 2 if call.func.id.startswith("ngettext") else 1
            texts = [
                one.value for one in call.args[:count] if isinstance(one, ast.Constant) and isinstance(one.value, str)
            ]
            if any(isinstance(one, ast.JoinedStr | ast.BinOp) for one in call.args[:count]):
                raise SystemExit(f"{path}:{call.lineno}: a text to translate stands there as a whole, not put together")
            if len(texts) == count:  # else a text that is marked where it stands
                yield tuple(texts), path.relative_to(SHELL if folder == SHELL else folder.parent).as_posix()


def in_lists() -> Iterator[tuple[Message, str]]:
    """What a unit's own lists begin with: said in the language of the page as long as the unit leaves them so."""
    from vestry.trade.first_hour import load_shipped_lists

    for item in load_shipped_lists().item:
        for text in (item.say, item.else_do):
            if text:
                yield (text,), "first-hour/lists.toml"


def gathered() -> dict[Message, set[str]]:
    """Every text of pages and forms with the files in which it stands."""
    _set_up()
    found: dict[Message, set[str]] = {}
    for message, place in (*in_templates(), *in_modules(), *in_modules(TRADE), *in_lists()):
        found.setdefault(message, set()).add(place)
    plural = {one[0] for one in found if len(one) == 2}
    for message in [one for one in found if len(one) == 1 and one[0] in plural]:
        places = found.pop(message)
        next(value for key, value in found.items() if len(key) == 2 and key[0] == message[0]).update(places)
    return {message: places for message, places in found.items() if message[0].strip()}


def _set_up() -> None:
    import django
    from django.conf import settings

    if not settings.configured:
        os.environ.setdefault("DJANGO_SETTINGS_MODULE", "vestry.hospital.settings")
        django.setup()


# ---- catalogues ----


def po_path(language: str) -> Path:
    """Where the translations of a language stand."""
    return LOCALE / language / "LC_MESSAGES" / "django.po"


def languages() -> list[str]:
    """The languages that have a catalogue of pages."""
    return sorted(path.name for path in LOCALE.iterdir() if path.is_dir())


def known(language: str) -> Catalog:
    """The translations that a language has."""
    path = po_path(language)
    if not path.is_file():
        return Catalog(locale=language)
    with path.open("rb") as file:
        return read_po(file, locale=language)


def brought_up_to_date(language: str, messages: dict[Message, set[str]] | None = None) -> Catalog:
    """The catalogue as the source asks for it: what is known kept, what is new empty, what is gone left out."""
    old, new = (
        known(language),
        Catalog(locale=language, charset="utf-8", header_comment=HEADER.format(language=language).strip()),
    )
    for message, places in sorted((messages or gathered()).items()):
        before = old.get(message[0])
        text: Any = before.string if before else ""
        if len(message) == 2:
            text = text if isinstance(text, tuple | list) else ("",) * new.num_plurals
        elif isinstance(text, tuple | list):
            text = text[0]
        new.add(
            message if len(message) == 2 else message[0],
            text,
            locations=[(place, None) for place in sorted(places)][:3],
        )
        new.get(message[0]).flags.discard("python-brace-format")  # type: ignore[union-attr]
    return new


def as_po(catalogue: Catalog) -> bytes:
    """The catalogue as text; the same every time."""
    out = io.BytesIO()
    write_po(out, catalogue, width=120, omit_header=True, include_lineno=False, sort_output=True)
    head = (
        f'{catalogue.header_comment}\nmsgid ""\nmsgstr ""\n"Language: {catalogue.locale}\\n"\n'
        f'"Plural-Forms: {catalogue.plural_forms}\\n"\n"Content-Type: text/plain; charset=utf-8\\n"\n\n'
    )
    return head.encode() + out.getvalue()


def as_mo(catalogue: Catalog) -> bytes:
    """The catalogue compiled."""
    out = io.BytesIO()
    for name in ("creation_date", "revision_date"):
        setattr(catalogue, name, MADE)  # the same every time
    write_mo(out, catalogue)
    return out.getvalue()


def lacking(catalogue: Catalog) -> list[str]:
    """The texts that have no translation."""
    return [str(one.id) for one in catalogue if one.id and not all(_strings(one.string))]


def _strings(string: Any) -> tuple[str, ...]:
    return tuple(string) if isinstance(string, tuple | list) else (string,)


# ---- the tablet ----


def in_tablet(folder: Path = TABLET) -> dict[str, set[str]]:
    """Every text of the tablet's modules."""
    return in_modules_of_tablet(folder)


def tablet_path(language: str) -> Path:
    """Where the tablet's texts of a language stand."""
    return TABLET_LANGUAGES / f"{language}.json"


def tablet_known(language: str) -> dict[str, Any]:
    """The tablet's texts that a language has."""
    path = tablet_path(language)
    return json.loads(path.read_text("utf-8")) if path.is_file() else {}


def tablet_up_to_date(language: str) -> dict[str, Any]:
    """The tablet's texts as its modules ask for them."""
    before = tablet_known(language)
    return {text: before.get(text, "") for text in sorted(in_tablet())}


def as_json(texts: dict[str, Any]) -> str:
    """A catalogue of the tablet as text."""
    return json.dumps(texts, ensure_ascii=False, indent=1, sort_keys=True) + "\n"


# ---- from the terminal ----


def main(arguments: list[str] | None = None) -> int:
    """Bring up to date, check, or list what is missing."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--check", action="store_true")
    parser.add_argument("--missing", action="store_true")
    options = parser.parse_args(arguments)
    messages, status = gathered(), 0
    for language in languages():
        catalogue, tablet = brought_up_to_date(language, messages), tablet_up_to_date(language)
        if options.missing:
            print(*lacking(catalogue), *(text for text, said in tablet.items() if not said), sep="\n")
            continue
        wanted = {po_path(language): as_po(catalogue), tablet_path(language): as_json(tablet).encode()}
        for path, content in wanted.items():
            if not path.is_file() or path.read_bytes() != content:
                status = 1
                print(f"{path.relative_to(ROOT)}: {'not as the source asks' if options.check else 'made anew'}")
                if not options.check:
                    path.write_bytes(content)
        if not options.check:
            po_path(language).with_suffix(".mo").write_bytes(as_mo(catalogue))
    return status if options.check else 0


if __name__ == "__main__":
    sys.exit(main())
