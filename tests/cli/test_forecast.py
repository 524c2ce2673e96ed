"""`vestry forecast`: JSON by its schema, exit statuses, the page that names every field, and what it refuses."""

from __future__ import annotations

import json
import tomllib
from typing import Any

import jsonschema
import pytest
from tests.cli.test_reference import fields, text
from tools.make_reference import PLACE

from vestry.cli.main import main

STAY = str(PLACE / "examples" / "stay.toml")
FAST = ("--draws", "100")


def document() -> dict[str, Any]:
    return json.loads(json.dumps(tomllib.loads(text("examples/stay.toml")), default=lambda one: one.isoformat()))


@pytest.fixture
def asked(tmp_path, capsys):
    """A stay as JSON, and what the command says: status, standard output, standard error."""

    def ask(stay: dict[str, Any], *options: str) -> tuple[int, str, str]:
        file = tmp_path / "stay.json"
        file.write_text(json.dumps(stay))
        status = main(["forecast", str(file), *options])
        out, err = capsys.readouterr()
        return status, out, err.replace(str(file), "FILE")

    return ask


@pytest.mark.parametrize(("example", "schema"), [("stay.toml", "stay"), ("forecast.json", "forecast")])
def test_each_example_fits_its_schema_and_an_unknown_key_does_not(example, schema):
    held = document() if example.endswith("toml") else json.loads(text(f"examples/{example}"))
    schema = json.loads(text(f"schemas/{schema}.json"))

    jsonschema.validate(held, schema)
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate(held | {"if": "visibly soiled"}, schema)


@pytest.mark.parametrize("schema", ["stay", "forecast"])
def test_the_page_names_every_field(schema):
    page = text("forecast.md")
    held = json.loads(text(f"schemas/{schema}.json"))
    held["$defs"] = {name: one for name, one in held["$defs"].items() if name in OURS}

    assert not {name for name in fields(held) if f"`{name}`" not in page}


OURS = {
    "Shift", "Person", "Ensemble", "Work", "StockLot", "Delivery", "Reserve", "Again", "Rates", "Times",
    "Share", "Quantile", "Mean", "PoolFound", "OrderNow", "ShiftFound", "WasteFound", "Instead", "Further",
    "FigureUsed",
}  # fmt: skip


def test_it_prints_json_by_its_schema_and_says_no_with_status_one(capsys):
    status = main(["forecast", STAY, *FAST, "--json"])
    found = json.loads(capsys.readouterr().out)

    jsonschema.validate(found, json.loads(text("schemas/forecast.json")))
    assert (status, found["enough"], found["pools"][0]["item"]) == (1, "no", "outer-gloves-long")


def test_a_stay_that_is_sustained_has_status_zero_and_the_cautions(capsys):
    assert main(["forecast", STAY, *FAST, "--hours", "48"]) == 0

    out = capsys.readouterr().out
    assert "Stock lasts 48 hours in 100 % of the simulated stays" in out
    assert "It replaces neither local procedure" in " ".join(out.split())


def test_too_few_people_is_no(asked, capsys):
    stay = document()
    stay["people"] = [one | {"count": 1} for one in stay["people"]]
    stay["minutes"] = {"rest": 600}
    status, out, _ = asked(stay, *FAST, "--hours", "48")

    assert status == 1
    assert "There are not people enough on every shift" in out


@pytest.mark.slow
def test_the_same_seed_prints_the_same_and_another_does_not(capsys):
    def printed(seed: str) -> str:
        main(["forecast", STAY, *FAST, "--seed", seed, "--json"])
        return capsys.readouterr().out

    assert printed("1") == printed("1") != printed("2")


