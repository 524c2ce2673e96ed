"""The desk: from a case to a procedure, and what becomes of it."""

from __future__ import annotations

import datetime
import re
from collections.abc import Callable
from typing import Any

import pytest
from django.test import Client
from django.utils import timezone
from tests.procedure.example import shield_step

from vestry.hospital.desk.models import PlannedCase, ProcedureVersion
from vestry.hospital.desk.wall import Column, wall

pytestmark = pytest.mark.django_db
Sign = Callable[[str], Client]


def test_a_plan_shows_verdict_bricks_routes_conventions_and_that_it_is_unapproved(signed_in: Sign, planned: Any):
    page = signed_in("ingrid").get(f"/cases/{planned.pk}/").content.decode()

    assert "Checked against the contact model" in page
    assert ">Unapproved<" in page
    assert 'class="wall"' in page
    assert "The same as a table" in page
    assert "Straps behind the head count as clean" in page
    assert "Hygiene that is not counted" in page
    assert "Suspected high-consequence infectious disease" in page
    assert planned.plan_hash in page
    assert "Supports trained people" in page


@pytest.mark.slow
@pytest.mark.parametrize(("agent", "hangs"), [("alcohol-rub", True), ("disinfectant-wipe", False)])
def test_a_convention_on_which_the_verdict_hangs_is_marked(agent: str, hangs: bool):
    """The rub's dispenser is touched by gloves and hands alike; a wipe takes nothing from glove to hand."""
    from vestry.hospital.desk.showing import show
    from vestry.hospital.jobs.planning import work_out
    from vestry.sequence import Case, Policy

    done = work_out(Case(hazard="ebola", presentation="wet"), Policy(glove_agent=agent), lambda words: None)
    shown = show(done.plan, done.assurance, done.scenes, 0)

    assert any(one["flips"] for one in shown.rests_on) is hangs


@pytest.mark.parametrize("page", ["/cases/{planned}/", "/procedures/{version}/", "/procedures/", "/", "/sign-in/"])
def test_no_page_promises_more_than_was_checked(signed_in: Sign, planned: Any, version: Any, page: str):
    address = page.format(planned=planned.pk, version=version.pk)
    text = re.sub(r"<[^>]+>", " ", signed_in("ingrid").get(address).content.decode())

    assert not re.search(r"\b(safe|safely|proven|probability|percent chance)\b", text, re.IGNORECASE)


def test_only_the_lead_is_offered_to_approve(signed_in: Sign, planned: Any):
    address = f"/cases/{planned.pk}/"

    assert "You put your name" in signed_in("ingrid").get(address).content.decode()
    assert "Only the programme lead can approve" in signed_in("sander").get(address).content.decode()


def approve(client: Client, planned: Any, worked_out: Any, **more: Any) -> Any:
    return client.post(f"/cases/{planned.pk}/approve/", {
        "title": "Wet patient", "reason": "practised in March", "plan": worked_out.plan.hash,
        "facts": worked_out.assurance.facts, "model": worked_out.assurance.model_version,
        "review_on": (timezone.localdate() + datetime.timedelta(days=90)).isoformat(),
    } | more)  # fmt: skip


def test_approving_stores_a_whole_version_that_names_plan_facts_and_model(
    signed_in: Sign, planned: Any, worked_out: Any
):
    answer = approve(signed_in("ingrid"), planned, worked_out)
    version = ProcedureVersion.objects.get()

    assert answer["Location"] == f"/procedures/{version.pk}/"
    assert (version.plan_hash, version.facts, version.number) == (worked_out.plan.hash, worked_out.assurance.facts, 1)
    assert version.approved["approval"]["approved-by"] == "Ingrid Vell"


def test_approving_again_makes_a_new_version_and_leaves_the_old_one(signed_in: Sign, planned: Any, worked_out: Any):
    client = signed_in("ingrid")
    approve(client, planned, worked_out)
    approve(client, planned, worked_out, procedure="wet-patient", reason="second look")

    assert sorted(ProcedureVersion.objects.values_list("number", "reason")) == [
        (1, "practised in March"),
        (2, "second look"),
    ]


def test_two_procedures_of_one_name_keep_apart(signed_in: Sign, planned: Any, worked_out: Any):
    client = signed_in("ingrid")
    for _ in range(2):
        approve(client, planned, worked_out)

    slugs = ProcedureVersion.objects.values_list("procedure__slug", flat=True)
    assert sorted(slugs) == ["wet-patient", "wet-patient-2"]


