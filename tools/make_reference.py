"""Write docs/reference: schemas of the formats, one example file of each, and the page of commands.

    python -m tools.make_reference          writes them
    python -m tools.make_reference --check  says whether they are up to date (exit status 1 when not)

What is generated is generated from the code, so that it cannot drift; tests/cli/test_reference.py holds it.
"""

from __future__ import annotations

import argparse
import contextlib
import io
import json
import os
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any, get_args

from tools import entry_reference, estimates_reference, readiness_reference, record_reference, rooms_reference

from vestry.cli.main import COMMANDS, main
from vestry.sequence import (
    Assurance,
    Case,
    CaseChange,
    Comparison,
    Explanation,
    Happened,
    Inside,
    Plan,
    Policy,
    Practised,
    Recovery,
    Substitution,
    Weighing,
    assure,
    change,
    compare,
    explain,
    plan_case,
    program_of,
    recover,
    subject_of_order,
    substitute,
    weigh,
)
from vestry.sequence.case_change import InsideFile
from vestry.sequence.errors import WHAT_NOW
from vestry.sequence.proved import Proved
from vestry.stock.gs1 import Scan, read_code
from vestry.trade import Order, load_catalogue, read_order
from vestry.trade.orders import packaged_orders
from vestry.trade.overlay import OverlayFile
from vestry.trade.values import Certainty, Presentation

PLACE = Path(__file__).parent.parent / "docs" / "reference"
EXAMPLE_ORDER = "practice-haemorrhagic-respirator"
EXAMPLE_PAIR = ("cdc-standard-doff-ex1--respirator-shield", "cdc-covid-doff-2020--respirator-shield")
EXAMPLE_OVERLAY = Path(__file__).parent.parent / "src/vestry/hospital/demo-facts.toml"
EXAMPLE_CODE = "]d2015102222223333617260231" + "10A213B1\x1d211234"  # a date that is none: the rest is kept
EXAMPLE_STEP = "doff:face-shield:rear-strap"
EXAMPLE_INSIDE = InsideFile(
    inside=(
        Inside(code="nurse-1", minutes=70),
        Inside(code="doctor", at=EXAMPLE_STEP, minutes=95),
    )
)
FORMATS = {
    "order": Order,
    "case": Case,
    "policy": Policy,
    "plan": Plan,
    "assurance": Assurance,
    "recovery": Recovery,
    "comparison": Comparison,
    "substitution": Substitution,
    "explanation": Explanation,
    "weighing": Weighing,
    "change": CaseChange,
    "inside": InsideFile,
    "proved": Proved,
    "scan": Scan,
}


def schemas() -> Iterator[tuple[str, str]]:
    """One JSON schema for each format."""
    for name, model in FORMATS.items():
        yield f"schemas/{name}.json", _json(model.model_json_schema(by_alias=True))
    yield "schemas/program.json", _json(PROGRAM_SCHEMA)
    yield "schemas/catalog.json", _json(CATALOG_SCHEMA)
    yield "schemas/overlay.json", _json(overlay_schema())
    for name, printed in PRINTED.items():
        yield f"schemas/{name}.json", _json({"title": name, **printed})


def overlay_schema() -> dict[str, Any]:
    """The schema of an overlay file: the tables of a file of facts, each record with its reason."""
    schema = OverlayFile.model_json_schema(by_alias=True)
    for table in schema["properties"].values():
        name = table.get("items", {}).get("$ref", "").rpartition("/")[2]
        if name and name != "Retire":
            record = schema["$defs"][name]
            record["properties"]["because"] = {"$ref": "#/$defs/Because"}
            record["required"] = [*record.get("required", []), "because"]
    return schema


def record_kinds() -> tuple[str, str]:
    """The page of record kinds: what each table of a file of facts holds, from the code."""
    tables = overlay_schema()
    parts = [
        "# Kinds of record\n",
        "Generated from the code. The tables of a file of facts, and of an [overlay](overlay.md), with the fields of\n"
        "each record. A field in bold has to be there. Certainty: [formats](formats.md).\n",
    ]
    inner: dict[str, Any] = {}
    for table, held in tables["properties"].items():
        name = held.get("items", {}).get("$ref", "").rpartition("/")[2]
        if not name or name == "Retire":
            continue
        parts.append(_record(f"`[[{table}]]`", tables["$defs"][name], tables["$defs"], inner))
    parts.append("## Within a record\n")
    for name in sorted(inner):
        parts.append(_record(name, inner[name], tables["$defs"], {}))
    return "record-kinds.md", "\n".join(parts)


