"""The second factor: asked for after the password, taken once, lost, and given anew."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import Any

import pyotp
import pytest
from django.test import Client
from django.utils import timezone
from tests.hospital.conftest import PASSWORD

from vestry.hospital.access import second, slowing
from vestry.hospital.access.models import AccessChanged, SecondFactor
from vestry.hospital.desk.models import Unit

pytestmark = pytest.mark.django_db


def code_of(user: Any, at: datetime | None = None) -> str:
    return pyotp.TOTP(user.second_factor.secret).at(at or timezone.now())


def begin(name: str) -> Client:
    client = Client()
    client.post("/sign-in/", {"sign_in": name, "password": PASSWORD, "next": "/records/"})
    return client


@pytest.fixture
def ingrid(staff: dict[str, Any]) -> Any:
    second.set_up(staff["ingrid"], second.new_secret(), timezone.now())
    return staff["ingrid"]


class TestSigningIn:
    def test_after_the_password_the_code_is_asked_for_and_leads_on(self, ingrid: Any):
        client = begin("ingrid")
        assert client.get("/records/").status_code == 302

        answer = client.post("/sign-in/second/", {"code": code_of(ingrid)})
        assert (answer.status_code, answer["Location"]) == (302, "/records/")
        assert client.get("/records/").status_code == 200

    def test_a_code_is_taken_once(self, ingrid: Any):
        code = code_of(ingrid)
        assert begin("ingrid").post("/sign-in/second/", {"code": code}).status_code == 302

        again = begin("ingrid").post("/sign-in/second/", {"code": code})
        assert again.status_code == 422
        assert b"used already" in again.content

    @pytest.mark.parametrize(("seconds", "status"), [(-30, 302), (30, 302), (-90, 422), (90, 422)])
    def test_a_clock_may_differ_by_half_a_minute(self, ingrid: Any, seconds: int, status: int):
        code = code_of(ingrid, timezone.now() + timedelta(seconds=seconds))
        assert begin("ingrid").post("/sign-in/second/", {"code": code}).status_code == status

    def test_without_the_password_there_is_no_second_step(self, ingrid: Any):
        answer = Client().post("/sign-in/second/", {"code": code_of(ingrid)})
        assert (answer.status_code, answer["Location"]) == (302, "/sign-in/")

    def test_whoever_waits_too_long_begins_again(self, ingrid: Any):
        client = begin("ingrid")
        session = client.session
        session["second-factor-waits-for"] = {
            **session["second-factor-waits-for"],
            "at": timezone.now().timestamp() - 301,
        }
        session.save()

        answer = client.post("/sign-in/second/", {"code": code_of(ingrid)})
        assert (answer.status_code, answer["Location"]) == (302, "/sign-in/")
        assert client.get("/records/").status_code == 302

    def test_guessing_is_slowed_down_even_for_the_right_code(self, ingrid: Any):
        client = begin("ingrid")
        for _ in range(slowing.BY_NAME):
            assert client.post("/sign-in/second/", {"code": "00000x"}).status_code == 422

        assert client.post("/sign-in/second/", {"code": code_of(ingrid)}).status_code == 429

    def test_the_right_password_alone_does_not_forget_the_failures(self, ingrid: Any):
        for _ in range(slowing.BY_NAME):
            begin("ingrid").post("/sign-in/second/", {"code": "000000x"})

        assert begin("ingrid").get("/sign-in/second/").status_code == 302  # the password itself is not taken any more

    def test_somebody_ended_meanwhile_is_not_let_in(self, ingrid: Any):
        client, code = begin("ingrid"), code_of(ingrid)
        ingrid.is_active = False
        ingrid.save()

        assert client.post("/sign-in/second/", {"code": code})["Location"] == "/sign-in/"


class TestSettingUp:
    def test_the_phone_shows_that_it_has_the_secret_before_it_counts(self, signed_in: Any, staff: Any):
        client = signed_in("tomas")
        client.get("/second-factor/")
        secret = client.session["second-factor-to-be"]
        assert client.post("/second-factor/", {"code": "123", "password": PASSWORD}).status_code == 422
        assert not SecondFactor.objects.exists()

        answer = client.post("/second-factor/", {"code": pyotp.TOTP(secret).now(), "password": PASSWORD})
        assert answer.status_code == 200
        assert len(answer.context["spare"]) == second.SPARE_CODES
        assert staff["tomas"].second_factor.secret == secret
        assert secret not in answer.content.decode()

    def test_it_needs_the_password(self, signed_in: Any):
        client = signed_in("tomas")
        client.get("/second-factor/")
        code = pyotp.TOTP(client.session["second-factor-to-be"]).now()

        assert client.post("/second-factor/", {"code": code, "password": "wrong"}).status_code == 422
        assert not SecondFactor.objects.exists()

    def test_a_new_one_ends_the_old_one(self, ingrid: Any):
        old = code_of(ingrid)
        second.set_up(ingrid, second.new_secret(), timezone.now())

        assert not second.take(ingrid, old, timezone.now())
        assert second.take(ingrid, code_of(ingrid), timezone.now())

    def test_a_spare_code_signs_in_once_and_that_is_written_down(self, staff: dict[str, Any]):
        spare = second.set_up(staff["ingrid"], second.new_secret(), timezone.now())[0]

        assert begin("ingrid").post("/sign-in/second/", {"code": spare.lower()}).status_code == 302
        assert begin("ingrid").post("/sign-in/second/", {"code": spare}).status_code == 422
        assert second.spare_left(staff["ingrid"].second_factor) == second.SPARE_CODES - 1
        assert AccessChanged.objects.filter(what="factor-code").count() == 1

    @pytest.mark.slow
    def test_whoever_need_not_have_one_ends_it_with_the_password(self, staff: dict[str, Any]):
        second.set_up(staff["tomas"], second.new_secret(), timezone.now())
        client = Client()
        client.force_login(staff["tomas"])

        client.post("/second-factor/end/", {"password": "wrong"})
        assert staff["tomas"].second_factor is not None
        client.post("/second-factor/end/", {"password": PASSWORD})
        assert staff["tomas"].second_factor is None


class TestRolesThatNeedOne:
    def test_in_a_real_hospital_nothing_else_opens_until_it_is_set_up(self, staff: dict[str, Any]):
        Unit.objects.create(name="A real one", invented=False)
        client = begin("oona")

        for page in ("/", "/people/", "/records/"):
            answer = client.get(page)
            assert (answer.status_code, answer["Location"]) == (302, "/second-factor/")
        client.get("/second-factor/")
        code = pyotp.TOTP(client.session["second-factor-to-be"]).now()
        client.post("/second-factor/", {"code": code, "password": PASSWORD})
        assert client.get("/people/").status_code == 200

    def test_nor_can_they_end_it(self, staff: dict[str, Any]):
        Unit.objects.create(name="A real one", invented=False)
        second.set_up(staff["oona"], second.new_secret(), timezone.now())
        client = Client()
        client.force_login(staff["oona"])
        client.post("/second-factor/end/", {"password": PASSWORD})

        assert staff["oona"].second_factor is not None

    def test_in_the_invented_hospital_it_is_only_offered(self, staff: dict[str, Any]):
        Unit.objects.create(name="Invented", invented=True)
        assert begin("oona").get("/people/").status_code == 200

    def test_roles_that_do_not_need_one_are_not_asked(self, staff: dict[str, Any]):
        Unit.objects.create(name="A real one", invented=False)
        assert begin("tomas").get("/records/").status_code == 200


@pytest.mark.published
@pytest.mark.parametrize(
    ("at", "code"),
    [(59, "287082"), (1111111109, "081804"), (1111111111, "050471"), (1234567890, "005924"), (2000000000, "279037")],
)
def test_codes_are_those_of_the_standard(at: int, code: str):
    """RFC 6238, appendix B, SHA-1, the last six of its eight digits; the secret is its 20 ASCII digits in base 32."""
    secret = "GEZDGNBVGY3TQOJQGEZDGNBVGY3TQOJQ"
    moment = datetime.fromtimestamp(at, tz=timezone.get_current_timezone())

    assert second.fits(secret, code, moment) == at // 30
    assert second.fits(secret, f"{(int(code) + 1) % 1_000_000:06}", moment) is None
