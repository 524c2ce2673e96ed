"""Schemas of what amounts rest on and are held against: evidence, experiments, and what commands print of them."""

from __future__ import annotations

import json
from collections.abc import Iterator
from typing import Any

from vestry.experiment import Experiment
from vestry.trade.evidence_values import EvidenceFile, EvidenceRecord, Measurement
from vestry.trade.values import Source


def schemas() -> Iterator[tuple[str, str]]:
    """Path below docs/reference to the text of a schema."""
    yield "schemas/evidence.json", _json(EvidenceFile.model_json_schema(by_alias=True))
    yield "schemas/experiment.json", _json(Experiment.model_json_schema(by_alias=True))
    yield "schemas/evidence-listed.json", _json(LISTED)
    yield "schemas/validated.json", _json(VALIDATED)


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
