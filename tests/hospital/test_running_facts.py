"""The hospital's own operations and standards at the desk: adopted with its facts, used, listed, kept."""

from __future__ import annotations

import json
from collections.abc import Callable
from typing import Any

import pytest
from django.test import Client
from django.utils import timezone
from tests.hospital.conftest import adopt

from vestry.hospital import facts, running_facts
from vestry.hospital.anteroom.bundling import bundle_of
from vestry.hospital.desk.models import FactsVersion, RunningSnapshot
from vestry.room.dilution import contact_time
from vestry.trade.operations import load_operations
from vestry.trade.standards import load_standards

SignIn = Callable[[str], Client]
WHY = 'because = { reason = "the label", name = "Ingrid Vell", date = 2026-11-02 }\nsource = "hospital"\n'
CONTACT = f"""format-version = 1
[[contact-time]]
{WHY}certainty = "invented"
id = "surfaces"
use = "surfaces"
minutes = 7.0
"""
WIPE = f"""format-version = 1
[[hygiene-time]]
{WHY}certainty = "invented"
id = "wipe-surfaces"
agent = "disinfectant-wipe"
on = "surfaces"
sort = "contact"
seconds = 180
range = [180, 180]
"""
LEVEL = f"""format-version = 1
[[pass-level]]
{WHY}certainty = "invented"
id = "us-half-mask"
jurisdiction = "us"
device = "half-mask"
level = 250
qualitative = false
"""


def post(client: Client, files: dict[str, str], act: str = "preview", **more: str) -> Any:
    said = {}
    for number, (name, text) in enumerate(files.items(), 1):
        said |= {f"name_{number}": name, f"text_{number}": text}
    return client.post("/facts/adopt/", {**said, "act": act, **more})


def test_own_records_are_previewed_adopted_together_used_and_listed(signed_in: SignIn):
    client, files = signed_in("ingrid"), {"wipes.toml": CONTACT, "fit.toml": LEVEL}
    preview = post(client, files)
    page = preview.content.decode()
    assert preview.status_code == 200
    assert "15.0" in page
    assert "7.0" in page
    assert not FactsVersion.objects.exists()

    assert post(client, files, "adopt", digest=preview.context["digest"], reason="bought").status_code == 302
    assert contact_time("surfaces", running_facts.operations()).minutes == 7
    level = running_facts.standards().pass_level("us", "half-mask")
    assert level is not None
    assert level.level == 250
    told = client.get("/facts/?kind=contact-time").content.decode()
    assert "the hospital&#x27;s own" in told or "the hospital's own" in told
    assert "Pass level" in told
    assert client.get("/facts/?kind=interval").status_code == 200


def test_what_is_adopted_is_what_was_previewed_of_these_too(signed_in: SignIn):
    client = signed_in("ingrid")
    digest = post(client, {"wipes.toml": CONTACT}).context["digest"]
    other = post(client, {"wipes.toml": CONTACT.replace("7.0", "1.0")}, "adopt", digest=digest, reason="bought")
    assert other.status_code == 422
    assert not FactsVersion.objects.exists()


def test_with_one_wrong_record_none_of_the_files_is_adopted(signed_in: SignIn):
    answer = post(signed_in("ingrid"), {"wipes.toml": CONTACT, "fit.toml": LEVEL.replace("250", "0")})
    assert answer.status_code == 422
    assert "fit.toml:" in answer.content.decode()


def test_an_entry_keeps_the_times_it_was_opened_with(entry: Any, version: Any, signed_in: SignIn, staff: Any):
    from vestry.hospital.record.models import Entry

    def seconds(one: Any) -> int:
        clocks = json.loads(bundle_of(one))["clocks"]["hygiene"]
        return next(c["seconds"] for c in clocks if (c["agent"], c["on"]) == ("disinfectant-wipe", "surfaces"))

    before = seconds(entry)
    adopt(staff["ingrid"], {"wipes.toml": WIPE})
    people = {"wearer": "petra", "observer": "tomas", "assistant": "noor"}
    assert signed_in("tomas").post(f"/procedures/{version.pk}/start/", people).status_code == 302
    assert (seconds(entry), seconds(Entry.objects.first())) == (before, 180)


def test_what_was_worked_out_on_them_can_be_read_again_after_another_overlay(staff: Any):
    adopt(staff["ingrid"], {"wipes.toml": CONTACT})
    running_facts.keep(timezone.now())
    then = running_facts.operations().digest
    running_facts.keep(timezone.now())
    assert RunningSnapshot.objects.filter(sort="operations").count() == 1
    adopt(staff["ingrid"], {})
    assert running_facts.operations().digest == load_operations().digest
    again = running_facts.operations_of(then)
    assert again is not None
    assert contact_time("surfaces", again).minutes == 7
    assert running_facts.operations_of("0" * 64) is None


def test_own_records_that_fit_no_more_stay_as_they_were_adopted(staff: Any, monkeypatch: Any):
    version = adopt(staff["ingrid"], {"wipes.toml": CONTACT, "fit.toml": LEVEL})
    running_facts.keep(timezone.now())
    shipped = running_facts.shipped_texts

    def newer(sort: str) -> dict[str, str]:
        return {
            name: text.replace('use = "laundry"', 'use = "surfaces-now"') for name, text in shipped(sort).items()
        } | (
            {"more.toml": CONTACT.replace("[[contact-time]]\n", '[[contact-time]]\nyear = "late"\n')}
            if sort == "operations"
            else {}
        )

    monkeypatch.setattr(running_facts, "shipped_texts", newer)
    running_facts._running.cache_clear()
    now = running_facts._running(version.pk)
    assert now.problems
    assert contact_time("surfaces", now.operations).minutes == 7
    running_facts._running.cache_clear()


def test_a_page_asks_once_which_overlay_is_in_force(staff: Any, django_assert_num_queries: Any):
    with facts.looked_up_once():
        facts.catalogue()
        with django_assert_num_queries(0):
            running_facts.operations()
            running_facts.standards()
    assert running_facts.standards().digest == load_standards().digest


@pytest.mark.parametrize("who", ["sander", "anselm"])
def test_those_who_see_the_facts_see_these_too(who: str, signed_in: SignIn):
    assert "surfaces" in signed_in(who).get("/facts/?kind=contact-time").content.decode()
