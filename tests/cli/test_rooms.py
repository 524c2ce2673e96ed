"""air, dilute, waste and heat from a terminal: JSON by its schema, exit status, bad input named, and a quick start."""

from __future__ import annotations

import json
import re
import subprocess
import sys
from typing import Any

import jsonschema
import pytest
from tools.make_reference import PLACE
from tools.rooms_reference import EXAMPLES

from vestry.cli.main import QUICK, main
from vestry.trade.words import load_words

# argv, exit status, schema
ASKED = {
    "air": ("air --ach 12 --removal 99.9", 0, "air"),
    "air-after": ("air --ach 6 --after 30 --mixing 3", 0, "air"),
    "air-source": ("air --ach 12 --source-present", 1, "air"),
    "air-hazard": ("air --ach 12 --hazard mers", 0, "air"),
    "dilute": ("dilute --stock 5 --wanted 0.5", 0, "dilute"),
    "dilute-powder": ("dilute --powder 35 --wanted 0.5 --litres 10", 0, "dilute"),
    "dilute-tablet": ("dilute --tablet 1000 --wanted 1", 0, "dilute"),
    "dilute-stronger": ("dilute --stock 0.5 --wanted 5", 1, "dilute"),
    "dilute-ambiguous": ("dilute --stock 5 --recipe 1:10", 1, "dilute"),
    "waste": ("waste --hazard mers --jurisdiction us --patient-days 2", 0, "waste"),
    "waste-unknown": ("waste --hazard lassa --jurisdiction uk", 1, "waste"),
    "heat-index": ("heat index --wbgt 20 --work 1", 0, "heat-index"),
    "heat-index-over": ("heat index --wbgt 27 --garment vapour-barrier-hood", 1, "heat-index"),
    "heat-index-nothing": ("heat index --wbgt 20 --garment microporous-coverall", 1, "heat-index"),
    "heat-outside": (EXAMPLES["heat-predicted"], 1, "heat-predicted"),
    "heat-measured": ("heat measured", 0, "heat-measured"),
}


def told(capsys: pytest.CaptureFixture[str], typed: str | list[str]) -> tuple[int, str, str]:
    status = main(typed.split() if isinstance(typed, str) else typed)
    out, err = capsys.readouterr()
    return status, out, err


def asked(capsys: pytest.CaptureFixture[str], typed: str | list[str]) -> dict[str, Any]:
    _, out, _ = told(capsys, [*(typed.split() if isinstance(typed, str) else typed), "--json"])
    return dict(json.loads(out))


@pytest.mark.parametrize("name", ASKED)
def test_json_fits_its_schema_and_the_status_says_yes_or_no(name: str, capsys: pytest.CaptureFixture[str]) -> None:
    typed, expected, form = ASKED[name]
    status, out, _ = told(capsys, f"{typed} --json")
    schema = json.loads((PLACE / "schemas" / f"{form}.json").read_text("utf-8"))

    assert status == expected
    jsonschema.validate(json.loads(out), schema)


@pytest.mark.parametrize("name", ASKED)
def test_what_is_read_has_the_cautions_and_never_says_safe(name: str, capsys: pytest.CaptureFixture[str]) -> None:
    typed, expected, _ = ASKED[name]
    status, out, _ = told(capsys, typed)
    text = re.sub(r"\s+", " ", out)

    assert status == expected
    assert not re.search(r"\b(safe(ly|ty|r)?|proven|guaranteed)\b", text, re.IGNORECASE)
    assert all(caution in text for caution in load_words("en").cautions)


def test_air_of_twelve_changes(capsys: pytest.CaptureFixture[str]) -> None:
    found = asked(capsys, "air --ach 12 --removal 99.9")["clearances"]
    assert [(one["removal"], one["rounded"], one["wait"]) for one in found] == [(99.9, 35, 35)]
    assert found[0]["minutes"] == pytest.approx(34.538776, abs=1e-6)


def test_supply_and_exhaust_are_not_added_and_cleaners_are(capsys: pytest.CaptureFixture[str]) -> None:
    typed = "air --supply 300m3/h --exhaust 360m3/h --volume 60m3 --cleaner 120m3/h 60m3/h"
    found = asked(capsys, typed)
    assert found["ach"] == 6 + 2 + 1
    assert [one["source"] for one in found["parts"] if not one["counted"]] == ["supply"]


