"""Procedures: what an approval rests on, the table from case to procedure, practice, differences, answers, book."""

from __future__ import annotations

import datetime
import io
from collections.abc import Callable
from typing import Any

import pypdf
import pytest
from django.test import Client
from django.utils import timezone
from tests.hospital.test_bad_input import CASE

from vestry.contact.program import Program
from vestry.hospital import facts
from vestry.hospital.desk.models import ApprovalBasis, CaseRow, PlannedCase, Practice, ProcedureVersion
from vestry.procedure import used
from vestry.procedure.casetable import fit
from vestry.sequence import Case, program_of

pytestmark = pytest.mark.django_db
Sign = Callable[[str], Client]


def rows(client: Client, named: Any, **more: Any) -> Any:
    said = {
        "hazards": ["suspected-hcid"], "presentations": ["wet"], "tasks": ["care"], "reason": "practised",
        "version": str(named.pk) if named else "",
    }  # fmt: skip
    return client.post("/case-table/", said | more)


def take_case(client: Client, **more: Any) -> PlannedCase:
    said = CASE | {"hazard": "suspected-hcid", "presentation": "wet", "tasks": ["care"]}
    said |= {"gear": list(facts.catalogue().items)}
    answer = client.post("/cases/new/", said | more)
    assert answer.status_code == 302, answer.content.decode()[:2000]
    return PlannedCase.objects.order_by("-asked_at").first()  # type: ignore[return-value]


def another(version: Any, worked_out: Any, staff: dict[str, Any]) -> ProcedureVersion:
    """A second version: two steps the other way round."""
    from vestry.hospital.desk.approvals import store

    steps = list(worked_out.plan.steps)
    plan = worked_out.plan.model_copy(update={"steps": (*steps[:-3], steps[-2], steps[-3], steps[-1])})
    scenes = list(worked_out.scenes)
    changed = worked_out.model_copy(
        update={
            "plan": plan,
            "assurance": worked_out.assurance.model_copy(update={"plan": plan.hash}),
            "scenes": (*scenes[:-3], scenes[-2], scenes[-3], scenes[-1]),
        }
    )
    review_on = timezone.localdate() + datetime.timedelta(9)
    said = {"procedure": version.procedure, "reason": "better", "review_on": review_on}
    return store(changed, said, staff["ingrid"])


# ---- what stands with an approval ----


def test_an_approval_keeps_which_facts_it_uses_and_the_compiled_program(version: Any, worked_out: Any):
    basis = ApprovalBasis.objects.get(version=version)

    assert basis.used == used(worked_out.plan, facts.catalogue())
    assert "item:gown-impermeable" in basis.used
    assert isinstance(program_of(worked_out.plan, facts.catalogue()), Program)
    assert basis.program == program_of(worked_out.plan, facts.catalogue()).as_json()


def test_an_overdue_review_is_shown_on_every_list(version: Any, signed_in: Sign, monkeypatch: pytest.MonkeyPatch):
    client = signed_in("ingrid")
    assert "review overdue" not in client.get("/procedures/").content.decode()
    monkeypatch.setattr(
        "vestry.hospital.desk.standing.timezone.localdate", lambda: version.review_on + datetime.timedelta(days=1)
    )

    assert "review overdue" in client.get("/procedures/").content.decode()
    assert "review overdue" in client.get("/").content.decode()
    assert "Its review is overdue" in client.get(f"/procedures/{version.pk}/").content.decode()


# ---- the table ----


def test_a_case_finds_the_units_own_procedure_and_nothing_is_planned(version: Any, signed_in: Sign):
    assert rows(signed_in("ingrid"), version).status_code == 302
    planned = take_case(signed_in("sander"))
    page = signed_in("sander").get(f"/cases/{planned.pk}/").content.decode()

    assert planned.state == PlannedCase.FITTED
    assert planned.worked_out is None
    assert "Approved, practised by nobody yet" in page
    assert "Example, version 1" in page
    assert "Practised by 0 of" in page
    assert "Plan this case afresh" in page


def test_a_case_that_the_table_does_not_name_is_planned_afresh(
    version: Any, signed_in: Sign, monkeypatch: pytest.MonkeyPatch
):
    asked = []
    monkeypatch.setattr("vestry.hospital.desk.cases.plan_later", asked.append)
    rows(signed_in("ingrid"), version)
    take_case(signed_in("sander"), tasks=["care", "invasive"])
    rows(signed_in("ingrid"), None)
    take_case(signed_in("sander"))

    assert [one.state for one in asked] == [PlannedCase.WAITING] * 2


