"""Schemas of what amounts rest on and are held against: evidence, experiments, and what commands print of them."""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import replace
from typing import Any

from vestry.contact.amounts import Context
from vestry.experiment import Experiment
from vestry.sequence import subject_of_order
from vestry.sequence.amounts import Asked, amounts, differ
from vestry.sequence.amounts_found import AmountsDiffer, AmountsFound, WhatIf
from vestry.sequence.whatif import what_if
from vestry.trade import load_catalogue, read_order
from vestry.trade.evidence import load_evidence
from vestry.trade.evidence_values import EvidenceFile, EvidenceRecord, Measurement
from vestry.trade.orders import packaged_orders
from vestry.trade.values import Source


def schemas() -> Iterator[tuple[str, str]]:
    """Path below docs/reference to the text of a schema."""
    yield "schemas/evidence.json", _json(EvidenceFile.model_json_schema(by_alias=True))
    yield "schemas/experiment.json", _json(Experiment.model_json_schema(by_alias=True))
    yield "schemas/evidence-listed.json", _json(LISTED)
    yield "schemas/validated.json", _json(VALIDATED)
    for name, model in (("amounts", AmountsFound), ("amounts-differ", AmountsDiffer), ("whatif", WhatIf)):
        yield f"schemas/{name}.json", _json(model.model_json_schema(by_alias=True))


def examples() -> Iterator[tuple[str, str]]:
    """Amounts of a published order, of a few draws: NumPy alone, so that the example is the same everywhere it is."""
    catalogue, name = load_catalogue(), "cdc-covid-doff-2020--respirator-shield"
    subject = subject_of_order(read_order(packaged_orders()[name], name), name, catalogue)
    asked = Asked(subject, load_evidence(), Context(), draws=400, choice="numpy")
    yield "examples/amounts.json", _json(_short(amounts(asked).as_json()))
    other = replace(asked, context=Context(observer=False, read_aloud=False))
    yield "examples/amounts-differ.json", _json(_short(differ(asked, other).as_json()))
    yield "examples/whatif.json", _json(_short(what_if(replace(other, draws=200)).as_json()))


def _short(document: Any) -> Any:
    """Numbers to six figures: enough to read, and the same whichever way a machine rounds the last bit."""
    if isinstance(document, float):
        return float(f"{document:.6g}")
    if isinstance(document, dict):
        return {key: _short(value) for key, value in document.items()}
    return [_short(one) for one in document] if isinstance(document, list) else document


def _json(document: Any) -> str:
    return json.dumps(document, indent=1, ensure_ascii=False) + "\n"


def _inlined(model: Any) -> dict[str, Any]:
    """The schema of a model with its definitions beside it, so that it can stand within another."""
    schema: dict[str, Any] = model.model_json_schema(by_alias=True, ref_template="#/$defs/{model}")
    return schema


def _listed() -> dict[str, Any]:
    parts = {"records": EvidenceRecord, "measurements": Measurement, "sources": Source}
    defs: dict[str, Any] = {}
    properties: dict[str, Any] = {
        "format-version": {"const": 1},
        "digest": {"type": "string", "pattern": "^[0-9a-f]{64}$"},
        "shadowed": {"type": "array", "items": {"type": "string"}},
    }
    for name, model in parts.items():
        schema = _inlined(model)
        defs.update(schema.pop("$defs", {}))
        if name == "records":
            schema["properties"]["central"] = {"type": "number"}
            schema["required"] = [*schema["required"], "central"]
        properties[name] = {"type": "array", "items": schema}
    return {
        "title": "evidence-listed",
        "type": "object",
        "required": sorted(properties),
        "additionalProperties": False,
        "properties": properties,
        "$defs": defs,
    }


LISTED = _listed()


def _object(**properties: Any) -> dict[str, Any]:
    keys = {name.replace("_", "-"): schema for name, schema in properties.items()}
    return {"type": "object", "required": list(keys), "properties": keys, "additionalProperties": False}


def _list(of: dict[str, Any]) -> dict[str, Any]:
    return {"type": "array", "items": of}


STRING, TRUTH, HASH = {"type": "string"}, {"type": "boolean"}, {"type": "string", "pattern": "^[0-9a-f]{64}$"}
NUMBER = {"type": ["number", "null"]}
PAIR = {"type": ["array", "null"], "items": NUMBER, "minItems": 2, "maxItems": 2}
CHECKED = _object(
    id=STRING,
    compare={"enum": ["value", "ratio", "difference", "order", "top"]},
    met=TRUTH,
    answer=NUMBER,
    interval=PAIR,
    observed=NUMBER,
    observed_interval=PAIR,
    found={"type": ["string", "null"]},
    tolerance={"type": ["object", "null"]},
    detail=_list(_object(what=STRING, value=NUMBER)),
)
VALIDATED = {
    "title": "validated",
    **_object(
        format_version={"const": 1},
        met=TRUTH,
        experiments=_list(
            _object(
                id=STRING,
                title=STRING,
                relation={"enum": ["check", "by-construction", "arithmetic"]},
                met=TRUTH,
                draws={"type": "integer", "minimum": 1},
                seed={"type": "integer", "minimum": 0},
                evidence=HASH,
                facts=HASH,
                answers=_list(_object(arm=STRING, outcome=STRING, value=NUMBER, interval=PAIR)),
                checks=_list(CHECKED),
                rests_on=_list(STRING),
                defaults=_list(STRING),
            )
        ),
    ),
}
