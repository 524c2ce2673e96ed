"""Giving access: from an empty record to people with roles, codes and passwords, and back."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest
from django.test import Client
from django.utils import timezone
from tests.hospital.conftest import PASSWORD

from vestry.hospital.access import giving, second
from vestry.hospital.access.models import AccessChanged, User

pytestmark = pytest.mark.django_db
NEW = {"name": "Mira Sandell", "sign_in": "mira", "roles": ["trained-observer"]}
WORDS = "four plain quiet words"


def set_password(code: str, sign_in: str = "mira", password: str = WORDS, again: str | None = None) -> Any:
    said = {"sign_in": sign_in, "code": code, "password": password, "again": password if again is None else again}
    return Client().post("/sign-in/first/", said)


@pytest.fixture
def added(signed_in: Any) -> str:
    answer = signed_in("ada").post("/people/roles/", NEW)
    assert answer.status_code == 200
    return str(answer.context["code"])


class TestSomebodyNew:
    def test_they_set_a_password_with_the_code_and_sign_in(self, added: str):
        assert set_password(added.lower()).status_code == 302

        client = Client()
        assert client.post("/sign-in/", {"sign_in": "mira", "password": WORDS}).status_code == 302
        assert client.get("/procedures/").status_code == 200

    def test_the_code_works_once(self, added: str):
        set_password(added)
        assert set_password(added, password="another set of words").status_code == 422

    def test_not_for_somebody_else_and_not_too_late(self, added: str):
        assert set_password(added, sign_in="tomas").status_code == 422
        assert giving.holder("mira", added, timezone.now() + giving.CODE_FOR) is None
        assert giving.holder("mira", added, timezone.now() + giving.CODE_FOR - timedelta(minutes=1)) is not None

    @pytest.mark.parametrize(
        ("password", "again"), [("short", "short"), (WORDS, "four other words here"), ("password1234", "password1234")]
    )
    def test_a_weak_password_or_two_that_differ_are_refused(self, added: str, password: str, again: str):
        assert set_password(added, password=password, again=again).status_code == 422
        assert not User.objects.get(sign_in="mira").has_usable_password()

    def test_before_a_password_is_set_nothing_signs_in(self, added: str):
        for password in ("", added, "None"):
            assert Client().post("/sign-in/", {"sign_in": "mira", "password": password}).status_code == 422

    def test_a_name_that_is_taken_or_cannot_be_one_adds_nobody(self, signed_in: Any):
        client, before = signed_in("ada"), User.objects.count()
        for sign_in in ("tomas", "Mira!", "", "a" * 61):
            assert client.post("/people/roles/", {**NEW, "sign_in": sign_in}).status_code == 422
        assert client.post("/people/roles/", {**NEW, "roles": ["king"]}).status_code == 422
        assert User.objects.count() == before

    def test_guessing_codes_is_slowed_down(self, added: str):
        answers = [set_password(f"AAAA-{number:04}").status_code for number in range(8)]
        assert answers[-1] == 429


class TestSomebodyKnown:
    def test_roles_are_set_with_a_reason_and_each_change_is_on_record(self, signed_in: Any, staff: dict[str, Any]):
        client, page = signed_in("ada"), f"/people/roles/{staff['tomas'].pk}/"
        assert client.post(page, {"what": "roles", "roles": ["auditor"]}).status_code == 422
        assert client.post(page, {"what": "roles", "roles": ["auditor"], "reason": "moves"}).status_code == 302

        assert set(staff["tomas"].grants.values_list("role", flat=True)) == {"auditor"}
        change = AccessChanged.objects.first()
        assert (change.user, change.what, change.roles, change.reason, change.by) == (
            staff["tomas"], "roles", ["auditor"], "moves", staff["ada"],
        )  # fmt: skip
        assert b"moves" in client.get("/people/roles/").content

    def test_twice_the_same_stores_once(self, signed_in: Any, staff: dict[str, Any]):
        client, page = signed_in("ada"), f"/people/roles/{staff['tomas'].pk}/"
        for _ in range(2):
            client.post(page, {"what": "roles", "roles": ["auditor"], "reason": "moves"})
        assert AccessChanged.objects.count() == 1

    def test_the_last_administrator_stays_one(self, signed_in: Any, staff: dict[str, Any]):
        client, page = signed_in("ada"), f"/people/roles/{staff['ada'].pk}/"
        for said in ({"what": "roles", "roles": ["auditor"], "reason": "x"}, {"what": "let", "let-reason": "x"}):
            answer = client.post(page, said)
            assert answer.status_code == 422
            assert b"Nobody else is administrator" in answer.content
        assert staff["ada"].grants.filter(role="administrator").exists()

    def test_whoever_is_ended_is_out_at_once(self, signed_in: Any, staff: dict[str, Any]):
        theirs = signed_in("tomas")
        assert theirs.get("/records/").status_code == 200
        signed_in("ada").post(f"/people/roles/{staff['tomas'].pk}/", {"what": "let", "let-reason": "left us"})

        assert theirs.get("/records/").status_code == 302
        assert Client().post("/sign-in/", {"sign_in": "tomas", "password": PASSWORD}).status_code == 422

    def test_a_new_code_leaves_the_old_password_until_it_is_used_and_then_ends_sessions(
        self, signed_in: Any, staff: dict[str, Any]
    ):
        theirs = signed_in("tomas")
        page = f"/people/roles/{staff['tomas'].pk}/"
        first, code = (
            signed_in("ada").post(page, {"what": "code", "code-reason": "forgotten"}).context["code"] for _ in range(2)
        )
        assert theirs.get("/records/").status_code == 200
        assert set_password(first, sign_in="tomas").status_code == 422
        assert set_password(code, sign_in="tomas").status_code == 302
        assert theirs.get("/records/").status_code == 302

    def test_a_lost_second_factor_is_taken_away(self, signed_in: Any, staff: dict[str, Any]):
        second.set_up(staff["tomas"], second.new_secret(), timezone.now())
        signed_in("ada").post(f"/people/roles/{staff['tomas'].pk}/", {"what": "factor", "factor-reason": "phone lost"})

        assert staff["tomas"].second_factor is None
        assert AccessChanged.objects.first().what == "factor-ended"

    def test_a_lead_sees_who_has_what_and_changes_nothing(self, signed_in: Any, staff: dict[str, Any]):
        client = signed_in("ingrid")
        assert client.get("/people/roles/").status_code == 200
        assert client.post("/people/roles/", NEW).status_code == 403
        assert client.get(f"/people/roles/{staff['tomas'].pk}/").status_code == 403