def test_feet_and_metres_give_the_same(capsys: pytest.CaptureFixture[str]) -> None:
    feet = asked(capsys, ["air", "--flow", "350 cfm", "--area", "175 ft2", "--height", "10 ft"])
    assert feet["ach"] == 12


def test_where_the_air_is_beside_the_point_it_says_so(capsys: pytest.CaptureFixture[str]) -> None:
    assert asked(capsys, "air --ach 12 --hazard lassa")["relevance"]["answer"] == "not-by-air"
    assert asked(capsys, "air --ach 12 --hazard lassa --aerosol")["relevance"]["answer"] == "by-task"
    assert asked(capsys, "air --ach 12 --hazard mers")["relevance"]["answer"] == "airborne"


def test_with_a_source_in_the_room_no_minutes_are_given(capsys: pytest.CaptureFixture[str]) -> None:
    found = asked(capsys, "air --ach 12 --source-present --after 30")
    assert (found["holds"], found["why"], found["clearances"], found["after"]) == (False, "source-present", [], None)


def test_a_recipe_with_two_readings_shows_both_and_works_out_neither(capsys: pytest.CaptureFixture[str]) -> None:
    found = asked(capsys, ["dilute", "--stock", "5", "--recipe", "400 mL in 1 litre"])
    assert (found["possible"], found["why"]) == (False, "ambiguous")
    assert {one["says"]: round(one["percent"], 3) for one in found["recipes"][0]["readings"]} == {
        "made-up-to": 2.0,
        "added-to": 1.429,
    }


def test_how_long_it_keeps_is_told_for_the_strength_that_is_made_and_not_where_none_is(
    capsys: pytest.CaptureFixture[str],
) -> None:
    mild = asked(capsys, "dilute --product nadcc-tablet-1g --wanted 0.05")["keeps"]
    strong = asked(capsys, "dilute --product nadcc-tablet-1g --wanted 0.5")["keeps"]
    none = asked(capsys, "dilute --product bleach --wanted 50")

    assert [one["hours"] for one in mild if one["setting"] == "model"] == [0.38]
    assert [one["hours"] for one in strong if one["setting"] == "model"] == [0.82]
    assert (none["possible"], none["use-within-hours"], none["keeps"]) == (False, None, [])
    main(["dilute", "--product", "nadcc-tablet-1g", "--wanted", "0.5"])
    assert "by a model, at 0.5 %, 40 °C: 0.82 h" in capsys.readouterr().out


def test_the_two_ways_to_read_a_part_and_a_volume_are_told_beside_the_answer(
    capsys: pytest.CaptureFixture[str],
) -> None:
    liquid = " ".join(asked(capsys, "dilute --stock 5 --wanted 0.5")["says"])
    powder = " ".join(asked(capsys, "dilute --powder 35 --wanted 0.5")["says"])

    assert "read by others with more water" in liquid
    assert "what there is in the end" in liquid
    assert "read by others" not in powder
    assert "what there is in the end" in powder


def test_two_recipes_that_contradict_each_other_are_told(capsys: pytest.CaptureFixture[str]) -> None:
    typed = ["dilute", "--stock", "2.6", "--recipe", "1 part + 100 parts water", "1 part + 49 parts water"]
    assert asked(capsys, typed)["why"] == "contradict"


def test_the_clock_is_never_longer_than_the_policy(capsys: pytest.CaptureFixture[str]) -> None:
    found = asked(capsys, EXAMPLES["heat-predicted"])
    assert found["predicted"] is None
    assert found["allowed"] == {"minutes": 60, "by": "policy", "policy": 60}
    assert {one["what"] for one in found["reasons"]} == {"impermeable"}
    assert found["measured"]


