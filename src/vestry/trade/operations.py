"""The facts that a unit runs on: air, disinfectant, waste, heat; read, cross-checked, digested.

Apart from the facts of the catalogue, with a digest of their own: no order and no verdict depends on them. A hospital's
records lie over ours by table and id, whole, each with its reason; an id that we do not have adds a record.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from difflib import get_close_matches
from functools import cached_property, lru_cache
from typing import Any, TypeVar

from vestry.trade.catalogue import load_catalogue
from vestry.trade.laying import Shape, Tables, digest, lay
from vestry.trade.operations_values import TABLES, BagRight, OperationsFile, Told
from vestry.trade.shadows import Shadow
from vestry.trade.shipped import shipped_texts
from vestry.trade.values import Source
from vestry.trade.words import UnknownWord, load_words

R = TypeVar("R", bound=Told)
WORDS = {
    "chlorine-product": ("chlorine-product", "id"),
    "clothing-adjustment": ("garment", "garment"),
    "field-heat": ("field-heat", "what"),
    "door-thing": ("door-thing", "id"),
}
"""By table: the words that a record is shown by, and the field that names them."""


@dataclass(frozen=True)
class Operations:
    """The records in force, by table (`air-limit`) and id; the sources; what a hospital laid over, added or retired."""

    tables: Mapping[str, Mapping[str, Told]]
    sources: Mapping[str, Source]
    shadows: tuple[Shadow, ...] = ()

    def all(self, kind: type[R]) -> tuple[R, ...]:
        """Every record of one kind, in the order of the files."""
        return tuple(one for table in self.tables.values() for one in table.values() if isinstance(one, kind))

    def one(self, kind: type[R], key: str) -> R:
        """The record of this kind and id. KeyError with the nearest id."""
        found = {record.id: record for record in self.all(kind)}
        if key not in found:
            near = get_close_matches(key, found, 1)
            raise KeyError(f"no {_said(kind)} is called {key}" + (f"; did you mean {near[0]}?" if near else ""))
        return found[key]

    @property
    def theirs(self) -> tuple[tuple[str, str], ...]:
        """The records that a hospital laid over or added, by table and id."""
        return tuple((one.kind, one.id) for one in self.shadows if one.change != "retired")

    @cached_property
    def digest(self) -> str:
        """SHA-256 over the canonical JSON of all records."""
        return digest(self.tables)


def _said(kind: type[Told]) -> str:
    return "".join(f" {c.lower()}" if c.isupper() else c for c in kind.__name__).strip()


def _check(table: str, record: Any, tables: Tables) -> Iterator[tuple[str, str]]:
    """Ids that a hospital's record names, words that it is shown by, and roles no wider than the table of access."""
    if table in WORDS:
        group, field = WORDS[table]
        yield from _unsaid(group, field, getattr(record, field))
    if table == "packing":
        for layer in record.layers:
            yield from _unsaid("packing", "layers", layer)
    if table == "hygiene-time":
        agents = load_catalogue().agents
        yield from _named("agent", record.agent, agents, "hygiene agent")
        if record.agent in agents and record.on not in agents[record.agent].on:
            where = ", ".join(agents[record.agent].on)
            yield "on", f"{record.agent} is for {where}; how long chlorine acts on a surface is a contact-time"
    if table in ("shelf-life", "spoon-measure"):
        for product in record.products if table == "shelf-life" else (record.product,):
            field = "products" if table == "shelf-life" else "product"
            yield from _named(field, product, tables["chlorine-product"], "chlorine product")
    if isinstance(record, BagRight):
        ours = load_operations().all(BagRight)
        wider = set(record.roles) - {role for one in ours if one.act == record.act for role in one.roles}
        if wider:
            yield "roles", f"{', '.join(sorted(wider))} may not by the table of access: fewer roles, not more"


def _named(field: str, key: str, known: Mapping[str, Any], sort: str) -> Iterator[tuple[str, str]]:
    if key not in known:
        near = get_close_matches(key, known, 1)
        yield field, f"no {sort} is called {key}" + (f"; did you mean {near[0]}?" if near else "")


def _unsaid(group: str, field: str, key: str) -> Iterator[tuple[str, str]]:
    try:
        load_words("en").term(group, key)
    except (UnknownWord, KeyError):
        yield field, f"there are no words for {key}; use an id that is known, or lay over ours"


SHAPE = Shape(
    OperationsFile,
    TABLES,
    same={
        "air-limit": lambda one: (one.measure, one.rooms),
        "contact-time": lambda one: one.use,
        "hygiene-time": lambda one: (one.agent, one.on),
        "chlorine-strength": lambda one: one.use,
        "work-time": lambda one: one.part,
        "bag-right": lambda one: one.act,
        "clothing-adjustment": lambda one: (one.family, one.garment),
        "metabolic-class": lambda one: (one.edition, one.work),
        "model-range": lambda one: (one.model, one.quantity),
        "stop-rule": lambda one: (one.measure, one.acclimatised),
    },
    check=_check,
    retirable=frozenset({"door-thing", "hygiene-time", "spoon-measure", "field-heat"}),
)


def load_operations_texts(texts: Mapping[str, str], over: Mapping[str, str] | None = None) -> Operations:
    """The records in these files (name to text), a hospital's files `over` them.

    BadFacts with every problem of every file; nothing is half-loaded.
    """
    laid = lay(SHAPE, texts, over or {}, load_catalogue().sources)
    return Operations(laid.tables, laid.sources, laid.shadows)


@lru_cache(maxsize=1)
def load_operations() -> Operations:
    """The shipped records, read once."""
    return load_operations_texts(shipped_texts("operations"))
