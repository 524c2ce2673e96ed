"""Own facts on the desk: preview, adopt, history; what is approved keeps to its facts; who used a fact is flagged."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from django.db import DatabaseError, connection, transaction
from django.test import Client
from tests.hospital.conftest import OWN_FACTS, adopt
from tests.hospital.database import acts_refused, drop_trigger

from vestry.hospital import facts
from vestry.hospital.desk.mapper import approved_of
from vestry.hospital.desk.models import ApprovalBasis, FactsSnapshot, FactsVersion, LaterAssurance
from vestry.hospital.desk.standing import standing_of
from vestry.hospital.keeping import WrittenOnce
from vestry.sequence.states import technique_of
from vestry.trade import load_catalogue
from vestry.trade.catalogue import key_of

pytestmark = pytest.mark.django_db
Sign = Callable[[str], Client]
WHY = 'because = { reason = "invented", name = "Ingrid Vell", date = 2026-11-02 }'
NO_GOWN = f'format-version = 1\n[[retire]]\nkind = "technique"\nid = "TECHNIQUE"\n{WHY}\n'
BACK = f"""format-version = 1
[[zone]]
{WHY}
id = "back"
dry = "low"
wet = "high"
source = "hospital"
certainty = "invented"
"""


def post(client: Client, texts: dict[str, str], act: str = "preview", **more: str) -> Any:
    data = {"act": act, **more}
    for number, (name, text) in enumerate(texts.items(), 1):
        data |= {f"name_{number}": name, f"text_{number}": text}
    return client.post("/facts/adopt/", data)


def used_technique(version: Any) -> str:
    """The way in which this version's gown comes off."""
    steps = approved_of(version.pk).plan.phase("doffing")
    step = next(one for one in steps if one.items == ("gown-impermeable",))
    technique = technique_of(step, load_catalogue())
    assert technique is not None
    assert f"technique:{key_of(technique)}" in ApprovalBasis.objects.get(version=version).used
    return key_of(technique)


# ---- the pages ----


def test_the_facts_page_shows_source_certainty_and_year(signed_in: Sign):
    page = signed_in("anselm").get("/facts/").content.decode()

    assert "Ebola" in page
    assert load_catalogue().sources["cdc-ebola-monitoring-2014"].publisher in page
    assert ">2014<" in page
    assert "monitoring days" in page
    for kind in ("item", "technique", "waste-stream", "duration"):
        assert signed_in("anselm").get(f"/facts/?kind={kind}").status_code == 200
    assert signed_in("anselm").get("/facts/?kind=<script>").status_code == 200


def test_a_preview_shows_what_is_shadowed_and_which_procedures_are_touched_and_stores_nothing(
    signed_in: Sign, version: Any
):
    page = post(signed_in("ingrid"), {"own.toml": BACK, "goggles.toml": OWN_FACTS}).content.decode()

    assert "What is shadowed" in page
    assert "counts clean" in page  # a field that theirs leaves out
    assert "Example, version 1" in page
    assert FactsVersion.objects.count() == 0


def test_a_preview_that_touches_no_procedure_says_so(signed_in: Sign, version: Any):
    page = post(signed_in("ingrid"), {"own.toml": OWN_FACTS}).content.decode()

    assert "Example, version 1" not in page


@pytest.mark.slow
def test_adopting_is_just_what_was_previewed_with_a_reason(signed_in: Sign):
    client = signed_in("ingrid")
    digest = post(client, {"own.toml": OWN_FACTS}).context["digest"]

    assert post(client, {"own.toml": OWN_FACTS}, "adopt", digest=digest).status_code == 422
    other = post(client, {"own.toml": BACK}, "adopt", digest=digest, reason="bought")
    assert "not what the preview showed" in other.content.decode()
    assert FactsVersion.objects.count() == 0

    assert post(client, {"own.toml": OWN_FACTS}, "adopt", digest=digest, reason="bought").status_code == 302
    assert facts.catalogue().digest == digest != load_catalogue().digest
    assert not facts.catalogue().items["goggles"].reusable
    assert "Laid over ours" in client.get("/facts/").content.decode()
    assert "bought" in client.get("/facts/history/").content.decode()
    page = client.get(f"/facts/{FactsVersion.objects.get().pk}/").content.decode()
    assert "own.toml" in page
    assert "The hospital&#x27;s" in page or "The hospital's" in page