# What is typed, and the fields that the refusal names.
REFUSED = {
    "air": ["ach"],
    "air --ach nan": ["ach"],
    "air --ach inf": ["ach"],
    "air --ach 0": ["ach"],
    "air --ach -3": ["ach"],
    "air --ach 1e99": ["ach"],
    "air --ach 12 --removal 100": ["removal"],
    "air --ach 12 --removal 0": ["removal"],
    "air --ach 12 --mixing 0": ["mixing"],
    "air --ach 12 --mixing 0.5": ["mixing"],
    "air --ach 12,5": ["ach"],
    "air --flow 300": ["volume"],
    "air --flow 350cfm --volume 50": ["volume"],
    "air --flow 350 --volume 50ft3": ["flow"],
    "air --flow 300 --volume 10gal": ["volume"],
    "air --flow 300 --volume 0": ["volume"],
    "air --ach 12 --flow 300 --volume 50": ["flow"],
    "air --flow 300 --supply 200 --volume 50": ["flow"],
    "air --ach x --mixing y --removal z": ["mixing", "removal", "ach"],
    "air --ach 12 --hazard lasa": ["hazard"],
    "dilute --wanted 0.5": ["stock"],
    "dilute --stock 5": ["wanted"],
    "dilute --stock nan --wanted 0": ["stock", "wanted"],
    "dilute --stock 5 --wanted -1": ["wanted"],
    "dilute --stock 0 --wanted 0.5": ["stock"],
    "dilute --stock 101 --wanted 0.5": ["stock"],
    "dilute --stock 5 --powder 70 --wanted 0.5": ["powder"],
    "dilute --stock 5 --wanted 0.5 --litres 0": ["litres"],
    "dilute --stock 5furlong --wanted 0.5": ["stock"],
    "dilute --tablet 0 --wanted 0.5": ["tablet"],
    "dilute --product hthh --wanted 0.5": ["product"],
    "dilute --product hth --stock 5 --wanted 0.5": ["product"],
    "dilute --stock 5 --recipe plenty": ["recipe"],
    "dilute --stock 5 --recipe 0:0": ["recipe"],
    "waste --hazard lasa": ["hazard"],
    "waste --hazard lassa --jurisdiction zz": ["jurisdiction"],
    "waste --hazard lassa --patient-days -1": ["patient-days"],
    "waste --hazard lassa --doffings nan": ["doffings"],
    "heat index": ["wbgt"],
    "heat index --wbgt nan": ["wbgt"],
    "heat index --wbgt 500": ["wbgt"],
    "heat index --wbgt 20 --natural-wet 20": ["wbgt"],
    "heat index --wbgt 20 --garment cape": ["garment"],
    "heat index --wbgt 20 --air 30": ["air"],
    "heat predict --air inf --humidity 50 --speed 1 --met 2 --clo 1": ["air"],
    "heat predict": ["air", "humidity", "speed", "clo", "metabolic"],
    "heat predict --air x --vapour 2": ["air", "speed", "clo", "metabolic"],
    "heat predict --air 30 --humidity 50 --speed 1 --clo 1": ["metabolic"],
    "heat predict --air 30 --humidity 50 --speed 1 --clo 1 --met 2 --policy 0": ["policy"],
}


@pytest.mark.parametrize("typed", REFUSED)
def test_bad_input_is_refused_with_every_field_that_is_wrong(typed: str, capsys: pytest.CaptureFixture[str]) -> None:
    status, out, err = told(capsys, typed)

    assert (status, out) == (2, "")
    assert "Traceback" not in err
    assert sorted(line.split(": ")[1].split()[0] for line in err.splitlines()) == sorted(REFUSED[typed])


def test_a_hospitals_own_record_lies_over_ours(tmp_path: Any, capsys: pytest.CaptureFixture[str]) -> None:
    own = tmp_path / "own.toml"
    page = (PLACE / "operations.md").read_text("utf-8")
    own.write_text(page.split("```toml\n")[1].split("```")[0], "utf-8")
    found = asked(capsys, ["dilute", "--stock", "5", "--wanted", "0.5", "--own", str(own)])

    assert {one["use"]: one["minutes"] for one in found["contact"]}["surfaces"] == 5.0
    assert found["operations"] != asked(capsys, "dilute --stock 5 --wanted 0.5")["operations"]


@pytest.mark.slow
def test_they_start_without_the_planner_and_without_heavy_libraries() -> None:
    heavy = "('vestry.sequence', 'vestry.contact', 'numpy', 'numba', 'django', 'pythermalcomfort')"
    script = (
        "import sys; from vestry.cli import main; "
        "statuses = [main(line.split()) for line in sys.argv[1:]]; "
        f"print([name for name in {heavy} if name in sys.modules], statuses, file=sys.stderr)"
    )
    lines = [ASKED[name][0] for name in ("air-hazard", "dilute", "waste", "heat-index", "heat-outside")]
    run = subprocess.run([sys.executable, "-c", script, *lines], capture_output=True, text=True, check=True)

    assert run.stderr.strip() == "[] [0, 0, 0, 0, 1]"
    assert {line.split()[0] for line in lines} == set(QUICK)
