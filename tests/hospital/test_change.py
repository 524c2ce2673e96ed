"""The desk's page of a changed case: from the record or by hand, what it says, what it prints, what it refuses."""

from __future__ import annotations

import html
import io
import re
from collections.abc import Callable
from typing import Any

import pytest
from django.test import Client
from pypdf import PdfReader
from tests.hospital.test_anteroom import Tablet
from tests.procedure.example import plan, shield_step

pytestmark = pytest.mark.django_db
Sign = Callable[[str], Client]


def told(answer: Any) -> str:
    """What a page says, without its markup."""
    return html.unescape(re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", answer.content.decode())))


def question(version: Any, **said: Any) -> dict[str, Any]:
    """One by hand who wears what the plan does, the case as it was; and what is said otherwise."""
    return {
        "of": f"procedure:{version.pk}",
        "hazard": "suspected-hcid",
        "presentation": "wet",
        "tasks": ["care"],
        "row": ["0"],
        "0-counts": "on",
        "0-code": "nurse-1",
        "0-worn": list(plan().worn),
        "0-zone": "room",
        "0-minutes": "40",
    } | {name.replace("_", "-") if not name.startswith("n") else name: value for name, value in said.items()}


@pytest.fixture
def inside(entry: Any, signed_in: Sign) -> Tablet:
    """Noor Hadley, who went in."""
    tablet = Tablet(signed_in("tomas"), entry)
    tablet.client.get("/")
    tablet.walk_to("entry.confirm:all-clear")
    return tablet


class TestWhoIsInside:
    @pytest.mark.slow
    def test_those_with_an_open_entry_are_listed_with_what_they_wear_by_the_record(self, inside, signed_in: Sign):
        page = signed_in("sander").get("/change/").content.decode()

        assert "Noor Hadley" in page
        assert 'name="0-code" value="noor"' in page
        for item in plan().worn:
            assert f'value="{item}" checked' in page

    def test_the_last_step_of_the_way_out_is_taken_from_the_record(self, inside, signed_in: Sign):
        steps = [step.id for step in plan().steps]
        inside.walk_to(steps[steps.index(shield_step()) + 1])

        page = signed_in("sander").get("/change/").content.decode()

        assert f'<option value="{shield_step()}" selected>' in page

    def test_who_has_not_gone_in_yet_is_not_inside(self, entry, version, signed_in: Sign):
        page = signed_in("sander").get(f"/change/?of=procedure:{version.pk}").content.decode()

        assert "Noor Hadley" not in page
        assert 'value="person-1"' in page

    def test_with_nobody_inside_the_page_asks_by_which_procedure(self, version, signed_in: Sign):
        said = told(signed_in("sander").get("/change/"))

        assert "choose a procedure or a plan" in said
        assert "Example, version 1" in said

    def test_one_more_person_keeps_what_was_filled_in(self, version, signed_in: Sign):
        page = signed_in("sander").post("/change/", question(version, more="1")).content.decode()

        assert 'value="nurse-1"' in page
        assert 'value="person-2"' in page
        assert 'id="found"' not in page


class TestTheFinding:
    def test_the_same_case_is_enough_and_the_practised_exit_is_named(self, version, signed_in: Sign):
        answer = signed_in("sander").post("/change/", question(version))
        said = told(answer)

        assert answer.status_code == 200
        assert "What everybody wears is enough for the case now." in said
        assert "as practised, Example, version 1" in said
        assert f"/procedures/{version.pk}/sheet.pdf" in answer.content.decode()

    def test_too_little_is_said_with_its_source_and_who_goes_first(self, version, signed_in: Sign):
        worn = [item for item in plan().worn if item != "surgical-hood"]
        asked = question(version, row=["0", "1"]) | {
            "1-counts": "on",
            "1-code": "doctor",
            "1-zone": "room",
            "1-worn": worn,
            "0-contaminated": ["body.neck"],
        }

        said = told(signed_in("sander").post("/change/", asked))

        assert "Not enough is worn by 1 of 2." in said
        assert re.search(r"Hair and ears, neck: .* so no skin shows at head and neck\. \(US CDC", said)
        assert said.index("nurse-1 may stay Skin or mucosa may be reached already.") < said.index(
            "doctor After all others."
        )
        assert "Vestry supports trained people." in said

    def test_half_way_out_counts_from_the_step(self, version, signed_in: Sign):
        said = told(signed_in("sander").post("/change/", question(version) | {"0-at": shield_step()}))

        assert "on the way out" in said
        assert "Taken as contaminated now:" in said

    def test_ruled_out_asks_about_waste_and_follow_up_and_releases_nothing(self, version, signed_in: Sign):
        answer = signed_in("sander").post("/change/", question(version, ruled_out="on", hazard=""))
        said = told(answer)

        assert "No way out for a high-consequence disease is asked for any more." in said
        assert "this page releases nothing" in said
        assert "Occupational health decides whether that is closed." in said
        assert "A paper for each of them" in said

    def test_nobody_counted_in_is_an_answer_too(self, version, signed_in: Sign):
        asked = question(version)
        del asked["0-counts"]

        said = told(signed_in("anselm").post("/change/", asked))

        assert "Nobody is said to be inside." in said
        assert "Who goes in next wears:" in said

    def test_nothing_is_stored(self, inside, version, signed_in: Sign):
        from vestry.hospital.desk.models import PlannedCase, ProcedureVersion
        from vestry.hospital.record.models import Event

        before = (Event.objects.count(), PlannedCase.objects.count(), ProcedureVersion.objects.count())
        signed_in("sander").post("/change/", question(version))

        assert (Event.objects.count(), PlannedCase.objects.count(), ProcedureVersion.objects.count()) == before


class TestPaper:
    @pytest.mark.slow
    def test_an_exit_prints_as_an_unapproved_sheet(self, version, signed_in: Sign):
        answer = signed_in("sander").post("/change/exit.pdf", question(version, person="nurse-1"))

        assert answer["Content-Type"] == "application/pdf"
        pages = PdfReader(io.BytesIO(answer.content)).pages
        assert all("UNAPPROVED" in page.extract_text() for page in pages)
        assert "Doffing" in pages[-1].extract_text()

    def test_a_paper_for_each_of_them_names_them_and_waits_for_a_hand(self, inside, version, signed_in: Sign):
        asked = question(version, ruled_out="on", hazard="") | {"0-name": "Noor Hadley"}

        answer = signed_in("sander").post("/change/all-clear.pdf", asked)

        text = PdfReader(io.BytesIO(answer.content)).pages[0].extract_text()
        assert "For Noor Hadley." in text
        assert "Not valid until both lines are filled in by hand." in text

    def test_no_paper_where_nothing_is_ruled_out(self, version, signed_in: Sign):
        answer = signed_in("sander").post("/change/all-clear.pdf", question(version))

        assert answer.status_code == 422
        assert "nothing is ruled out" in told(answer)


class TestWrongInput:
    def test_everything_is_told_at_once_with_the_persons_name(self, version, signed_in: Sign):
        asked = question(version) | {"0-worn": ["gwon"], "0-contaminated": ["body.nek"], "hazard": "lasa"}

        answer = signed_in("sander").post("/change/", asked)
        said = told(answer)

        assert answer.status_code == 422
        assert "did you mean lassa?" in said
        assert "Nurse-1, worn: no item is called gwon" in said
        assert "did you mean body.neck?" in said

    @pytest.mark.parametrize(
        "wrong",
        [
            {"0-minutes": "a while"},
            {"0-minutes": "-3"},
            {"0-minutes": "999999999999"},
            {"0-minutes": "٣"},
            {"0-code": ""},
            {"0-code": "Nurse One"},
            {"0-at": "no-such-step"},
            {"0-zone": "the moon"},
            {"presentation": "damp"},
            {"tasks": []},
            {"hazard": ""},
            {"row": ["0", "0"]},
        ],
        ids=lambda wrong: str(wrong),
    )
    @pytest.mark.sampled(3)
    def test_what_is_no_value_is_refused_in_words(self, version, signed_in: Sign, wrong):
        answer = signed_in("sander").post("/change/", question(version) | wrong)

        assert answer.status_code == 422
        assert "That cannot be worked out" in told(answer)

    @pytest.mark.parametrize("of", ["", "procedure:none", "case:00000000-0000-4000-8000-000000000000", "order:x", "x"])
    def test_a_procedure_that_is_not_there(self, version, signed_in: Sign, of):
        answer = signed_in("sander").post("/change/", question(version) | {"of": of})

        assert answer.status_code in (404, 422)

    @pytest.mark.slow
    def test_odd_rows_do_no_harm(self, version, signed_in: Sign):
        rows = {"row": ["x", "²", "-1", "99999999999999999999", "0"] + [str(n) for n in range(100)]}

        answer = signed_in("sander").post("/change/", question(version) | rows | {"more": "1"})

        assert answer.status_code == 200


class TestWhoMay:
    @pytest.mark.parametrize("sign_in", ["tomas", "noor", "oona", "ada"])
    def test_observers_and_wearers_never_see_a_margin(self, version, signed_in: Sign, sign_in):
        answer = signed_in(sign_in).post("/change/", question(version))

        assert answer.status_code == 403
        assert "further errors" not in told(answer)