def test_a_fresh_plan_is_shown_as_unapproved_and_names_the_procedure_to_take(
    version: Any, planned: Any, signed_in: Sign
):
    rows(signed_in("ingrid"), version)
    # The same plan is approved already; a plan of another hash is what is fresh.
    PlannedCase.objects.filter(pk=planned.pk).update(worked_out=_renamed(planned.worked_out))
    page = signed_in("sander").get(f"/cases/{planned.pk}/").content.decode()

    assert "A freshly computed plan, unapproved" in page
    assert "Practised by 0 of 4 who may go in" in page
    assert "Take that one" in page
    assert "Only the programme lead can approve" in page


def _renamed(document: Any) -> Any:
    from vestry.sequence import Plan

    changed = {**document, "plan": {**document["plan"], "case": {**document["plan"]["case"], "code": "other"}}}
    changed["assurance"] = {**document["assurance"], "plan": Plan.model_validate(changed["plan"]).hash}
    return changed


def test_a_row_is_never_changed_and_the_newest_counts(version: Any, signed_in: Sign):
    client = signed_in("ingrid")
    rows(client, version)
    rows(client, None, reason="withdrawn")

    assert CaseRow.objects.count() == 2
    page = client.get("/case-table/").content.decode()
    assert "withdrawn" in page
    assert "none, by the lead" in page


def test_the_table_shows_gaps_and_what_speaks_against_a_row(
    version: Any, signed_in: Sign, worked_out: Any, staff: dict[str, Any]
):
    client = signed_in("ingrid")
    rows(client, version, hazards=["suspected-hcid", "mers"], tasks=["care", "cleaning"])
    answer = client.get("/case-table/")
    assert answer.context["gaps"] == answer.context["cells"] - 4
    assert "a newer version is approved" not in answer.content.decode()

    another(version, worked_out, staff)
    assert "a newer version is approved" in client.get("/case-table/").content.decode()
    client.post(f"/procedures/{version.pk}/retire/", {"reason": "replaced"})
    assert "this version is retired" in client.get("/case-table/").content.decode()


def test_a_retired_procedure_or_missing_gear_is_not_the_default_tonight(
    version: Any, signed_in: Sign, monkeypatch: pytest.MonkeyPatch
):
    monkeypatch.setattr("vestry.hospital.desk.cases.plan_later", lambda planned: None)
    rows(signed_in("ingrid"), version)
    gear = [item for item in facts.catalogue().items if item != "gown-impermeable"]
    assert take_case(signed_in("sander"), gear=gear).state == PlannedCase.WAITING
    assert take_case(signed_in("sander")).state == PlannedCase.FITTED
    signed_in("ingrid").post(f"/procedures/{version.pk}/retire/", {"reason": "replaced"})
    assert take_case(signed_in("sander")).state == PlannedCase.WAITING


@pytest.mark.parametrize(
    "more",
    [{"hazards": ["plague-of-frogs"]}, {"tasks": []}, {"version": "0" * 32}, {"version": "x"}, {"reason": ""}],
)
def test_a_bad_row_stores_nothing(version: Any, signed_in: Sign, more: dict[str, Any]):
    assert rows(signed_in("ingrid"), version, **more).status_code == 422
    assert CaseRow.objects.count() == 0


def test_only_the_lead_changes_the_table(version: Any, signed_in: Sign):
    assert rows(signed_in("sander"), version).status_code == 403
    assert signed_in("sander").get("/case-table/").status_code == 200


def test_a_case_takes_one_version_for_all_its_tasks_or_none():
    case = Case(hazard="ebola", presentation="wet", tasks=("care", "invasive"))
    one = {("ebola", "wet", "care"): "a", ("ebola", "wet", "invasive"): "a"}

    assert fit(case, one).sort == "one"
    assert fit(case, one | {("ebola", "wet", "invasive"): "b"}).sort == "several"
    assert fit(case, {("ebola", "wet", "care"): "a"}).missing == ("invasive",)
    assert fit(case, one | {("ebola", "wet", "care"): None}).sort == "none"
    assert fit(case, {}).sort == "none"


# ---- practice ----


def test_practice_comes_from_closed_entries_and_from_the_lead(version: Any, entry: Any, signed_in: Sign):
    client = signed_in("ingrid")
    address = f"/procedures/{version.pk}/"
    assert "Practised by 0 of 4 who may go in" in client.get(address).content.decode()

    entry.stage = "closed"
    entry.save()
    assert "Practised by 1 of 4 who may go in" in client.get(address).content.decode()
    today = timezone.localdate().isoformat()
    said = {"person": "petra", "role": "wearer", "sort": "drill", "on": today}
    assert client.post(f"{address}practice/", said).status_code == 302
    page = client.get(address).content.decode()
    assert "Practised by 2 of 4 who may go in" in page
    assert "the record" in page
    assert client.post(f"{address}practice/", said | {"role": "observer", "person": "noor"}).status_code == 302
    assert "Practised by 2 of 4 who may go in" in client.get(address).content.decode()