def test_files_that_do_not_load_are_refused_together_with_file_and_line(signed_in: Sign):
    answer = post(
        signed_in("ingrid"), {"a.toml": BACK.replace('"high"', '"much"'), "b.toml": "format-version = 1\nitem = \n"}
    )
    page = answer.content.decode()

    assert answer.status_code == 422
    assert "a.toml:6" in page
    assert "b.toml:2" in page
    assert FactsVersion.objects.count() == 0


@pytest.mark.parametrize("name", ["Own.toml", "../own.toml", "own.txt", ""])
def test_a_file_needs_a_plain_name(signed_in: Sign, name: str):
    assert post(signed_in("ingrid"), {name: BACK}).status_code == 422


def test_an_empty_overlay_takes_it_all_back(signed_in: Sign, own_facts: Any):
    client = signed_in("ingrid")
    digest = post(client, {}).context["digest"]

    assert digest == load_catalogue().digest
    assert post(client, {}, "adopt", digest=digest, reason="taken back").status_code == 302
    assert facts.catalogue().digest == load_catalogue().digest
    assert FactsVersion.objects.count() == 2


def test_an_adopted_version_and_a_snapshot_are_written_once(own_facts: Any):
    with pytest.raises(WrittenOnce):
        own_facts.save()
    with pytest.raises(WrittenOnce):
        FactsSnapshot.objects.all().delete()
    for table in ("factsversion", "factssnapshot", "caserow", "practice", "approvalbasis", "laterassurance"):
        with connection.cursor() as cursor:
            assert acts_refused(cursor, f"desk_{table}") >= {"UPDATE", "DELETE"}, table
    with pytest.raises(DatabaseError, match="written once"), transaction.atomic(), connection.cursor() as cursor:
        cursor.execute("UPDATE desk_factsversion SET reason = 'another'")


# ---- what was approved keeps to its facts ----


def test_the_facts_of_an_approval_can_be_read_again_after_another_overlay(version: Any, staff: dict[str, Any]):
    first = adopt(staff["ingrid"], {"own.toml": BACK})
    adopt(staff["ingrid"], {"own.toml": OWN_FACTS})

    assert facts.catalogue_of(first.digest).zones["back"].wet == "high"
    assert facts.catalogue_of(version.facts).digest == version.facts == load_catalogue().digest
    assert facts.catalogue_of("0" * 64).digest == facts.catalogue().digest


def test_an_overlay_that_fits_no_more_leaves_the_facts_of_its_adoption_in_force(
    own_facts: Any, signed_in: Sign, monkeypatch: pytest.MonkeyPatch
):
    """As after an update whose facts the overlay contradicts."""
    from vestry.trade import BadFacts, Problem
    from vestry.trade.overlay import lay_over

    def only_over_the_old(files: dict[str, str], ours: Any = None) -> Any:
        if ours is None and files:
            raise BadFacts([Problem("own.toml", 2, "item.0", "fits no more")])
        return lay_over(files, ours)

    monkeypatch.setattr(facts, "lay_over", only_over_the_old)
    facts._in_force.cache_clear()
    try:
        assert not facts.catalogue().items["goggles"].reusable
        assert "fits no more" in signed_in("ingrid").get("/facts/").content.decode()
    finally:
        facts._in_force.cache_clear()


def test_a_fact_that_no_procedure_uses_flags_none(version: Any, own_facts: Any, signed_in: Sign):
    assert facts.catalogue().digest != version.facts
    assert standing_of(version).changed == ()
    assert "fact changed" not in signed_in("ingrid").get("/procedures/").content.decode()


@pytest.mark.slow
def test_a_changed_fact_flags_its_procedures_assures_them_again_and_blocks_nothing(version: Any, signed_in: Sign):
    client = signed_in("ingrid")
    digest = post(client, {"own.toml": BACK}).context["digest"]
    post(client, {"own.toml": BACK}, "adopt", digest=digest, reason="open backs")

    stands = standing_of(version)
    assert [(one.kind, one.id, one.how) for one in stands.touched] == [("zone", "back", "changed")]
    assert stands.may_start
    assert "fact changed" in client.get("/procedures/").content.decode()
    later = LaterAssurance.objects.get()
    assert (later.version_id, later.facts) == (version.pk, digest)
    assert later.found["planned"] in ("same", "other")
    page = client.get(f"/procedures/{version.pk}/").content.decode()
    assert "Assured again" in page
    assert "Facts beneath it changed" in page
    assert signed_in("tomas").post(f"/procedures/{version.pk}/start/", PEOPLE).status_code == 302