def _record(name: str, record: dict[str, Any], defs: dict[str, Any], inner: dict[str, Any]) -> str:
    """One record's fields; what it holds in turn goes to `inner`."""
    needed = set(record.get("required", ()))
    fields = [f"**`{field}`**" if field in needed else f"`{field}`" for field in record["properties"]]
    for field in record["properties"].values():
        for ref in {match.rpartition("/")[2] for match in _refs(field)}:
            inner["a fact" if ref.startswith("Fact_") else ref.lower()] = defs[ref]
    says = " ".join(str(record.get("description", "")).split())
    return f"### {name}\n\n{says}\n\nFields: {', '.join(fields)}\n"


def _refs(schema: Any) -> Iterator[str]:
    if isinstance(schema, dict):
        if "$ref" in schema:
            yield schema["$ref"]
        for value in schema.values():
            yield from _refs(value)
    elif isinstance(schema, list):
        for value in schema:
            yield from _refs(value)


def examples() -> Iterator[tuple[str, str]]:
    """One file of each format, all of the same invented case."""
    catalogue = load_catalogue()
    case = Case(code="harrow-point-demo", hazard="ebola", presentation="dry")
    policy = Policy(doffing_order=("gloves", "shield", "hair-cover", "gown", "foot-covers", "respirator"))
    plan = plan_case(case, policy, catalogue)
    text = packaged_orders()[EXAMPLE_ORDER]
    order = read_order(text, EXAMPLE_ORDER)
    found = recover(plan, catalogue, EXAMPLE_STEP, Happened(envelope=True))
    yield "examples/order.toml", text
    yield "examples/overlay.toml", EXAMPLE_OVERLAY.read_text("utf-8")
    yield "examples/order.json", _json(order.model_dump(mode="json", by_alias=True, exclude_none=True))
    yield "examples/case.json", _json(case.model_dump(mode="json", by_alias=True))
    yield "examples/policy.json", _json(policy.model_dump(mode="json", by_alias=True))
    yield "examples/plan.json", _json(plan.as_json())
    yield "examples/assurance.json", _json(assure(plan, catalogue).as_json())
    yield "examples/recovery.json", _json(found.model_dump(mode="json", by_alias=True))
    pair = [subject_of_order(read_order(packaged_orders()[name], name), name, catalogue) for name in EXAMPLE_PAIR]
    yield "examples/comparison.json", _json(compare(*pair).as_json())
    yield "examples/explanation.json", _json(explain(pair[0], "body.eyes").as_json())
    yield "examples/weighing.json", _json(weigh(case, policy, catalogue).as_json())
    yield "examples/substitution.json", _json(substitute(plan, "face-shield", catalogue, ("goggles",)).as_json())
    yield "examples/scan.json", _json(read_code(EXAMPLE_CODE, 2026).model_dump(mode="json", by_alias=True))
    yield "examples/inside.json", _json(EXAMPLE_INSIDE.model_dump(mode="json", by_alias=True))
    dressed_by = Practised("harrow-point-stable", "Stable patient", plan, True)
    wet = case.model_copy(update={"presentation": "wet"})
    yield "examples/change.json", _json(change(dressed_by, wet, catalogue, EXAMPLE_INSIDE.inside).as_json())
    yield "examples/program.json", json.dumps(program_of(plan, catalogue).as_json(), ensure_ascii=False) + "\n"


