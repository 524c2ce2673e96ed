"""`vestry scan`: what a code says, and exit status 1 where something in it cannot be right."""

import json

import jsonschema
import pytest
from tools import make_reference

from vestry.cli.main import main

WHOLE = "(01)51022222233336(17)270131(10)A213B1(21)1234"


def printed(capsys, status, *arguments):
    assert main(["scan", *arguments, "--json"]) == status
    document = json.loads(capsys.readouterr().out)
    schema = json.loads((make_reference.PLACE / "schemas/scan.json").read_text("utf-8"))
    jsonschema.validate(document, schema)
    return document


def test_a_whole_code_is_yes(capsys):
    document = printed(capsys, 0, WHOLE)

    assert (document["gtin"], document["lot"], document["expiry"]) == ("51022222233336", "A213B1", "2027-01-31")


def test_a_date_that_is_none_is_no_and_the_item_is_kept(capsys):
    document = printed(capsys, 1, "(01)51022222233336(17)260231", "--year", "2026")

    assert document["gtin"] == "51022222233336"
    assert document["problems"] == [{"field": "expiry", "what": "260231 is no date (YYMMDD)"}]


def test_a_units_own_key_for_the_separator(capsys):
    assert printed(capsys, 0, "015102222223333610A1|211234", "--separator", "|")["serial"] == "1234"


def test_in_words(capsys):
    assert main(["scan", "(01)51022222233336(17)260231(10)A1", "--year", "2026"]) == 1
    assert capsys.readouterr().out.splitlines() == [
        "item number (GTIN): 51022222233336",
        "packaging level: 5",
        "lot: A1",
        "Cannot be right: expiry: 260231 is no date (YYMMDD)",
    ]


@pytest.mark.parametrize("arguments", [[], ["a", "b"], [WHOLE, "--year", "soon"]])
def test_wrong_use(arguments, capsys):
    assert main(["scan", *arguments]) == 2
