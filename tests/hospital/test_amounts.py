"""Amounts at the desk: what the lead and the auditor see, what nobody else does, and what it costs to ask."""

from __future__ import annotations

import html
import json
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from django.db import connection
from django.test import Client
from tests.hospital.conftest import adopt
from tests.hospital.recording import recorded

from vestry.hospital.jobs import amounts as job

pytestmark = pytest.mark.django_db
Sign = Callable[[str], Client]
EX1, COVID = "cdc-standard-doff-ex1--respirator-shield", "cdc-covid-doff-2020--respirator-shield"
SCHEMAS = Path(__file__).parents[2] / "docs" / "reference" / "schemas"
OWN = """format-version = 1
[[evidence]]
id = "short-rub"
quantity = "short-rub-probability"
unit = "probability"
law = { kind = "fixed", value = 0.9 }
source = "hospital"
certainty = "invented"
trust = "medium"
because = { reason = "invented", name = "Ingrid Vell", date = 2026-11-02 }
"""


@pytest.fixture(autouse=True)
def _few(monkeypatch: pytest.MonkeyPatch) -> None:
    """Few runs, so that a test takes little; nothing is kept from one test to the next."""
    monkeypatch.setattr("vestry.hospital.desk.amounts_asked.DRAWS", 400)
    job._done.clear()