def commands() -> tuple[str, str]:
    """The page of commands, from their own help."""
    parts = [
        "# Commands\n",
        "Generated from the commands' own help. Exit status of each: 0 yes; 1 no (not clean, no plan, cannot);\n"
        "2 wrong use or bad input. `--json` prints one JSON document on standard output; progress and errors go to\n"
        "standard error. File formats: [formats](formats.md); each at length: [sequence file](sequence-file.md),\n"
        "[plan with case and policy](plan.md), [assurance](assurance.md), [recovery](recovery.md),\n"
        "[program](program.md), [catalogue](catalog.md), [comparison](comparison.md), [overlay](overlay.md),\n"
        "[substitution](substitution.md), [change](change.md), [explanation](explanation.md),\n"
        "[weighing](weighing.md),\n"
        "[proved](proved.md), [evidence](evidence.md), [experiment](experiment-file.md), [amounts](amounts.md),\n"
        "[scanned code](scan.md), [stay and forecast](forecast.md), [rota and roster](roster.md),\n"
        "[ready](ready.md), [rooms and heat](rooms-and-heat.md), [exported record](record-export.md),\n"
        "[records of a unit](operations.md).\n",
        "What is printed with `--json`, by schema: `plan` [planned](schemas/planned.json) or\n"
        "[no-plan](schemas/no-plan.json), `check` [assurance](schemas/assurance.json), `recover`\n"
        "[recovery](schemas/recovery.json), `catalog` [catalog](schemas/catalog.json), `orders`\n"
        "[orders](schemas/orders.json), with an id [order](schemas/order.json), with `--check`\n"
        "[orders-checked](schemas/orders-checked.json), `sheet` [written](schemas/written.json), `compare`\n"
        "[comparison](schemas/comparison.json), `overlay check` [overlay-checked](schemas/overlay-checked.json),\n"
        "`substitute` [substitution](schemas/substitution.json) or [no-plan](schemas/no-plan.json),\n"
        "`change` [change](schemas/change.json),\n"
        "`explain` [explanation](schemas/explanation.json), `rules` [weighing](schemas/weighing.json) or `no-plan`,\n"
        "`evidence` [evidence-listed](schemas/evidence-listed.json), `validate` [validated](schemas/validated.json),\n"
        "`prove` [proved](schemas/proved.json), `amounts` [amounts](schemas/amounts.json), with `--against`\n"
        "[amounts-differ](schemas/amounts-differ.json), `whatif` [whatif](schemas/whatif.json),\n"
        "`scan` [scan](schemas/scan.json), `forecast` [forecast](schemas/forecast.json),\n"
        "`roster` [roster](schemas/roster.json),\n"
        "`ready` [ready](schemas/ready.json), `begin` [begun](schemas/begun.json),\n"
        "`air` [air](schemas/air.json), `dilute` [dilute](schemas/dilute.json),\n"
        "`waste` [waste](schemas/waste.json), `heat predict` [heat-predicted](schemas/heat-predicted.json),\n"
        "`heat index` [heat-index](schemas/heat-index.json), `heat measured`\n"
        "[heat-measured](schemas/heat-measured.json), `verify-record` [verified](schemas/verified.json),\n"
        "`backup` [backed-up](schemas/backed-up.json), `restore` [restored](schemas/restored.json).\n",
        f"## vestry\n\n```text\n{_help().rstrip()}\n```\n",
    ]
    for module in COMMANDS:
        name = module.__name__.rpartition(".")[2].replace("_", "-")
        parts.append(f"## vestry {name}\n\n```text\n{_help(name).rstrip()}\n```\n")
    return "commands.md", "\n".join(parts)


def _help(*name: str) -> str:
    os.environ["COLUMNS"] = "100"  # argparse wraps to the terminal
    printed = io.StringIO()
    with contextlib.redirect_stdout(printed):
        main([*name, "--help"])
    return printed.getvalue()


def _json(document: Any) -> str:
    return json.dumps(document, indent=1, ensure_ascii=False) + "\n"


def _table(**columns: Any) -> dict[str, Any]:
    return {"type": "array", "items": {"type": "object", "required": list(columns), "properties": columns}}


STRING = {"type": "string"}
NUMBER = {"type": "integer", "minimum": -1}
SHADOWED = _table(
    kind=STRING,
    id=STRING,
    change={"enum": ["laid-over", "added", "retired"]},
    differs=_table(field=STRING, ours={}, theirs={}),
    reason=STRING,
    name=STRING,
    date=STRING,
    file=STRING,
    line={"type": "integer", "minimum": 0},
)
PROGRAM_SCHEMA: dict[str, Any] = {
    "title": "Program",
    "type": "object",
    "required": [
        "format-version",
        "surfaces",
        "events",
        "ops",
        "start",
        "endpoints",
        "steps",
        "worn",
        "gaps",
        "conventions",
    ],
    "additionalProperties": False,
    "properties": {
        "format-version": {"const": 1},
        "surfaces": {"type": "array", "items": STRING},
        "events": _table(id=STRING, sort={"enum": ["slip", "omission", "latent", "residue"]}, step=NUMBER),
        "ops": {
            "type": "array",
            "items": {
                "type": "array",
                "minItems": 6,
                "maxItems": 6,
                "prefixItems": [
                    {"enum": ["contact", "slide", "stir", "breathe", "clean", "fresh"]},
                    NUMBER,
                    NUMBER,
                    NUMBER,
                    NUMBER,
                    STRING,
                ],
            },
        },
        "start": {"type": "array", "items": {"type": "array", "prefixItems": [NUMBER, {"enum": ["low", "high"]}]}},
        "endpoints": {
            "type": "array",
            "items": {
                "type": "array",
                "prefixItems": [NUMBER, {"enum": ["mucosa", "skin", "clothing", "helper", "place"]}],
            },
        },
        "steps": {"type": "array", "items": STRING},
        "worn": {"type": "array", "items": {"type": "array", "items": STRING}},
        "gaps": {"type": "array", "items": STRING},
        "conventions": {"type": "array", "items": STRING},
    },
}
CATALOG_SCHEMA: dict[str, Any] = {
    "title": "Catalogue",
    "type": "object",
    "required": [
        "format-version",
        "facts",
        "acts",
        "items",
        "techniques",
        "hazards",
        "agents",
        "body",
        "places",
        "zones",
        "conventions",
        "shadowed",
        "jurisdictions",
        "rules",
    ],
    "additionalProperties": False,
    "properties": {
        "format-version": {"const": 1},
        "facts": {"type": "string", "pattern": "^[0-9a-f]{64}$"},
        "acts": _table(id=STRING, name=STRING),
        "items": _table(
            id=STRING, kind=STRING, name=STRING, aliases={"type": "array", "items": STRING}, faces={"type": "array"}
        ),
        "techniques": _table(id=STRING, act=STRING, **{"for": {"type": "array"}}, taught={"type": "boolean"}),
        "hazards": _table(id=STRING, name=STRING),
        "agents": _table(id=STRING, on={"type": "array"}),
        "body": {"type": "array", "items": STRING},
        "places": {"type": "array", "items": STRING},
        "zones": _table(id=STRING, name=STRING),
        "conventions": _table(id=STRING, says=STRING),
        "shadowed": SHADOWED,
        "jurisdictions": _table(
            id=STRING,
            name=STRING,
            of=STRING,
            waste=_table(hazard=STRING, rule=STRING, category={"type": "object"}, stream={"type": ["object", "null"]}),
            **{"protection-factors": _table(device=STRING, kinds={"type": "array"}, factor={"type": "integer"})},
        ),
        "rules": _table(id=STRING, kind=STRING, on={"type": "boolean"}),
    },
}