@pytest.mark.slow
def test_with_a_plan_its_items_are_counted_and_a_substitution_is_told(capsys):
    main(["forecast", STAY, *FAST, "--plan", f"haemorrhagic={PLACE / 'examples' / 'plan.json'}", "--json"])
    found = json.loads(capsys.readouterr().out)

    shield = next(one for one in found["instead"] if one["without"] == "face-shield")
    assert (shield["found"], shield["worn"], shield["clean"]) == ("planned", ["goggles"], True)
    assert {"mucosa", "skin"} <= {one["endpoint"] for one in shield["further"]}


# ---- refused, everything at once ----

BAD: dict[str, tuple[dict[str, Any], list[str]]] = {
    "names": (
        {"work": [{"id": "x", "ensemble": "haemorragic", "by": "nurze", "inside": 1}]},
        [
            "work.0.by: no group of people is called nurze; did you mean nurse?",
            "work.0.ensemble: no ensemble is called haemorragic; did you mean haemorrhagic?",
        ],
    ),
    "items": (
        {"stock": [{"item": "gown", "count": 3}, {"item": "face-sheild", "count": 1}]},
        ["stock.0.item: no item is called gown", "no item is called face-sheild; did you mean face-shield"],
    ),
    "hours": (
        {"starts": "2027-03-01T08:30:00", "transfer-hours": [9, 3]},
        ["starts: a whole hour, such as 2027-03-01T08:00", "transfer-hours: from the earliest hour to the latest"],
    ),
    "rates": (
        {"rates": {"damage-per-piece": 0.1, "damaged-a-day": 1}},
        ["rates: damage-per-piece or damaged-a-day, not both"],
    ),
    "nobody": ({"work": [{"id": "x", "ensemble": "haemorrhagic", "by": "nurse"}]}, ["work.0: asks for nobody"]),
    "negative": ({"stock": [{"item": "apron", "count": -1}]}, ["stock.0.count: Input should be greater than or equal"]),
    "not-a-number": ({"target": "NaN"}, ["target: Input should be a finite number"]),
    "too-long": ({"hours": 100_000}, ["hours: Input should be less than or equal to 2160"]),
    "too-much": (
        {"draws": 20_000, "hours": 2160, "work": [{"id": "x", "ensemble": "haemorrhagic", "by": "nurse", "inside": 6}]},
        ["draws: ", "entries to simulate; at most"],
    ),
    "twice": ({"shifts": [{"id": "day", "from-hour": 8, "hours": 12}] * 2}, ["shifts: day stands 2 times"]),
    "not-reused": ({"again": [{"item": "apron", "hours": 2}]}, ["again.0.item: apron is not used again"]),
    "no-such-day": ({"stock": [{"item": "apron", "count": 1, "expires": "2027-02-30"}]}, ["stock.0.expires: "]),
}  # fmt: skip


@pytest.mark.parametrize("name", BAD)
def test_bad_input_is_told_with_its_field_and_what_would_be_right(asked, name):
    change, says = BAD[name]
    status, out, err = asked(document() | change)

    assert (status, out) == (2, "")
    assert all(one in err for one in says), err
    assert "Traceback" not in err


def test_what_nobody_said_anything_of_is_told_and_not_taken_for_plenty(asked):
    stay = document()
    stay["stock"] = [one for one in stay["stock"] if one["item"] not in ("hair-cover", "face-shield")]
    stay["deliveries"] = []
    stay["people"][0]["sizes"].pop("gown")
    status, _, err = asked(stay)

    assert status == 2
    assert "nothing of hair-cover: give its count (0 for none), or name it in not-counted" in err
    assert "nothing of face-shield" in err
    assert "people.0.sizes: which size of gown-fluid-resistant does nurse-a wear? On the shelf: l, m, xl" in err


def test_a_plan_for_no_ensemble_is_refused(capsys):
    assert main(["forecast", STAY, "--plan", f"other={PLACE / 'examples' / 'plan.json'}"]) == 2
    assert main(["forecast", STAY, "--plan", "plan.json"]) == 2

    err = capsys.readouterr().err
    assert "none is called other; there are haemorrhagic" in err
    assert "ENSEMBLE=FILE" in err
