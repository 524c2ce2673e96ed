"""The formats that others depend on: schemas, examples and the page of commands are what the code says."""

from __future__ import annotations

import json
import re

import jsonschema
import pytest
from tools import make_reference

from vestry.cli.main import main
from vestry.contact.reach import reach
from vestry.sequence import Plan, program_of
from vestry.trade import load_catalogue, read_order

EXAMPLES = {
    "order.json": "order",
    "case.json": "case",
    "policy.json": "policy",
    "plan.json": "plan",
    "assurance.json": "assurance",
    "recovery.json": "recovery",
    "program.json": "program",
    "comparison.json": "comparison",
    "substitution.json": "substitution",
    "explanation.json": "explanation",
    "weighing.json": "weighing",
    "entry-state.json": "entry-state",
    "change.json": "change",
    "inside.json": "inside",
}


def text(name: str) -> str:
    return (make_reference.PLACE / name).read_text("utf-8")


@pytest.mark.slow
def test_reference_is_what_the_code_generates():
    stale = [name for name, new in make_reference.everything().items() if text(name) != new]

    assert stale == [], "run: python -m tools.make_reference"


@pytest.mark.parametrize(("example", "schema"), EXAMPLES.items())
def test_each_example_fits_its_schema(example, schema):
    jsonschema.validate(json.loads(text(f"examples/{example}")), json.loads(text(f"schemas/{schema}.json")))


@pytest.mark.parametrize(("example", "schema"), EXAMPLES.items())
def test_each_schema_refuses_an_unknown_key(example, schema):
    document = json.loads(text(f"examples/{example}"))
    document["if"] = "visibly soiled"

    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate(document, json.loads(text(f"schemas/{schema}.json")))


def test_order_reads_the_same_from_toml_and_json():
    assert read_order(text("examples/order.toml"), "order.toml") == read_order(
        text("examples/order.json"), "order.json"
    )


def test_example_plan_keeps_its_name_through_json():
    plan = Plan.model_validate(json.loads(text("examples/plan.json")))

    assert plan.hash == json.loads(text("examples/assurance.json"))["plan"]


# ---- the pages say what each field means ----

PAGES = {
    "sequence-file.md": ["order"],
    "plan.md": ["case", "policy", "plan", "planned", "no-plan"],
    "assurance.md": ["assurance"],
    "recovery.md": ["recovery"],
    "program.md": ["program"],
    "catalog.md": ["catalog"],
    "comparison.md": ["comparison"],
    "overlay.md": ["overlay-checked"],
    "substitution.md": ["substitution"],
    "explanation.md": ["explanation"],
    "weighing.md": ["weighing"],
    "change.md": ["change", "inside"],
    "amounts.md": ["amounts", "amounts-differ", "whatif"],
    "events.md": ["event", "entry-state"],
    "rooms-and-heat.md": ["air", "dilute", "waste", "heat-predicted", "heat-index", "heat-measured"],
    "operations.md": ["operations"],
    "bundle.md": ["bundle"],
}
# A format that holds others whole: their fields are told on their own pages, which it links to.
HOLDS = {
    "substitution.md": ("plan.md", "assurance.md", "comparison.md"),
    "weighing.md": ("plan.md", "comparison.md"),
    "change.md": ("plan.md", "assurance.md", "comparison.md"),
    "bundle.md": ("plan.md", "recovery.md", "program.md"),
}


def fields(schema: object) -> set[str]:
    """Every key that a document of this schema may hold."""
    if isinstance(schema, list):
        return set().union(*map(fields, schema)) if schema else set()
    if not isinstance(schema, dict):
        return set()
    own = set(schema["properties"]) if isinstance(schema.get("properties"), dict) else set()
    return own.union(*(fields(value) for value in schema.values()))


@pytest.mark.parametrize("page", PAGES)
def test_each_page_names_every_field_of_its_formats(page):
    told = text(page)
    assert all(f"]({held})" in told for held in HOLDS.get(page, ()))
    told += "".join(text(held) for held in HOLDS.get(page, ()))
    for schema in PAGES[page]:
        missing = {name for name in fields(json.loads(text(f"schemas/{schema}.json"))) if f"`{name}`" not in told}
        missing -= {"hash", "plan", "assurance"} if schema == "planned" else set()
        assert not missing, f"{page} says nothing of {sorted(missing)} of {schema}"


@pytest.mark.parametrize("page", [*PAGES, "commands.md"])
def test_every_link_of_a_page_leads_somewhere(page):
    for target in re.findall(r"\]\(([^)#]+)", text(page)):
        assert (make_reference.PLACE / target).exists(), f"{page}: {target}"


@pytest.mark.parametrize("example", EXAMPLES)
def test_no_example_has_a_condition_or_a_fraction(example):
    def walk(value):
        if isinstance(value, dict):
            assert not {"if", "when-not", "unless", "condition"} & set(value)
            for inner in value.values():
                walk(inner)
        elif isinstance(value, list):
            for inner in value:
                walk(inner)
        else:
            assert not isinstance(value, float)

    walk(json.loads(text(f"examples/{example}")))


def test_example_program_runs_as_the_page_says():
    """The page's own recipe, on the file alone, against the model."""
    document = json.loads(text("examples/program.json"))
    plan = Plan.model_validate(json.loads(text("examples/plan.json")))
    now = {surface for surface, _ in document["start"]}
    for verb, a, b, event, _, _ in document["ops"]:
        if verb in ("clean", "fresh"):
            now.discard(a)
        elif event == -1:
            touched = {b} if a in now else set()
            now |= touched | ({a} if verb == "contact" and b in now else set())

    assert now == set(reach(program_of(plan, load_catalogue())).at_end)


def test_the_catalogue_of_the_page_is_what_is_printed(capsys):
    main(["catalog", "--json"])
    document = json.loads(capsys.readouterr().out)
    keys = set(document)
    rows = [row for part in document.values() if isinstance(part, list) for row in part if isinstance(row, dict)]
    for row in [*rows, *(face for item in document["items"] for face in item["faces"])]:
        keys |= set(row)
    assert not {key for key in keys if f"`{key}`" not in text("catalog.md")}
