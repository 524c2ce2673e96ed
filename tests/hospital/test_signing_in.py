"""Signing in and out, and being slowed down."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest
from django.test import Client
from django.utils import timezone
from tests.hospital.conftest import PASSWORD

from vestry.hospital.access import slowing
from vestry.hospital.access.models import FailedSignIn

pytestmark = pytest.mark.django_db


def sign_in(client: Client, name: str, password: str, **more: str) -> Any:
    return client.post("/sign-in/", {"sign_in": name, "password": password, **more})


def test_the_right_password_leads_to_where_the_visitor_was_going(staff: Any):
    answer = sign_in(Client(), "Tomas", PASSWORD, next="/records/")

    assert (answer.status_code, answer["Location"]) == (302, "/records/")


@pytest.mark.parametrize("target", ["https://elsewhere.example/", "//elsewhere.example/", "javascript:x()", "\\\\x"])
def test_never_to_another_site(staff: Any, target: str):
    assert sign_in(Client(), "tomas", PASSWORD, next=target)["Location"] == "/"


def test_a_wrong_password_and_an_unknown_name_get_the_same_answer(staff: Any):
    wrong, unknown = sign_in(Client(), "tomas", "wrong"), sign_in(Client(), "nobody", "wrong")

    assert wrong.status_code == unknown.status_code == 422
    for answer in (wrong, unknown):
        assert b"Name and password do not fit together." in answer.content


def test_too_many_failures_are_slowed_down_even_with_the_right_password(staff: Any):
    client = Client()
    for _ in range(slowing.BY_NAME):
        sign_in(client, "tomas", "wrong")

    answer = sign_in(client, "tomas", PASSWORD)
    assert answer.status_code == 429
    assert b"Too many tries" in answer.content
    assert sign_in(Client(REMOTE_ADDR="10.0.0.9"), "ilse", PASSWORD).status_code == 422


def test_one_address_cannot_try_every_name(staff: Any):
    now = timezone.now()
    for number in range(slowing.BY_ADDRESS):
        slowing.failed(f"name-{number}", "127.0.0.1", now)

    assert sign_in(Client(), "tomas", PASSWORD).status_code == 429
    assert sign_in(Client(REMOTE_ADDR="10.0.0.9"), "tomas", PASSWORD).status_code == 302


def test_failures_are_forgotten_after_a_while_and_by_a_sign_in(staff: Any):
    past = timezone.now() - slowing.WINDOW - timedelta(seconds=1)
    for _ in range(slowing.BY_NAME):
        slowing.failed("tomas", "127.0.0.1", past)
    slowing.failed("tomas", "127.0.0.1", timezone.now())

    assert sign_in(Client(), "tomas", PASSWORD).status_code == 302
    assert not FailedSignIn.objects.exists()


def test_signing_out_ends_the_session(staff: Any):
    client = Client()
    sign_in(client, "tomas", PASSWORD)

    assert client.get("/").status_code == 200
    assert client.post("/sign-out/").status_code == 302
    assert client.get("/").status_code == 302


def test_a_post_without_its_token_stores_nothing(staff: Any):
    client = Client(enforce_csrf_checks=True)
    answer = sign_in(client, "tomas", PASSWORD)

    assert answer.status_code == 403
    assert b"Your page was too old" in answer.content
    assert client.get("/").status_code == 302


def test_pages_forbid_foreign_content_and_framing(staff: Any):
    answer = Client().get("/sign-in/")
    policy = answer["Content-Security-Policy"]

    assert "default-src 'none'" in policy
    assert "unsafe" not in policy
    assert answer["X-Frame-Options"] == "DENY"
    assert answer["X-Content-Type-Options"] == "nosniff"
    assert answer["Referrer-Policy"] == "same-origin"
    assert all(morsel["httponly"] for morsel in answer.cookies.values())


def test_passwords_are_hashed_with_argon2_outside_tests():
    from vestry.hospital import settings

    assert settings.PASSWORD_HASHERS == ["django.contrib.auth.hashers.Argon2PasswordHasher"]
