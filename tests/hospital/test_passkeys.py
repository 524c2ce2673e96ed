"""Passkeys beside the codes: made, used once per challenge, removed; what is forged, old or copied lets nobody in."""

from __future__ import annotations

import html
import json
import re
from datetime import timedelta
from typing import Any

import pytest
from django.test import Client
from django.utils import timezone
from tests.hospital.authenticator import Authenticator
from tests.hospital.conftest import PASSWORD

from vestry.hospital.access import passkeys, slowing
from vestry.hospital.access.models import AccessChanged, Passkey
from vestry.hospital.desk.models import Unit

pytestmark = pytest.mark.django_db
HERE = "/second-factor/passkeys/"


def localhost() -> Client:
    return Client(raise_request_exception=False, SERVER_NAME="localhost")


def begin(name: str) -> Client:
    client = localhost()
    client.post("/sign-in/", {"sign_in": name, "password": PASSWORD, "next": "/records/"})
    return client


def options(page: Any) -> Any:
    return json.loads(html.unescape(re.search(r'data-options="([^"]+)"', page.content.decode())[1]))  # type: ignore[index]


def asked(client: Client) -> Any:
    return options(client.get("/sign-in/second/"))


def answered(client: Client, answer: str) -> int:
    return int(client.post("/sign-in/second/", {"passkey": answer}).status_code)


@pytest.fixture
def signed(staff: dict[str, Any]) -> Client:
    client = localhost()
    client.force_login(staff["ingrid"])
    return client


@pytest.fixture
def key(signed: Client) -> Authenticator:
    """Ingrid's passkey."""
    made = Authenticator()
    told = {"name": "blue key", "password": PASSWORD, "answer": made.make(options(signed.get(HERE)))}
    assert signed.post(HERE, told).status_code == 302
    return made


def test_a_passkey_that_was_made_is_asked_for_after_the_password_and_lets_in(key: Authenticator):
    client = begin("ingrid")
    assert client.get("/records/").status_code == 302
    assert answered(client, key.sign(asked(client))) == 302
    assert client.get("/records/").status_code == 200
    assert [one.what for one in AccessChanged.objects.all()] == ["passkey-set"]


def test_an_answer_is_taken_once_and_so_is_its_challenge(key: Authenticator):
    client = begin("ingrid")
    answer = key.sign(asked(client))
    assert answered(client, answer) == 302
    again = begin("ingrid")
    asked(again)
    assert answered(again, answer) == 422
    first = begin("ingrid")
    challenged = asked(first)
    assert answered(first, "{}") == 422
    assert answered(first, key.sign(challenged)) == 422, "a failed try uses the challenge up"


@pytest.mark.parametrize("wrong", ["origin", "key", "challenge", "count", "sort", "another's", "ended", "old"])
def test_what_is_forged_copied_old_or_anothers_lets_nobody_in(
    wrong: str, key: Authenticator, staff: dict[str, Any], monkeypatch: pytest.MonkeyPatch
):
    client = begin("ingrid")
    assert answered(client, key.sign(asked(client))) == 302
    client = begin("ingrid")
    said = asked(client)
    if wrong == "origin":
        key.origin = "http://localhost.example"
    elif wrong == "key":
        key.key = Authenticator().key
    elif wrong == "challenge":
        said["challenge"] = "AAAA"
    elif wrong == "count":
        key.count -= 1  # a copy of the device, which counted less
    elif wrong == "another's":
        key.id = Authenticator().id
    elif wrong == "ended":
        passkeys.end(passkeys.of(staff["ingrid"]), staff["ada"], "lost", timezone.now())
    elif wrong == "old":
        later = timezone.now() + timedelta(minutes=4, seconds=59)
        monkeypatch.setattr(passkeys, "FOR_AN_ANSWER", 60)
        monkeypatch.setattr("vestry.hospital.access.views.timezone.now", lambda: later)
    answer = key.sign(said)
    if wrong == "sort":
        answer = answer.replace("public-key", "password")
    assert answered(client, answer) == 422
    assert client.get("/records/").status_code == 302


