"""Generated orders: any ensemble of catalogue items in any donning order, any steps that can be carried out.

Most are foolish. That is wanted: what is compared here must agree on foolish orders too.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from functools import cache
from importlib import resources
from types import MappingProxyType
from typing import Any, TypeVar

from hypothesis import strategies as st

from vestry.contact.taught import taught, worn_after
from vestry.trade import BadFacts, Catalogue, Item, Order, Step, Touch, load_catalogue, read_order

ACTS = (
    *["doff"] * 8,
    *["don", "touch", "wipe", "disinfect-gloves", "change-gloves"] * 2,
    "hand-hygiene",
    "inspect",
    "release",
    "sit",
    "move",
    "confirm",
)
LANE = (
    "place.seat",
    "place.floor",
    "place.dispenser",
    "place.wipe-tub",
    "place.door-handle",
    "assistant.gloves",
    "assistant.gown",
    "observer.gloves",
)
T = TypeVar("T")
Worn = tuple[str, ...]
ZONES = ("room", "room", "room", "doffing-area", "anteroom", "outside", "clean-side")


@cache
def order_files() -> dict[str, Order]:
    """The sequence files that Vestry ships."""
    folder = resources.files("vestry.trade") / "data" / "orders"
    return {entry.name: read_order(entry.read_text("utf-8"), entry.name) for entry in sorted(folder.iterdir(), key=str)}


def with_case(order: Order, **changes: Any) -> Order:
    return order.model_copy(update={"case": order.case.model_copy(update=changes)})


def can_be_done(order: Order, catalogue: Catalogue) -> bool:
    try:
        taught(order, catalogue)
    except BadFacts:
        return False
    return True


# ---- orders ----


@st.composite
def orders(draw: st.DrawFn, catalogue: Catalogue | None = None, max_steps: int = 7, plain: bool = False) -> Order:
    """An order that can be carried out: a stretch of a shipped one, altered, or any items in any order and any steps.

    `plain` has no loads or lane of its own.
    """
    catalogue = catalogue or load_catalogue()
    if draw(st.booleans()):
        worn, planned = draw(_altered(catalogue, max_steps))
    else:
        worn = tuple(draw(st.lists(st.sampled_from(sorted(catalogue.items)), unique=True, min_size=1, max_size=8)))
        planned = [None] * draw(st.integers(min(3, max_steps), max_steps))
    steps, now = list[Step](), worn
    for step in planned:
        step = step or draw(_steps(catalogue, now))
        after = _worn_after(step, now, catalogue)
        if after is not None:
            steps.append(step)
            now = after
    order = {
        "format-version": 1,
        "title": "generated",
        "worn": worn,
        "steps": steps or [Step(act="inspect")],
        "zone": draw(st.sampled_from(ZONES)),
        "case": {
            "hazard": draw(st.sampled_from([None, *sorted(catalogue.hazards)])),
            "presentation": draw(st.sampled_from(["dry", "wet"])),
            "air-contaminated": draw(st.sampled_from([None, True, True, False])),
            "virus-class": draw(st.sampled_from([None, None, "enveloped", "non-enveloped", "bacteria", "unknown"])),
        },
    }
    if not plain:
        order["lane"] = {"contaminated": draw(st.lists(st.sampled_from(LANE), unique=True, max_size=2))}
        loads = st.dictionaries(st.sampled_from(_faces(catalogue, worn)), st.sampled_from(["none", "low", "high"]))
        order["loads"] = draw(st.none() | st.none() | loads)
    return Order.model_validate(order)


@st.composite
def _altered(draw: st.DrawFn, catalogue: Catalogue, max_steps: int) -> tuple[Worn, list[Step | None]]:
    """What is worn at some moment of a shipped order and its steps from there, both altered. None is any step."""
    order = draw(st.sampled_from(list(order_files().values())))
    start = draw(st.integers(0, len(order.steps) - 1))
    worn = tuple(item for item in order.worn if item in catalogue.items)
    for step in order.steps[:start]:
        worn = _worn_after(step, worn, catalogue) or worn
    steps: list[Step | None] = list(order.steps[start : start + max_steps])
    if draw(st.booleans()):
        steps.insert(draw(st.integers(0, len(steps))), draw(st.sampled_from([*steps, None])))
    return tuple(draw(_disturbed(list(worn)))), draw(_disturbed(steps))


@st.composite
def _disturbed(draw: st.DrawFn, row: list[T]) -> list[T]:
    """The same with up to two left out or swapped with the next."""
    for at in draw(st.lists(st.integers(0, len(row)), max_size=2)):
        row[at : at + 2] = row[at + 1 : at + 2] if draw(st.booleans()) else row[at : at + 2][::-1]
    return row


def _worn_after(step: Step, worn: Worn, catalogue: Catalogue) -> Worn | None:
    """What is worn after a step; None when it cannot be done."""
    order = Order.model_validate({"format-version": 1, "title": "one step", "worn": worn, "steps": [step]})
    if not can_be_done(order, catalogue):
        return None
    for part in taught(order, catalogue):
        worn = worn_after(part, worn, catalogue)
    return worn


def _faces(catalogue: Catalogue, worn: Sequence[str]) -> list[str]:
    return ["body.hand-l", *(f"{item}.{face.id}" for item in worn for face in catalogue.items[item].faces)]


@st.composite
def _steps(draw: st.DrawFn, catalogue: Catalogue, worn: Worn) -> Step:
    """A step that may be possible with this worn; the caller drops what is not."""
    act = draw(st.sampled_from(ACTS))
    items: tuple[str, ...] = ()
    if act in ("doff", "wipe", "release", "touch", "change-gloves") and worn:
        wanted = {"change-gloves": ["gloves"], "release": ["gown", "apron", "coverall"]}.get(act)
        fitting = [item for item in worn if wanted is None or catalogue.items[item].kind in wanted]
        items = tuple(draw(st.lists(st.sampled_from(fitting), unique=True, max_size=1))) if fitting else ()
        if act == "doff":
            items = draw(st.sampled_from(_together(catalogue, worn)))
    if act == "don":
        items = (draw(st.sampled_from(sorted(catalogue.items))),)
    kinds = {catalogue.items[item].kind for item in items}
    techniques = sorted({t.id for t in catalogue.techniques if t.act == act and kinds & {*t.for_, *t.together}})
    on = {"disinfect-gloves": "gloves", "hand-hygiene": "hands", "change-gloves": "hands", "wipe": "surfaces"}.get(act)
    agents = [agent.id for agent in catalogue.agents.values() if on in agent.on]
    outside = sorted({face.id for item in items for face in catalogue.items[item].faces})
    return Step.model_validate(
        {
            "act": act,
            "items": items,
            "technique": draw(st.sampled_from([None, *techniques])) if items else None,
            "who": draw(st.sampled_from([None, None, "wearer", "assistant", "observer", "both"])),
            "agent": draw(st.sampled_from([None, *agents])),
            "to": draw(st.sampled_from(ZONES)) if act == "move" or draw(st.integers(0, 9)) == 9 else None,
            "faces": draw(st.lists(st.sampled_from(outside), unique=True, max_size=2))
            if act == "wipe" and outside
            else (),
            "touches": (draw(_references(catalogue, worn)), draw(_references(catalogue, worn)))
            if act == "touch"
            else None,
        }
    )


def _together(catalogue: Catalogue, worn: Worn) -> list[tuple[str, ...]]:
    kind = {item: catalogue.items[item].kind for item in worn}
    pairs = [
        (one, other)
        for technique in catalogue.techniques
        if technique.together
        for one in worn
        for other in worn
        if sorted((kind[one], kind[other])) == sorted(technique.together)
    ]
    return [*((item,) for item in worn), *pairs]


def _references(catalogue: Catalogue, worn: Worn) -> st.SearchStrategy[str]:
    return st.sampled_from([*_spoken(), *_faces(catalogue, worn) * 2])


@cache
def _spoken() -> tuple[str, ...]:
    """References that name no item."""
    catalogue = load_catalogue()
    words = (
        "hand",
        "hand-l",
        "hand-r",
        "agent",
        "helper.gloves",
        "assistant.gown",
        "observer.gloves",
        "self.front",
        "self.palm",
        "self.*",
        "gloves.palm",
        "gloves.cuff-r",
        "gown.front",
        "mask.front",
        "air.room",
        "hat.brim",
    )
    sites = [f"{where}{site}" for site in catalogue.body for where in ("outer@", "under@", "body.")]
    return (*words * 2, *sites, *(f"place.{place}" for place in catalogue.places))


# ---- catalogues ----


@st.composite
def catalogues(draw: st.DrawFn) -> Catalogue:
    """The shipped catalogue with a few items and techniques made otherwise: faults, traps, covers, names, touches."""
    catalogue = load_catalogue()
    items, techniques = dict(catalogue.items), list(catalogue.techniques)
    for number in draw(st.lists(st.integers(0, len(techniques) - 1), unique=True, max_size=4)):
        lines = draw(st.lists(_lines(), max_size=5))
        touches = list(techniques[number].touches)
        for line in lines:
            touches.insert(draw(st.integers(0, len(touches))), line)
        techniques[number] = techniques[number].model_copy(update={"touches": tuple(touches)})
    for name in draw(st.lists(st.sampled_from(sorted(items)), unique=True, max_size=6)):
        items[name] = draw(_otherwise(items[name], catalogue))
    twins = {"gown-isolation": "gown", "surgical-mask": "mask", "gloves-standard": "gloves", "goggles": "eyewear"}
    renamed = {old: twins[old] for old in draw(st.lists(st.sampled_from(sorted(twins)), unique=True, max_size=2))}
    changed = replace(catalogue, items=MappingProxyType(items), techniques=tuple(techniques))
    return rename_items(changed, renamed)


def rename_items(catalogue: Catalogue, names: dict[str, str]) -> Catalogue:
    """The same catalogue, these items called otherwise."""
    items = {
        names.get(item.id, item.id): item.model_copy(
            update={"id": names.get(item.id, item.id), "tied_to": names.get(item.tied_to or "", item.tied_to)}
        )
        for item in catalogue.items.values()
    }
    return replace(catalogue, items=MappingProxyType(items))


@st.composite
def _lines(draw: st.DrawFn) -> Touch:
    """A line of a technique."""
    a, b = draw(st.sampled_from(_spoken())), draw(st.sampled_from(_spoken()))
    lines = [f"contact {a} {b}", f"slide {a} onto {b}", f"stir {a} onto {b}", f"clean {a} by agent"]
    line = draw(st.sampled_from(lines))
    wrong = draw(st.sampled_from([{}, {"slip": "one"}, {"slip": "two"}, {"residue": "rest"}]))
    return Touch.model_validate({"touch": line, "from": "judgement", **({} if line[:5] == "clean" else wrong)})


@st.composite
def _otherwise(draw: st.DrawFn, item: Item, catalogue: Catalogue) -> Item:
    faces = [face.model_dump(by_alias=True) for face in item.faces]
    changed = item.model_dump(by_alias=True)
    sites = st.sampled_from(sorted(catalogue.body))
    names = st.sampled_from([face["id"] for face in faces] or ["front"])
    if draw(st.booleans()):
        strap = {
            "id": "extra",
            "at": draw(st.lists(sites, min_size=1, max_size=2, unique=True)),
            "cover": draw(st.sampled_from(["narrow", "open", "sealing"])),
            "zone": "front",
        }
        faces.insert(draw(st.integers(0, len(faces))), strap)
    if draw(st.booleans()) and faces:
        faces[draw(st.integers(0, len(faces) - 1))]["cover"] = draw(st.sampled_from(["narrow", "open", "sealing"]))
    if draw(st.booleans()) and faces:
        fault = {"id": "tear", "from": draw(names), "at": draw(sites), "source": "judgement", "certainty": "judgement"}
        changed["latent"] = [*changed["latent"], fault]
    if draw(st.booleans()) and faces:
        changed["drags"] = [*changed["drags"], {"at": [draw(sites)], "faces": [draw(names)]}]
    if draw(st.booleans()):
        kinds = sorted({other.kind for other in catalogue.items.values()})
        changed["traps"] = draw(st.lists(st.sampled_from(kinds), unique=True, max_size=3))
    return Item.model_validate({**changed, "faces": faces})