def test_practice_of_another_plan_does_not_count(version: Any, worked_out: Any, staff: dict[str, Any], signed_in: Sign):
    Practice.objects.create(
        version=version, person=staff["noor"], role="wearer", sort="drill", on=timezone.localdate(),
        by=staff["ingrid"], at=timezone.now(),
    )  # fmt: skip
    other = another(version, worked_out, staff)

    assert "Practised by 1 of 4" in signed_in("ingrid").get(f"/procedures/{version.pk}/").content.decode()
    assert "Practised by 0 of 4" in signed_in("ingrid").get(f"/procedures/{other.pk}/").content.decode()


@pytest.mark.parametrize(
    "more", [{"person": "oona"}, {"role": "patient"}, {"sort": "dream"}, {"on": "2099-01-01"}, {"on": ""}]
)
def test_bad_practice_stores_nothing(version: Any, signed_in: Sign, more: dict[str, str]):
    said = {"person": "noor", "role": "wearer", "sort": "drill", "on": timezone.localdate().isoformat()}

    assert signed_in("ingrid").post(f"/procedures/{version.pk}/practice/", said | more).status_code == 422
    assert Practice.objects.count() == 0


# ---- two versions, answers, the book ----


def test_two_versions_are_told_step_by_step(version: Any, worked_out: Any, staff: dict[str, Any], signed_in: Sign):
    new = another(version, worked_out, staff)
    client = signed_in("ingrid")
    page = client.get(f"/procedures/{new.pk}/compared/").content.decode()

    assert "From Example, version 1 to Example, version 2" in page
    assert "1 step changed" in page
    assert "is now step" in page
    one, other = (client.get(f"/procedures/{a.pk}/compared/?with={b.pk}") for a, b in ((new, version), (version, new)))
    assert one.context["told"] == other.context["told"]
    assert "the steps are the same" in client.get(f"/procedures/{version.pk}/compared/").content.decode()
    assert client.get(f"/procedures/{version.pk}/compared/?with=nonsense").status_code == 200
    assert client.get(f"/procedures/{version.pk}/compared/?with={staff['ingrid'].pk:032x}").status_code == 404


def test_the_answers_page_lists_every_approved_answer(version: Any, worked_out: Any, signed_in: Sign):
    page = signed_in("ingrid").get(f"/procedures/{version.pk}/answers/")
    told = page.context["steps"]

    assert sum(len(one["happened"]) for step in told for one in step["answers"]) == len(worked_out.answers)
    assert "whatever may have gone wrong" in page.content.decode().lower()


def _text(content: bytes) -> str:
    return " ".join(" ".join(page.extract_text() for page in pypdf.PdfReader(io.BytesIO(content)).pages).split())


def test_the_sheet_is_given_the_approved_answers_and_who_practised(
    version: Any, worked_out: Any, signed_in: Sign, monkeypatch: pytest.MonkeyPatch
):
    given: dict[str, Any] = {}

    def sheet_pdf(*parts: Any, **more: Any) -> bytes:
        given.update(more, approval=parts[4])
        return b"%PDF-"

    monkeypatch.setattr("vestry.papers.sheet_pdf", sheet_pdf)
    signed_in("tomas").get(f"/procedures/{version.pk}/sheet.pdf")

    assert given["answers"] == [(one.recovery, one.steps) for one in worked_out.answers]
    assert given["approval"].practised == "by 0 of 4 who may go in"


@pytest.mark.slow
def test_the_book_holds_every_procedure_in_force_with_contents(
    version: Any, worked_out: Any, staff: dict[str, Any], signed_in: Sign
):
    from vestry.hospital.desk.approvals import store

    said = {"title": "Second one", "reason": "x", "review_on": timezone.localdate() + datetime.timedelta(9)}
    second = store(worked_out, said, staff["ingrid"])
    text = _text(signed_in("noor").get("/procedures/book.pdf").content)
    assert text.index("Contents") < text.index("Example") < text.rindex("Second one")
    assert text.count("Version 1, approved") == 2
    assert "Approved answers" in text

    signed_in("ingrid").post(f"/procedures/{second.pk}/retire/", {"reason": "replaced"})
    assert "Second one" not in _text(signed_in("noor").get("/procedures/book.pdf").content)


def test_there_is_no_book_without_a_procedure(signed_in: Sign):
    assert signed_in("noor").get("/procedures/book.pdf").status_code == 404