def told(answer: Any) -> str:
    return html.unescape(re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", answer.content.decode())))


@pytest.mark.slow
def test_the_panel_of_an_order_tells_chances_amounts_contributions_and_what_matters(signed_in: Sign):
    answer = signed_in("ingrid").get("/amounts/", {"of": f"order:{EX1}"})
    said = told(answer)

    assert answer.status_code == 200
    assert "Never a probability of infection." in said
    for heading in ("Alarm load", "Found by a sample", "How much", "What goes with each step", "Event by event",
                    "Which estimate matters most", "This unit's own record", "What it rests on"):  # fmt: skip
        assert heading in said
    assert "The rows need not add up" in said
    assert re.search(r"Eyes, nose or mouth at any time [\d.]+ ± [\d.]+", said)
    assert "No entry is over yet, so there is nothing to count." in said
    page = answer.content.decode()
    assert page.count('<svg class="line"') > 20
    assert "style=" not in page


@pytest.mark.slow
def test_a_planned_case_is_followed_into_its_recoveries(signed_in: Sign, planned: Any):
    said = told(signed_in("anselm").get("/amounts/", {"of": f"case:{planned.pk}"}))

    assert "Runs in which the observer saw a deviation and the recovery was followed. That was" in said


@pytest.mark.slow
def test_circumstances_change_the_answer_and_are_told(signed_in: Sign):
    client = signed_in("ingrid")
    usual = client.get("/amounts/found.json", {"of": f"order:{EX1}"}).json()["amounts"]
    asked = {"of": f"order:{EX1}", "trained": "no", "months": "8", "minutes": "90", "climate": "hot", "soil": "blood"}
    other = client.get("/amounts/found.json", asked).json()["amounts"]

    assert other["context"] == usual["context"] | {
        "trained": False, "months": 8.0, "minutes": 90.0, "climate": "hot", "soil": "blood",
    }  # fmt: skip
    assert other["contributions"] != usual["contributions"]
    assert "Minutes in the ensemble before 90" in told(client.get("/amounts/", asked))


@pytest.mark.slow
def test_two_are_compared_on_the_same_runs_with_an_interval(signed_in: Sign):
    client = signed_in("ingrid")
    asked = {"of": f"order:{EX1}", "with": f"order:{COVID}"}
    found = client.get("/amounts/found.json", asked).json()

    jsonschema.validate(found["amounts"], json.loads((SCHEMAS / "amounts.json").read_text("utf-8")))
    jsonschema.validate(found["beside"], json.loads((SCHEMAS / "amounts-differ.json").read_text("utf-8")))
    assert "Beside another, on the same runs" in told(client.get("/amounts/", asked))


@pytest.mark.slow
def test_a_plan_beside_the_best_without_one_of_its_items(signed_in: Sign, planned: Any):
    item = next(one for one in planned.worked_out["plan"]["ensemble"] if "shoe" not in one["item"])["item"]
    answer = signed_in("ingrid").get("/amounts/", {"of": f"case:{planned.pk}", "with": f"without:{item}"})

    assert "Beside another, on the same runs" in told(answer) or "There is no answer." in told(answer)


@pytest.mark.slow
def test_what_a_change_buys_is_ranked_and_a_minimum_is_never_offered_for_removal(signed_in: Sign):
    client = signed_in("ingrid")
    asked = {"of": f"order:{EX1}"}
    answer = client.get("/amounts/changes/", asked)
    said, found = told(answer), client.get("/amounts/found.json", asked | {"part": "changes"}).json()

    jsonschema.validate(found, json.loads((SCHEMAS / "whatif.json").read_text("utf-8")))
    assert "Never offered for removal" in said
    assert "The observer" in said
    assert "The second person" in said
    offered = {one["kind"] for one in found["changes"]}
    assert offered <= {"drop-hygiene", "add-hygiene", "agent", "change-gloves", "observer", "read-aloud", "training",
                       "practice", "relief"}  # fmt: skip
    kept = {one["what"] for one in found["kept"]}
    assert not [one for one in found["changes"] if one["kind"] == "drop-hygiene" and one["at"].split(":")[0] in kept]
    differences = [
        next(row for row in one["rows"] if row["endpoint"] == "exposure")["difference"]["value"]
        for one in found["changes"]
    ]
    assert differences == sorted(differences)


@pytest.mark.slow
def test_it_prints(signed_in: Sign):
    client = signed_in("ingrid")
    paper = client.get("/amounts/found.pdf", {"of": f"order:{EX1}", "with": f"order:{COVID}"})

    assert paper["Content-Type"] == "application/pdf"
    assert paper.content.startswith(b"%PDF-")
    assert len(paper.content) > 20_000


@pytest.mark.parametrize("wrong", [{"months": "-1"}, {"minutes": "a lot"}, {"draws": "7"}, {"with": "order:none"}])
def test_what_cannot_be_asked_is_told_at_its_field(signed_in: Sign, wrong: dict[str, str]):
    answer = signed_in("ingrid").get("/amounts/", {"of": f"order:{EX1}"} | wrong)

    assert answer.status_code == 422
    assert "That cannot be asked" in told(answer)


def test_nothing_asked_says_where_to_begin_and_nothing_known_is_not_there(signed_in: Sign):
    assert "Nothing is asked about yet." in told(signed_in("ingrid").get("/amounts/"))
    assert signed_in("ingrid").get("/amounts/", {"of": "order:none"}).status_code == 404


@pytest.mark.parametrize("who", ["tomas", "noor", "sander", "oona", "ada", "petra"])
def test_nobody_but_lead_and_auditor_sees_amounts(signed_in: Sign, who: str):
    for page in ("/amounts/", "/amounts/changes/", "/amounts/found.json", "/amounts/found.pdf"):
        assert signed_in(who).get(page, {"of": f"order:{EX1}"}).status_code == 403


def test_no_screen_of_an_entry_leads_to_amounts(signed_in: Sign, entry: Any):
    for page in (f"/entries/{entry.pk}/", f"/entries/{entry.pk}/wearer/"):
        said = signed_in("tomas").get(page).content.decode()
        assert "amounts" not in said
        assert "alarm load" not in said.lower()


# ---- how it is asked ----


@pytest.mark.django_db(transaction=True)
@pytest.mark.slow
def test_runs_are_drawn_in_no_transaction(signed_in: Sign, monkeypatch: pytest.MonkeyPatch):
    seen: list[bool] = []
    real = job.amounts

    def watched(*parts: Any, **more: Any) -> Any:
        seen.append(connection.in_atomic_block)
        return real(*parts, **more)

    monkeypatch.setattr(job, "amounts", watched)
    signed_in("ingrid").get("/amounts/", {"of": f"order:{EX1}"})
    assert seen == [False]


@pytest.mark.slow
def test_an_answer_is_worked_out_once(signed_in: Sign, monkeypatch: pytest.MonkeyPatch):
    asked: list[int] = []
    real = job.amounts
    monkeypatch.setattr(job, "amounts", lambda *parts, **more: asked.append(1) or real(*parts, **more))
    for page in ("/amounts/", "/amounts/found.json", "/amounts/found.pdf"):
        assert signed_in("ingrid").get(page, {"of": f"order:{EX1}"}).status_code == 200
    assert asked == [1]


@pytest.mark.slow
def test_what_takes_long_says_how_far_it_is_and_stops_when_asked(
    signed_in: Sign, settings: Any, monkeypatch: pytest.MonkeyPatch
):
    settings.PLAN_IN_PLACE = False
    monkeypatch.setattr(job, "PATIENCE", 0.3)
    client = signed_in("ingrid")
    asked = {"of": f"order:{EX1}", "draws": "2000000"}
    page = client.get("/amounts/", asked)
    assert "The runs are being drawn" in told(page)
    assert '<meta http-equiv="refresh" content="1">' in page.content.decode()
    assert client.get("/amounts/found.json", asked).status_code == 202
    name = re.search(r'name="name" value="(\w+)"', page.content.decode())
    assert name is not None
    back = f"/amounts/?of=order:{EX1}&draws=2000000"
    assert client.post("/amounts/stop/", {"name": name[1], "back": back})["Location"] == back
    monkeypatch.setattr(job, "PATIENCE", 60.0)
    said = told(client.get("/amounts/", asked))
    assert "Stopped before it was done." in said
    assert "Draw them again" in said
    assert client.get("/amounts/found.json", asked).status_code == 409


def test_stopping_leads_nowhere_else(signed_in: Sign):
    answer = signed_in("ingrid").post("/amounts/stop/", {"name": "x", "back": "https://example.org/amounts/"})
    assert answer["Location"] == "/amounts/"


def test_a_failure_is_told_as_ours(signed_in: Sign, monkeypatch: pytest.MonkeyPatch):
    def fails(*parts: Any, **more: Any) -> Any:
        raise ZeroDivisionError

    monkeypatch.setattr(job, "amounts", fails)
    answer = signed_in("ingrid").get("/amounts/", {"of": f"order:{EX1}"})
    assert answer.status_code == 200
    assert "It is Vestry's fault, not yours" in told(answer)


# ---- the hospital's own estimates ----


@pytest.mark.slow
def test_own_estimates_are_adopted_with_the_facts_shown_with_ours_and_used(signed_in: Sign, staff: dict[str, Any]):
    client = signed_in("ingrid")
    asked = {"of": f"order:{EX1}", "observer": "yes"}
    before = client.get("/amounts/found.json", asked).json()["amounts"]
    adopt(staff["ingrid"], {"own-estimates.toml": OWN})
    after = client.get("/amounts/found.json", asked).json()["amounts"]

    assert before["evidence"] != after["evidence"]
    rests = {one["id"]: one for one in after["rests-on"]}
    assert rests["short-rub"]["certainty"] == "invented"
    for page in ("/facts/", "/facts/estimates/?quantity=short-rub-probability"):
        said = told(client.get(page))
        assert "short-rub" in said
        assert "fixed: value 0.9" in said
        assert "beta: alpha 2.4, beta 6.6" in said
    assert "the hospital's own" in told(client.get("/facts/estimates/?quantity=short-rub-probability"))


@pytest.mark.slow
def test_own_estimates_are_previewed_and_adopted_on_the_page(signed_in: Sign):
    client = signed_in("ingrid")
    said = {"name_1": "own-estimates.toml", "text_1": OWN, "act": "preview"}
    preview = client.post("/facts/adopt/", said)
    assert "Estimates of amounts laid over ours" in told(preview)
    digest = re.search(r'name="digest" value="(\w{64})"', preview.content.decode())
    assert digest is not None
    changed = {**said, "text_1": OWN.replace("0.9", "0.8"), "act": "adopt", "digest": digest[1], "reason": "tests"}
    assert "not what the preview showed" in told(client.post("/facts/adopt/", changed))
    assert client.post("/facts/adopt/", {**changed, "text_1": OWN}).status_code == 302
    from vestry.hospital import facts

    assert facts.estimates().evidence.records["short-rub"].law.value == 0.9


@pytest.mark.slow
def test_a_hostile_file_of_estimates_is_refused_with_its_line(signed_in: Sign):
    for wrong, line, what in (("value = 1.9", 6, "probability lies between 0 and 1"), ("value = nan", 6, "finite")):
        text = OWN.replace("value = 0.9", wrong)
        answer = signed_in("ingrid").post("/facts/adopt/", {"name_1": "own.toml", "text_1": text, "act": "preview"})
        assert answer.status_code == 422
        assert f"own.toml:{line}:" in told(answer)
        assert what in told(answer)


def test_an_item_that_the_hospital_retired_does_not_spoil_the_estimates(signed_in: Sign, staff: dict[str, Any]):
    retired = "".join(
        f'[[retire]]\nkind = "item"\nid = "{item}"\n'
        'because = { reason = "invented", name = "Ingrid Vell", date = 2026-11-02 }\n'
        for item in ("papr-helmet", "papr-shroud")
    )
    adopt(staff["ingrid"], {"own.toml": f"format-version = 1\n{retired}"})
    from vestry.hospital import facts

    assert facts.estimates().problems == ()
    assert "papr-helmet.window" not in facts.estimates().evidence.natures


# ---- the unit's own counts ----


@pytest.mark.slow
def test_the_units_own_deviations_are_counted_shown_and_used_when_asked(signed_in: Sign, entry: Any, version: Any):
    event = recorded(entry)
    client, asked = signed_in("ingrid"), {"of": f"procedure:{version.pk}"}
    said = told(client.get("/amounts/", asked))
    assert re.search(r"From 1 entry", said)
    assert "Noor" not in said.split("own record")[1]
    plain = client.get("/amounts/found.json", asked).json()["amounts"]
    own = client.get("/amounts/found.json", asked | {"counts": "own"}).json()["amounts"]
    assert plain["context"]["counts"] == {}
    assert own["context"]["counts"][event.partition("@")[0]][0] >= 1
    assert own["contributions"] != plain["contributions"]
    assert "They move the rates above." in told(client.get("/amounts/", asked | {"counts": "own"}))