PEOPLE = {"wearer": "noor", "observer": "tomas", "assistant": "petra"}


@pytest.mark.slow
def test_a_retired_fact_blocks_new_entries_only(version: Any, entry: Any, signed_in: Sign, staff: dict[str, Any]):
    tomas = signed_in("tomas")
    before = tomas.get(f"/entries/{entry.pk}/").content.decode()
    adopt(staff["ingrid"], {"own.toml": NO_GOWN.replace("TECHNIQUE", used_technique(version))})

    assert standing_of(version).blocked_by
    refused = tomas.post(f"/procedures/{version.pk}/start/", PEOPLE)
    assert refused.status_code == 422
    assert "A fact that this version uses is retired" in refused.content.decode()
    assert "Start an entry" not in tomas.get("/").content.decode()
    assert "Read aloud" in tomas.get(f"/entries/{entry.pk}/").content.decode()
    assert len(tomas.get(f"/entries/{entry.pk}/").content) == pytest.approx(len(before), rel=0.02)
    assert tomas.get(f"/entries/{entry.pk}/wearer/").status_code == 200
    page = signed_in("ingrid").get(f"/procedures/{version.pk}/")
    assert page.status_code == 200
    assert "A fact that it uses is retired" in page.content.decode()
    assert signed_in("ingrid").get(f"/procedures/{version.pk}/answers/").status_code == 200
    assert signed_in("ingrid").post(f"/procedures/{version.pk}/assure-again/").status_code == 302
    assert "can no longer be assured" in signed_in("ingrid").get(f"/procedures/{version.pk}/").content.decode()


def test_a_fact_taken_back_starts_entries_again(version: Any, signed_in: Sign, staff: dict[str, Any]):
    adopt(staff["ingrid"], {"own.toml": NO_GOWN.replace("TECHNIQUE", used_technique(version))})
    assert not standing_of(version).may_start
    adopt(staff["ingrid"], {})

    assert standing_of(version).changed == ()
    assert signed_in("tomas").post(f"/procedures/{version.pk}/start/", PEOPLE).status_code == 302


def test_a_version_from_before_it_was_kept_what_it_uses_is_flagged_by_any_change(
    version: Any, own_facts: Any, signed_in: Sign
):
    with connection.cursor() as cursor:
        drop_trigger(cursor, "desk_approvalbasis", "delete")
        cursor.execute("DELETE FROM desk_approvalbasis")
    from vestry.hospital.desk.standing import _touched

    _touched.cache_clear()
    assert standing_of(version).changed == ("facts",)
    assert "approved before it was kept" in signed_in("ingrid").get(f"/procedures/{version.pk}/").content.decode()
    _touched.cache_clear()


def test_the_forms_offer_what_is_in_force(signed_in: Sign, staff: dict[str, Any]):
    retire = f'format-version = 1\n[[retire]]\nkind = "item"\nid = "apron"\n{WHY}\n'
    assert 'value="apron"' in signed_in("sander").get("/cases/new/").content.decode()
    adopt(staff["ingrid"], {"own.toml": retire})

    assert 'value="apron"' not in signed_in("sander").get("/cases/new/").content.decode()


@pytest.mark.slow
def test_pages_of_findings_stand_when_a_fact_that_orders_and_plans_name_is_retired(
    version: Any, planned: Any, signed_in: Sign, staff: dict[str, Any]
):
    adopt(staff["ingrid"], {"own.toml": NO_GOWN.replace("TECHNIQUE", used_technique(version))})
    client = signed_in("ingrid")

    for address in (
        "/orders/",
        f"/explain/?of=case:{planned.pk}",
        f"/explain/?of=procedure:{version.pk}",
        f"/compare/?a=case:{planned.pk}&b=procedure:{version.pk}",
        f"/substitute/?of=procedure:{version.pk}&without=face-shield",
        f"/cases/{planned.pk}/",
        f"/procedures/{version.pk}/",
        "/case-table/",
        "/",
    ):
        assert client.get(address).status_code < 500, address
