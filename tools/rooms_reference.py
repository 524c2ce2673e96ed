"""Schemas, examples and pages of what a unit runs on: its records, and what air, dilute, waste and heat answer."""

from __future__ import annotations

import contextlib
import io
import json
from collections.abc import Iterator
from types import UnionType
from typing import Any, get_args, get_origin

from pydantic import BaseModel

from vestry.cli.answers import (
    AirAnswer,
    DiluteAnswer,
    IndexAnswer,
    MeasuredAnswer,
    PredictAnswer,
    WasteAnswer,
)
from vestry.cli.main import main
from vestry.trade.operations_values import OperationsFile
from vestry.trade.shadows import Because

ANSWERS: dict[str, type[BaseModel]] = {
    "air": AirAnswer,
    "dilute": DiluteAnswer,
    "waste": WasteAnswer,
    "heat-predicted": PredictAnswer,
    "heat-index": IndexAnswer,
    "heat-measured": MeasuredAnswer,
}
# Of heat, those that need no library: the others differ in the last figure from machine to machine.
EXAMPLES = {
    "air": "air --flow 350cfm --volume 1750ft3 --mixing 3 --removal 99.9 --hazard lassa",
    "dilute": "dilute --stock 5.25%NaOCl --wanted 0.5 --litres 20 --recipe 1:10",
    "waste": "waste --hazard lassa --jurisdiction us --patient-days 3 --doffings 40",
    "heat-predicted": "heat predict --air 30 --humidity 60 --speed 0.3 --met 2.4 --clo 1.3 --impermeable --policy 60",
    "heat-index": "heat index --natural-wet 25 --globe 32 --work 2 --garment vapour-barrier-apron",
    "heat-measured": "heat measured",
}


def schemas() -> Iterator[tuple[str, str]]:
    """Path below docs/reference to the text of a schema."""
    yield "schemas/operations.json", _json(OperationsFile.model_json_schema(by_alias=True))
    for name, model in ANSWERS.items():
        yield f"schemas/{name}.json", _json(model.model_json_schema(by_alias=True, mode="serialization"))


def examples() -> Iterator[tuple[str, str]]:
    """What the commands print."""
    for name, typed in EXAMPLES.items():
        printed = io.StringIO()
        with contextlib.redirect_stdout(printed):
            main([*typed.split(), "--json"])
        yield f"examples/{name}.json", _json(_short(json.loads(printed.getvalue())))


def pages() -> Iterator[tuple[str, str]]:
    """The pages of fields, from the code's own words."""
    parts = [
        "# What air, dilute, waste and heat answer\n",
        "Generated from the code. The fields of what each prints with `--json`, with an example made by the command\n"
        "beside it. Numbers are not rounded unless the name says so; null where there is nothing. `operations` is the\n"
        "digest of the [records](operations.md) that the answer rests on.\n",
    ]
    for name, model in ANSWERS.items():
        head = f"## {name}\n\n[Schema](schemas/{name}.json), [example](examples/{name}.json):"
        parts.append(f"{head} `vestry {EXAMPLES[name]}`\n")
        parts += [_told(one) for one in _models(model)]
    yield "rooms-and-heat.md", "\n".join(parts)
    parts = [
        "# Records that a unit runs on\n",
        "Generated from the code. The tables of a file of operations ([schema](schemas/operations.json)), which\n"
        "begins with its `format-version`; `--own FILE` lays a hospital's records over those shipped, whole, by table\n"
        "and id, or adds some. Each says why: `because = { reason, name, date }`. All files load or none does.\n\n"
        "```toml\n" + OWN + "```\n",
    ]
    for table, field in OperationsFile.model_fields.items():
        inner = [arg for arg in get_args(field.annotation) if isinstance(arg, type)]
        parts += [_told(one, f"`{table.replace('_', '-')}`") for one in inner if issubclass(one, BaseModel)]
    parts.append(_told(Because))
    yield "operations.md", "\n".join(parts)


OWN = """format-version = 1

[[contact-time]]
id = "surfaces"
use = "surfaces"
minutes = 5.0
source = "hospital"
certainty = "hospital"
because = { reason = "Label of the product in use.", name = "Sander Brook", date = 2026-03-02 }
"""


def _models(model: type[BaseModel], seen: set[type] | None = None) -> Iterator[type[BaseModel]]:
    """A model and those it holds, each once."""
    seen = set() if seen is None else seen
    if model in seen:
        return
    seen.add(model)
    yield model
    for field in model.model_fields.values():
        for inner in _within(field.annotation):
            yield from _models(inner, seen)


def _within(annotation: Any) -> Iterator[type[BaseModel]]:
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        yield annotation
    elif get_origin(annotation) is not None or isinstance(annotation, UnionType):
        for one in get_args(annotation):
            yield from _within(one)


def _told(model: type[BaseModel], title: str | None = None) -> str:
    says = " ".join((model.__doc__ or "").split())
    fields = ", ".join(f"`{field.alias or name}`" for name, field in model.model_fields.items())
    return f"### {title or model.__name__}\n\n{says}\n\nFields: {fields}\n"


def _short(document: Any) -> Any:
    """Numbers to ten figures: the same whichever way a machine rounds the last bit."""
    if isinstance(document, float):
        return float(f"{document:.10g}")
    if isinstance(document, dict):
        return {key: _short(value) for key, value in document.items()}
    return [_short(one) for one in document] if isinstance(document, list) else document


def _json(document: Any) -> str:
    return json.dumps(document, indent=1, ensure_ascii=False) + "\n"
