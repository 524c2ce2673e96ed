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
