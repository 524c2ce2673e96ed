"""The formats that others depend on: schemas, examples and the page of commands are what the code says."""

from __future__ import annotations

import json

import jsonschema
import pytest
from tools import make_reference

from vestry.sequence import Plan
from vestry.trade import read_order

EXAMPLES = {
    "order.json": "order",
    "case.json": "case",
    "policy.json": "policy",
    "plan.json": "plan",
    "assurance.json": "assurance",
    "recovery.json": "recovery",
    "program.json": "program",
}


def text(name: str) -> str:
    return (make_reference.PLACE / name).read_text("utf-8")


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