@pytest.mark.parametrize("answer", ["", "x", "[]", "{}", '{"rawId": 3}', '{"rawId": "!"}', "[" * 9000, "9" * 30000])
def test_nonsense_is_refused_in_words(answer: str, key: Authenticator):
    client = begin("ingrid")
    asked(client)
    assert answered(client, answer) == 422
    told = {"name": "x", "password": PASSWORD, "answer": answer}
    signed = localhost()
    signed.force_login(Passkey.objects.get().user)
    signed.get(HERE)
    assert signed.post(HERE, told).status_code == 422


def test_tries_are_counted_and_then_refused(key: Authenticator):
    client = begin("ingrid")
    for _ in range(slowing.BY_NAME):
        asked(client)
        assert answered(client, "{}") == 422
    assert answered(client, key.sign(asked(client))) == 429


def test_making_one_needs_the_password_and_what_was_made_for_this_page(signed: Client):
    for told in (
        {"password": "wrong"},
        {"answer": Authenticator(origin="https://elsewhere.example").make(options(signed.get(HERE)))},
        {"name": ""},
    ):
        answer = Authenticator().make(options(signed.get(HERE)))
        assert signed.post(HERE, {"name": "x", "password": PASSWORD, "answer": answer} | told).status_code == 422
    assert not Passkey.objects.exists()


def test_several_are_named_and_removed_but_not_the_last_where_the_role_needs_one(
    key: Authenticator, signed: Client, staff: dict[str, Any]
):
    Unit.objects.update_or_create(pk=Unit.current().pk, defaults={"name": "Real", "invented": False})
    other = Authenticator()
    told = {"name": "desk", "password": PASSWORD, "answer": other.make(options(signed.get(HERE)))}
    assert signed.post(HERE, told).status_code == 302
    first, second = passkeys.of(staff["ingrid"])
    assert signed.post(f"{HERE}{first.pk}/end/", {"password": "wrong"}).status_code == 302
    assert len(passkeys.of(staff["ingrid"])) == 2
    signed.post(f"{HERE}{first.pk}/end/", {"password": PASSWORD})
    signed.post(f"{HERE}{second.pk}/end/", {"password": PASSWORD})
    assert [one.name for one in passkeys.of(staff["ingrid"])] == ["desk"]
    stranger = localhost()
    stranger.force_login(staff["oona"])
    assert stranger.post(f"{HERE}{second.pk}/end/", {"password": PASSWORD}).status_code == 302
    assert len(passkeys.of(staff["ingrid"])) == 1


@pytest.mark.parametrize(("name", "told"), [("127.0.0.1", "is a number"), ("[::1]", "is a number")])
def test_an_address_where_none_can_work_says_so(name: str, told: str, staff: dict[str, Any]):
    client = Client(SERVER_NAME=name, SERVER_PORT="8000")
    client.force_login(staff["ingrid"])
    page = client.get(HERE).content.decode()
    assert told in page
    assert "data-options" not in page


def test_a_name_without_https_says_so(staff: dict[str, Any], settings: Any):
    settings.ALLOWED_HOSTS = ["vestry.ward"]
    client = Client(SERVER_NAME="vestry.ward")
    client.force_login(staff["ingrid"])
    assert "works over HTTPS alone" in client.get(HERE).content.decode()


def test_the_administrator_takes_a_lost_one_away(key: Authenticator, staff: dict[str, Any]):
    client = localhost()
    client.force_login(staff["ada"])
    client.post(f"/people/roles/{staff['ingrid'].pk}/", {"what": "factor", "factor-reason": "lost"})
    assert passkeys.of(staff["ingrid"]) == []
    again = begin("ingrid").get("/records/")
    assert again["Location"] == "/second-factor/", "the password alone, and the role needs a new one"