def _object(**properties: Any) -> dict[str, Any]:
    named = {key.replace("_", "-"): value for key, value in properties.items()}
    return {"type": "object", "required": list(named), "properties": named, "additionalProperties": False}


STRINGS = {"type": "array", "items": STRING}
HASH = {"type": "string", "pattern": "^[0-9a-f]{64}$"}
SITE = _object(site=STRING, route=STRING, requirement=STRING, source=STRING, would=STRINGS)
CERTAINTIES = {"enum": list(get_args(Certainty))}
PRINTED: dict[str, dict[str, Any]] = {
    "planned": _object(
        hash=HASH,
        plan={"type": "object", "description": "as plan.json"},
        assurance={"type": "object", "description": "as assurance.json"},
    ),
    "begun": _object(**{"format-version": {"const": 1}, "administrator": STRING, "set-up-code": STRING}),
    "no-plan": _object(
        plan={"type": "null"},
        why=STRING,
        reasons={"type": "array", "items": SITE},
        what_now={"type": "array", "items": {"enum": list(WHAT_NOW)}, "minItems": 1},
    ),
    "orders": {
        "type": "array",
        "items": _object(
            **{"order": STRING, "kind": {"enum": ["don", "doff"]}, "publisher": STRING, "year": STRING},
            **{"certainty": CERTAINTIES, "for": STRING},
        ),
    },
    "orders-checked": {
        "type": "array",
        "items": _object(
            order=STRING,
            presentation={"enum": list(get_args(Presentation))},
            verdict={"enum": ["clean", "reached", "not-for-this-case"]},
            reached=STRINGS,
        ),
    },
    "overlay-checked": _object(
        **{"format-version": {"const": 1}, "files": STRINGS, "ours": HASH, "facts": HASH, "shadowed": SHADOWED},
        operations=HASH,
        standards=HASH,
    ),
    "written": _object(written=STRING, bytes={"type": "integer", "minimum": 1}, plan=HASH, approved={"const": False}),
}


def everything() -> dict[str, str]:
    """Path below docs/reference to text."""
    return dict(
        [
            *schemas(),
            *readiness_reference.schemas(),
            *readiness_reference.examples(),
            *estimates_reference.schemas(),
            *estimates_reference.examples(),
            *entry_reference.schemas(),
            *entry_reference.examples(),
            *rooms_reference.schemas(),
            *rooms_reference.examples(),
            *rooms_reference.pages(),
            *record_reference.schemas(),
            *record_reference.examples(),
            *examples(),
            commands(),
            record_kinds(),
        ]
    )


def run() -> int:
    """Write, or check."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--check", action="store_true")
    options = parser.parse_args()
    stale = []
    for name, text in everything().items():
        path = PLACE / name
        if path.exists() and path.read_text("utf-8") == text:
            continue
        stale.append(name)
        if not options.check:
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_text(text, "utf-8")
    print("\n".join(stale) or "up to date", file=sys.stderr)
    return 1 if stale and options.check else 0


if __name__ == "__main__":
    sys.exit(run())