def test_when_the_facts_differ_from_those_approved_the_page_asks_to_assure_again(
    signed_in: Sign, version: Any, monkeypatch: pytest.MonkeyPatch
):
    client = signed_in("ingrid")
    address = f"/procedures/{version.pk}/"
    assert "changed since this was approved" not in client.get(address).content.decode()

    for module in ("approvals", "procedures"):
        monkeypatch.setattr(f"vestry.hospital.desk.{module}.MODEL_VERSION", "contact-99")
    assert "The contact model changed since this was approved." in re.sub(
        r"<[^>]+>|\s+", " ", client.get(address).content.decode()
    ).replace("  ", " ")
    page = client.post(f"{address}assure-again/", follow=True).content.decode()
    assert "no route was found as taught" in page


def test_a_retired_version_starts_no_entry_and_the_one_under_way_goes_on(signed_in: Sign, version: Any, entry: Any):
    signed_in("ingrid").post(f"/procedures/{version.pk}/retire/", {"reason": "replaced"})
    tomas = signed_in("tomas")

    people = {"wearer": "noor", "observer": "tomas", "assistant": "petra"}
    assert tomas.post(f"/procedures/{version.pk}/start/", people).status_code == 422
    assert "Read aloud" in tomas.get(f"/entries/{entry.pk}/").content.decode()
    assert signed_in("ingrid").post(f"/procedures/{version.pk}/retire/", {"reason": "again"}).status_code == 422


@pytest.mark.slow
def test_the_sheet_is_a_pdf_of_this_version(signed_in: Sign, version: Any):
    answer = signed_in("tomas").get(f"/procedures/{version.pk}/sheet.pdf")

    assert answer["Content-Type"] == "application/pdf"
    assert answer.content.startswith(b"%PDF-")


def test_a_case_whose_planning_was_interrupted_can_be_planned_again(signed_in: Sign, planned: Any):
    PlannedCase.objects.update(state=PlannedCase.WAITING, worked_out=None)
    page = signed_in("ingrid").get(f"/cases/{planned.pk}/").content.decode()

    assert "Planning was interrupted" in page
    assert 'http-equiv="refresh"' not in page


@pytest.mark.slow
def test_a_case_is_planned_with_its_answers(signed_in: Sign):
    from tests.hospital.test_bad_input import CASE

    from vestry.trade import load_catalogue

    client = signed_in("sander")
    answer = client.post("/cases/new/", CASE | {"gear": list(load_catalogue().items), "with_foot_covers": "on"})
    planned = PlannedCase.objects.get()

    assert answer["Location"] == f"/cases/{planned.pk}/"
    assert planned.state == PlannedCase.PLANNED
    assert len(planned.worked_out["answers"]) > 20


def test_bricks_are_those_that_stand_with_a_hidden_hole_and_dashed_those_that_do_not():
    drawn = wall(
        [Column(5, "Shield off", 1, 1, True), Column(6, "Gown off", 3, 1, False), Column(7, "Wipe", None, 2, False)]
    )

    assert drawn.count('class="brick low"') == 1
    assert drawn.count('class="brick"') == 1 + 2
    assert drawn.count('class="brick ghost"') == 2 + 2
    assert "One error is enough at step 5." in drawn
    assert "style=" not in drawn


def test_shield_step_is_among_those_to_watch(signed_in: Sign, planned: Any, worked_out: Any):
    number = next(n for n, step in enumerate(worked_out.plan.steps, 1) if step.id == shield_step())
    page = signed_in("ingrid").get(f"/cases/{planned.pk}/").content.decode()

    assert re.search(rf"{number}\. [^<]+ <span class=\"tag\">watch this", page)


def test_a_plan_shows_what_assistant_and_observer_wear_and_how_they_undress(signed_in: Sign, planned: Any):
    page = signed_in("ingrid").get(f"/cases/{planned.pk}/").content.decode()

    assert "Doffing assistant: own donning and doffing" in page
    assert "Trained observer: own donning and doffing" in page
    assert "One lane" not in page


def test_two_wearers_are_planned_with_the_lane_they_share(signed_in: Sign):
    from vestry.hospital.desk.team import team_shown
    from vestry.sequence import Case, Policy, assure, plan_case
    from vestry.trade import load_catalogue
    from vestry.trade.words import load_words

    catalogue = load_catalogue()
    plan = plan_case(Case(hazard="ebola", presentation="wet", wearers=2), Policy(), catalogue)
    shown = team_shown(plan, assure(plan, catalogue), load_words("en"), catalogue)

    assert [one["number"] for one in shown["turnaround"]] == [f"T{n}" for n in range(1, len(plan.turnaround) + 1)]
    steps = [link["step"] for route in shown["lane"]["weak"] for link in route["links"]]
    assert any(step.startswith("Exit 1, step ") for step in steps)
    assert any(step.startswith("Exit 2, step ") for step in steps)
