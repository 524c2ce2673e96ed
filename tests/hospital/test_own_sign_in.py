"""The hospital's own sign-in: who is linked comes in; what is forged, old, replayed or of another lets nobody in."""

from __future__ import annotations

import gzip
import json
import logging
import secrets
import time
from collections.abc import Iterator
from datetime import timedelta
from typing import Any
from urllib.parse import urlsplit

import httpx2
import pyotp
import pytest
from django.contrib.auth.hashers import check_password
from django.core.exceptions import ImproperlyConfigured
from django.test import Client
from django.utils import timezone
from joserfc.jwk import RSAKey
from tests.hospital.conftest import PASSWORD
from tests.hospital.issuer import EC, RSA, Issuer, unsigned, with_secret

from vestry.hospital.access import accounts, bounded, openid_pages, second, slowing
from vestry.hospital.access.door import FRESH
from vestry.hospital.access.models import AccessChanged, HospitalAccount, HospitalAccountUsed, User
from vestry.hospital.anteroom import tablets
from vestry.hospital.anteroom.models import Badge
from vestry.hospital.desk.models import Unit
from vestry.hospital.keeping import WrittenOnce
from vestry.hospital.own_sign_in import OwnSignIn, own_sign_in_of

pytestmark = pytest.mark.django_db
OTHER = RSAKey.generate_key(2048, {"kid": "rsa-1", "use": "sig"})
"""Another key under the name of the issuer's."""
KEY = "Sign in with the hospital's own account"


@pytest.fixture
def issuer(settings: Any) -> Iterator[Issuer]:
    with Issuer() as issuer:
        settings.OWN_SIGN_IN = OwnSignIn(issuer.address, issuer.client, issuer.secret, strong=(("amr", "mfa"),))
        yield issuer


@pytest.fixture
def linked(staff: dict[str, Any], issuer: Issuer) -> User:
    """Tomas, an observer: S-1001 at the issuer."""
    accounts.link(staff["tomas"], "S-1001", staff["ada"], "for tests", timezone.now())
    return staff["tomas"]


@pytest.fixture
def refused() -> Iterator[list[dict[str, Any]]]:
    """The lines of the log of refusals."""
    lines: list[dict[str, Any]] = []
    log, handler = logging.getLogger("vestry.refused"), logging.Handler()
    handler.emit = lambda record: lines.append(json.loads(record.getMessage()))  # type: ignore[method-assign]
    log.addHandler(handler)
    yield lines
    log.removeHandler(handler)


def desk() -> Client:
    return Client(raise_request_exception=False, SERVER_NAME="localhost")


def came_back(client: Client, further: str = "/records/") -> str:
    """Away to the issuer and through it: the address that it sends the browser back to."""
    away = client.get("/sign-in/hospital/", {"next": further})
    assert away.status_code == 302, away.content
    answer = httpx2.get(away["Location"], trust_env=False)
    assert answer.status_code == 302, answer.text
    parts = urlsplit(answer.headers["Location"])
    return f"{parts.path}?{parts.query}"


def through(client: Client, further: str = "/records/") -> Any:
    return client.get(came_back(client, further))


def test_who_is_linked_comes_in_where_they_were_going_in_a_new_session(linked: User):
    client = desk()
    back = came_back(client)
    before = client.session.session_key
    answer = client.get(back)
    assert (answer.status_code, answer["Location"]) == (302, "/records/")
    assert client.session.session_key != before
    assert b"Tomas Arden" in client.get("/records/").content
    (used,) = HospitalAccountUsed.objects.all()
    assert (used.account.user, used.strong) == (linked, False)


def test_a_key_of_the_other_sort_and_a_secret_in_the_body_do_as_well(linked: User, issuer: Issuer):
    issuer.key, issuer.alg = EC, "ES256"
    issuer.of_itself["token_endpoint_auth_methods_supported"] = ["private_key_jwt", "client_secret_post"]
    assert through(desk())["Location"] == "/records/"


def now() -> int:
    return int(time.time())


LIES: dict[str, dict[str, Any]] = {
    "another nonce": {"claims": {"nonce": "x" * 48}},
    "no nonce": {"claims": {"nonce": None}},
    "another audience": {"claims": {"aud": "payroll"}},
    "another audience, told as for us": {"claims": {"aud": "payroll", "azp": "vestry"}},
    "several audiences and no party": {"claims": {"aud": ["payroll", "vestry"]}},
    "another party": {"claims": {"azp": "payroll"}},
    "no audience": {"claims": {"aud": None}},
    "another issuer": {"claims": {"iss": "https://elsewhere.example"}},
    "no issuer": {"claims": {"iss": None}},
    "expired": {"claims": {"exp": now() - 61}},
    "no end": {"claims": {"exp": None}},
    "an end that is no number": {"claims": {"exp": "never"}},
    "of the future": {"claims": {"iat": now() + 3600}},
    "not yet": {"claims": {"nbf": now() + 3600}},
    "asked an hour ago": {"claims": {"auth_time": now() - 3600}},
    "no subject": {"claims": {"sub": None}},
    "an empty subject": {"claims": {"sub": " "}},
    "a subject that is a list": {"claims": {"sub": ["S-1001"]}},
    "a hash of another access token": {"claims": {"at_hash": "AAAAAAAAAAAAAAAAAAAAAA"}},
    "not signed": {"token": unsigned},
    "signed with the public key as a secret": {"token": lambda claims: with_secret(claims, RSA.as_pem(private=False))},
    "signed with the client's secret": {"token": lambda claims: with_secret(claims, b"a secret of this test")},
    "another key of the same name": {"key": OTHER},
    "a key that is not published": {"published": [EC]},
    "a signature that is not taken": {"alg": "RS512"},
    "no token": {"token": lambda claims: None},
    "nonsense": {"token": lambda claims: "a.b.c"},
    "much": {"token": lambda claims: "[" * 9000},
}


def lying(issuer: Issuer, how: dict[str, Any]) -> None:
    for name, value in how.items():
        setattr(issuer, name, value)


@pytest.mark.parametrize("lie", LIES)
def test_a_token_that_does_not_hold_lets_nobody_in_and_is_logged(
    lie: str, linked: User, issuer: Issuer, refused: list[dict[str, Any]]
):
    client = desk()
    lying(issuer, LIES[lie])
    back = came_back(client)
    answer = client.get(back)
    assert answer.status_code == 422
    assert b"Not signed in" in answer.content
    assert client.get("/records/").status_code == 302
    (line,) = [one for one in refused if one["status"] == 422]
    assert line["what"] == "GET /sign-in/hospital/back/"
    assert ("did not ask anew" if lie == "asked an hour ago" else "identity token") in line["why"]
    assert "S-1001" not in json.dumps(refused)
    assert not HospitalAccountUsed.objects.exists()


@pytest.mark.parametrize(
    "how",
    ["state", "no state", "twice", "of another browser", "denied", "no code", "another code", "iss", "no iss", "late"],
)
def test_an_answer_that_does_not_belong_here_lets_nobody_in(
    how: str, linked: User, issuer: Issuer, monkeypatch: pytest.MonkeyPatch
):
    client = desk()
    if how == "late":
        issuer.claims["exp"] = now() + 3600  # the token itself would hold
    if how == "no iss":
        issuer.of_itself["authorization_response_iss_parameter_supported"] = True
    back = came_back(client)
    query = dict(httpx2.URL("http://x" + back).params)
    if how == "state":
        query["state"] = secrets.token_urlsafe(36)
    elif how in ("no state", "no iss"):
        del query[how[3:]]
    elif how == "twice":
        assert client.get(back).status_code == 302
        client.post("/sign-out/")
    elif how == "of another browser":
        client = desk()
        came_back(client)
    elif how == "denied":
        query["error"] = "access_denied"
    elif how == "no code":
        query["code"] = ""
    elif how == "another code":
        query["code"] = "guessed"
    elif how == "iss":
        query["iss"] = "https://elsewhere.example"
    elif how == "late":
        later = timezone.now() + timedelta(minutes=10, seconds=1)
        monkeypatch.setattr(openid_pages.timezone, "now", lambda: later)
    answer = client.get("/sign-in/hospital/back/", query)
    assert answer.status_code == 422
    monkeypatch.undo()
    assert client.get("/records/").status_code == 302
    if how != "twice":
        assert client.get(back).status_code == 422, "a try uses up what waited"


def test_a_code_is_the_issuers_to_take_once_also_in_a_session_that_was_copied(linked: User, issuer: Issuer):
    client, copy = desk(), desk()
    back = came_back(client)
    copy.cookies = client.cookies.copy()
    waiting = dict(client.session)
    assert client.get(back).status_code == 302
    session = copy.session
    session.update(waiting)
    session.save()
    assert copy.get(back).status_code == 422
    assert HospitalAccountUsed.objects.count() == 1


def test_a_token_that_was_taken_is_not_taken_again(linked: User):
    (account,) = accounts.of(linked)
    assert accounts.used(account, "one", strong=False, now=timezone.now())
    assert not accounts.used(account, "one", strong=False, now=timezone.now())


def test_a_key_that_changed_is_known_at_once_and_the_old_one_no_more(linked: User, issuer: Issuer):
    assert through(desk()).status_code == 302
    issuer.key = RSAKey.generate_key(2048, {"kid": "rsa-2", "use": "sig"})
    issuer.published = [issuer.key]
    assert through(desk()).status_code == 302
    issuer.key = RSA
    assert through(desk()).status_code == 422


def test_where_the_issuer_is_down_the_page_says_so_and_the_password_works(linked: User, issuer: Issuer):
    client = desk()
    back = came_back(client)
    issuer.stop()
    for answer in (client.get(back), client.get("/sign-in/hospital/")):
        assert answer.status_code == 503
        assert b"cannot be used now. Sign in with your password" in answer.content
    assert client.post("/sign-in/", {"sign_in": "tomas", "password": PASSWORD}).status_code == 302
    assert client.get("/records/").status_code == 200


BROKEN: dict[str, tuple[str, Any]] = {
    "a failure": ("/keys", (500, {}, b"")),
    "no JSON": ("/.well-known/openid-configuration", (200, {}, b"<html>")),
    "a list": ("/.well-known/openid-configuration", (200, {}, b"[]")),
    "no token at all": ("/token", (200, {}, b"<html>")),
    "a token that is a list": ("/token", (200, {}, b"[]")),
    "a token's failure": ("/token", (500, {}, b"{}")),
}


@pytest.mark.parametrize("sort", BROKEN)
def test_an_issuer_that_does_not_answer_as_one_lets_nobody_in(sort: str, linked: User, issuer: Issuer):
    client = desk()
    back = came_back(client)
    path, answer = BROKEN[sort]
    issuer.answers[path] = answer
    assert client.get(back).status_code in (422, 503)
    assert client.get("/records/").status_code == 302


def slowly() -> Iterator[bytes]:
    """A byte now and then, for far longer than anybody waits."""
    for _ in range(400):
        yield b" "
        time.sleep(0.05)


@pytest.mark.parametrize("path", ["/.well-known/openid-configuration", "/token", "/keys"])
@pytest.mark.parametrize("sort", ["too large", "packed", "too slow"])
def test_an_answer_without_end_is_let_go(
    path: str, sort: str, linked: User, issuer: Issuer, refused: list[dict[str, Any]], monkeypatch: pytest.MonkeyPatch
):
    client = desk()
    back = came_back(client)
    sent: dict[str, tuple[dict[str, str], Any]] = {
        "too large": ({}, b'{"a": "' + b"x" * bounded.MOST + b'"}'),
        "packed": ({"Content-Encoding": "gzip"}, gzip.compress(b"x" * 40 * bounded.MOST)),
        "too slow": ({}, slowly()),
    }
    issuer.answers[path] = (200, *sent[sort])
    monkeypatch.setattr(bounded, "IN_ALL", 0.8)
    begun = time.monotonic()

    assert client.get(back).status_code == 503
    assert time.monotonic() - begun < bounded.IN_ALL + 2
    assert "larger or slower than any in good faith" in refused[-1]["why"]


@pytest.mark.parametrize(
    "of_itself",
    [
        {"issuer": "https://elsewhere.example"},
        {"authorization_endpoint": "http://elsewhere.example/"},
        {"authorization_endpoint": None},
    ],
)
def test_an_issuer_that_is_another_is_not_gone_to(of_itself: dict[str, Any], linked: User, issuer: Issuer):
    issuer.of_itself = of_itself
    assert desk().get("/sign-in/hospital/").status_code == 503


@pytest.mark.parametrize("name", ["token_endpoint", "jwks_uri"])
def test_no_other_host_is_ever_asked_unless_the_settings_name_it(
    name: str, linked: User, issuer: Issuer, settings: Any
):
    with Issuer() as elsewhere:
        path = "/token" if name == "token_endpoint" else "/keys"
        issuer.of_itself[name] = elsewhere.address + path
        assert through(desk()).status_code == 503
        assert elsewhere.asked == []
        own = settings.OWN_SIGN_IN
        settings.OWN_SIGN_IN = OwnSignIn(own.issuer, own.client, own.secret, hosts=("127.0.0.1",))
        assert through(desk()).status_code == (302 if name == "jwks_uri" else 422)
        assert elsewhere.asked == [path]


@pytest.mark.parametrize("path", ["/.well-known/openid-configuration", "/token", "/keys"])
def test_a_redirection_to_another_host_is_not_followed(path: str, linked: User, issuer: Issuer):
    with Issuer() as elsewhere:
        client = desk()
        back = came_back(client)
        issuer.answers[path] = (307, {"Location": elsewhere.address + path}, b"")
        assert client.get(back).status_code in (422, 503)
        assert elsewhere.asked == []


def test_a_secret_that_the_issuer_does_not_take_is_told_in_the_log_and_not_shown(
    linked: User, issuer: Issuer, refused: list[dict[str, Any]]
):
    issuer.secret = "changed there"
    answer = through(desk())
    assert answer.status_code == 503
    assert b"a secret of this test" not in answer.content
    assert [one["why"] for one in refused] == ["the issuer does not take this client or its secret"]


@pytest.mark.parametrize("subject", ["S-1002", "s-1001", "tomas", "S-1001 "])
def test_an_account_that_is_linked_to_nobody_is_told_what_to_do_and_nobody_is_made(
    subject: str, linked: User, issuer: Issuer, refused: list[dict[str, Any]]
):
    issuer.subject = subject
    issuer.claims = {"email": "tomas@harrow-point.example", "preferred_username": "tomas", "name": "Tomas Arden"}
    people = User.objects.count()
    answer = through(desk())
    assert answer.status_code == 403
    assert b"Ask the administrator to link it" in answer.content
    assert f"<code>{subject}</code>".encode() in answer.content
    assert User.objects.count() == people
    (line,) = refused
    assert "linked to nobody" in line["why"]
    assert subject not in line["why"]


@pytest.mark.parametrize("how", ["unlinked", "ended", "gone by the register"])
def test_who_is_unlinked_or_gone_does_not_come_in(how: str, linked: User, staff: dict[str, Any]):
    if how == "unlinked":
        accounts.unlink(linked, staff["ada"], "left", timezone.now())
    elif how == "ended":
        User.objects.filter(pk=linked.pk).update(is_active=False)
    else:
        from vestry.hospital.registers.models import RegisteredPerson

        RegisteredPerson.objects.create(code="H-9", name="Tomas", user=linked, active=False, added_at=timezone.now())
    assert through(desk()).status_code == 403


BADGE = {"badge": "HP-own", "pin": "482913"}


def test_who_has_no_password_sets_badge_and_pin_just_after_signing_in_there(
    linked: User, issuer: Issuer, monkeypatch: pytest.MonkeyPatch
):
    linked.set_unusable_password()
    linked.save()
    client = desk()
    through(client)
    assert b'name="password"' not in client.get("/badge/").content
    later = timezone.now() + timedelta(seconds=FRESH + 1)
    with monkeypatch.context() as then:
        then.setattr("vestry.hospital.anteroom.device_pages.timezone.now", lambda: later)
        assert b"/sign-in/hospital/?again=1" in client.get("/badge/").content
        assert client.post("/badge/", BADGE).status_code == 422
    assert not Badge.objects.filter(person=linked).exists()

    asked = len(issuer.asked)
    away = client.get("/sign-in/hospital/", {"again": "1", "next": "/badge/"})
    parts = urlsplit(httpx2.get(away["Location"], trust_env=False).headers["Location"])
    assert client.get(f"{parts.path}?{parts.query}")["Location"] == "/badge/"
    assert len(issuer.asked) > asked
    assert client.post("/badge/", BADGE).status_code == 302
    made = tablets.badge_of(linked)
    assert made is not None
    assert (made.badge, check_password(BADGE["pin"], made.pin_hash)) == ("HP-own", True)


def test_who_came_by_a_password_is_not_sent_there_again_and_types_it_for_the_badge(linked: User, signed_in: Any):
    client = signed_in("tomas")
    assert client.get("/sign-in/hospital/", {"again": "1", "next": "/badge/"})["Location"] == "/badge/"
    assert client.post("/badge/", BADGE).status_code == 422
    assert client.post("/badge/", BADGE | {"password": PASSWORD}).status_code == 302


def test_what_was_opened_by_an_account_ends_when_it_is_unlinked(linked: User, staff: dict[str, Any]):
    by_account, by_password = desk(), desk()
    through(by_account)
    by_password.post("/sign-in/", {"sign_in": "tomas", "password": PASSWORD})
    accounts.unlink(linked, staff["ada"], "changed over", timezone.now())
    assert by_account.get("/records/").status_code == 302
    assert by_password.get("/records/").status_code == 200


@pytest.mark.parametrize(
    ("claims", "strong"),
    [({"amr": ["pwd", "mfa"]}, True), ({"amr": ["pwd"]}, False), ({}, False), ({"acr": "mfa"}, False),
     ({"amr": ["pwd"], "acr": "gold"}, True)],
)  # fmt: skip
def test_the_unit_decides_what_counts_as_a_second_factor(
    claims: dict[str, Any], strong: bool, linked: User, issuer: Issuer, settings: Any
):
    own = settings.OWN_SIGN_IN
    settings.OWN_SIGN_IN = OwnSignIn(own.issuer, own.client, own.secret, strong=(("amr", "mfa"), ("acr", "gold")))
    issuer.claims, client = claims, desk()
    secret = second.new_secret()
    second.set_up(linked, secret, timezone.now())
    answer = through(client)
    assert answer["Location"] == ("/records/" if strong else "/sign-in/second/")
    assert HospitalAccountUsed.objects.get().strong == strong
    if strong:
        assert client.get("/records/").status_code == 200
        return
    assert client.get("/records/").status_code == 302, "the account alone lets nobody in"
    assert b"own sign-in knows you. Type the code" in client.get("/sign-in/second/").content
    assert client.post("/sign-in/second/", {"code": "000000"}).status_code == 422
    answer = client.post("/sign-in/second/", {"code": pyotp.TOTP(secret).now()})
    assert answer["Location"] == "/records/"
    assert b"Sign out there too" in client.post("/sign-out/").content


@pytest.mark.parametrize("strong", [True, False])
def test_a_role_that_needs_a_second_factor_sets_one_up_unless_the_hospital_asked_for_it(
    strong: bool, linked: User, issuer: Issuer, staff: dict[str, Any]
):
    Unit.objects.update_or_create(pk=Unit.current().pk, defaults={"name": "Real", "invented": False})
    accounts.link(staff["ingrid"], "S-7", staff["ada"], "for tests", timezone.now())
    issuer.subject, issuer.claims, client = "S-7", {"amr": ["mfa"] if strong else ["pwd"]}, desk()
    assert through(client)["Location"] == ("/records/" if strong else "/second-factor/")
    assert client.get("/records/").status_code == (200 if strong else 302)


@pytest.mark.parametrize("target", ["https://elsewhere.example/", "//elsewhere.example/", "javascript:x()", "\\\\x"])
def test_never_to_another_site(target: str, linked: User):
    assert through(desk(), target)["Location"] == "/"


def test_tries_are_counted_by_address_and_then_refused(linked: User, issuer: Issuer):
    client = desk()
    for _ in range(slowing.BY_ADDRESS):
        assert client.get("/sign-in/hospital/back/?state=x&code=y").status_code == 422
    asked = len(issuer.asked)
    assert client.get("/sign-in/hospital/").status_code == 429
    assert client.get("/sign-in/hospital/back/").status_code == 429
    assert len(issuer.asked) == asked
    other = Client(SERVER_NAME="localhost", REMOTE_ADDR="10.0.0.9")
    assert through(other)["Location"] == "/records/"


@pytest.mark.parametrize(
    "query",
    ["state=%ed%a0%80", "state=%00&code=%00", "code=" + "x" * 3000, "state[]=1&iss=", "error=%3Cb%3E", "next=//x"],
)
def test_nonsense_is_refused_in_words(query: str, linked: User):
    client = desk()
    came_back(client)
    answer = client.get(f"/sign-in/hospital/back/?{query}")
    assert answer.status_code == 422
    assert b"<b>" not in answer.content


def test_signing_out_ends_here_and_offers_to_end_there(linked: User, issuer: Issuer):
    client = desk()
    through(client)
    page = client.post("/sign-out/").content.decode()
    assert (
        f'href="{issuer.address}/out?client_id=vestry&amp;post_logout_redirect_uri=http%3A%2F%2Flocalhost%2Fsign-in%2F"'
        in page
    )
    assert client.get("/records/").status_code == 302
    issuer.of_itself["end_session_endpoint"] = "javascript:x()"
    through(client)
    page = client.post("/sign-out/").content.decode()
    assert "close the browser" in page
    assert "javascript" not in page


def test_without_settings_there_is_no_key_and_nothing_is_asked(staff: dict[str, Any], signed_in: Any):
    client = desk()
    assert KEY not in client.get("/sign-in/").content.decode()
    for address in ("/sign-in/hospital/", "/sign-in/hospital/back/?code=x&state=y"):
        assert client.get(address)["Location"] == "/sign-in/"
    assert "own account" not in signed_in("ada").get(f"/people/roles/{staff['tomas'].pk}/").content.decode()


def test_the_page_to_sign_in_has_the_key_asks_nobody_and_keeps_where_one_was_going(issuer: Issuer, db: None):
    page = desk().get("/sign-in/?next=/records/%3Fa%3D1%26b%3D2").content.decode()
    assert KEY in page
    assert "/sign-in/hospital/?next=%2Frecords%2F%3Fa%3D1%26b%3D2" in page
    assert issuer.asked == []


def test_the_administrator_links_and_unlinks_by_name_and_with_a_reason(
    issuer: Issuer, staff: dict[str, Any], signed_in: Any
):
    ada, page = signed_in("ada"), f"/people/roles/{staff['tomas'].pk}/"

    def link(whose: str, subject: str, reason: str = "seen the badge") -> int:
        told = {"what": "link", "link-subject": subject, "link-reason": reason}
        return int(ada.post(f"/people/roles/{staff[whose].pk}/", told).status_code)

    assert link("tomas", "S-1001", reason="") == 422
    assert link("tomas", "") == 422
    assert link("tomas", "S\x001") == 422
    assert link("tomas", "S-1001") == 302
    assert link("tomas", "S-1001") == 302
    assert link("tomas", "S-2") == 422, "one account each"
    assert link("noor", "S-1001") == 422, "one person each"
    assert "S-1001" in ada.get(page).content.decode()
    assert ada.post(page, {"what": "unlink", "unlink-reason": ""}).status_code == 422
    assert ada.post(page, {"what": "unlink", "unlink-reason": "left"}).status_code == 302
    assert link("noor", "S-1001") == 302
    said = [(one.user.sign_in, one.what, one.by.sign_in) for one in AccessChanged.objects.order_by("pk")]
    assert said == [("tomas", "linked", "ada"), ("tomas", "unlinked", "ada"), ("noor", "linked", "ada")]
    assert "S-1001" not in "".join(one.reason for one in AccessChanged.objects.all())
    with pytest.raises(WrittenOnce):
        HospitalAccount.objects.all().delete()
    assert (
        signed_in("ingrid").post(page, {"what": "link", "link-subject": "S-9", "link-reason": "x"}).status_code == 403
    )


RIGHT = {"VESTRY_OIDC_ISSUER": "https://id.example/x", "VESTRY_OIDC_CLIENT": "vestry", "VESTRY_OIDC_SECRET": "hush"}


@pytest.mark.parametrize(
    ("change", "told"),
    [
        ({"VESTRY_OIDC_ISSUER": "http://id.example"}, "https"),
        ({"VESTRY_OIDC_ISSUER": "https://id.example?x=1"}, "https"),
        ({"VESTRY_OIDC_ISSUER": "https://a:b@id.example"}, "https"),
        ({"VESTRY_OIDC_ISSUER": "https://[x"}, "https"),
        ({"VESTRY_OIDC_ISSUER": ""}, "no VESTRY_OIDC_ISSUER"),
        ({"VESTRY_OIDC_CLIENT": " "}, "VESTRY_OIDC_CLIENT is missing"),
        ({"VESTRY_OIDC_SECRET": ""}, "is needed"),
        ({"VESTRY_OIDC_SECRET_FILE": "also"}, "not both"),
        ({"VESTRY_OIDC_SECRET": "", "VESTRY_OIDC_SECRET_FILE": "/nowhere"}, "cannot be read"),
        ({"VESTRY_OIDC_SECOND_FACTOR": "mfa"}, "amr=VALUE"),
        ({"VESTRY_OIDC_SECOND_FACTOR": "sub=1"}, "amr=VALUE"),
    ],
)
def test_settings_that_cannot_be_are_told_without_the_secret(change: dict[str, str], told: str):
    with pytest.raises(ImproperlyConfigured) as problem:
        own_sign_in_of(RIGHT | change)
    assert told in str(problem.value)
    assert "hush" not in str(problem.value)


def test_settings_are_read_and_the_secret_never_shown(tmp_path: Any):
    assert own_sign_in_of({}) is None
    (tmp_path / "secret").write_text("hush\n")
    more = {"VESTRY_OIDC_SECRET": "", "VESTRY_OIDC_SECRET_FILE": str(tmp_path / "secret"),
            "VESTRY_OIDC_HOSTS": "Keys.example, ", "VESTRY_OIDC_SECOND_FACTOR": "amr=mfa,acr=urn:x=1"}  # fmt: skip
    own = own_sign_in_of(RIGHT | more)
    assert own is not None
    assert own.secret == "hush"
    assert "hush" not in repr(own)
    assert own.strong == (("amr", "mfa"), ("acr", "urn:x=1"))
    asked = ["https://id.example/keys", "https://keys.example:8443/", "https://id.example:444/", "http://keys.example/",
             "https://elsewhere.example/", "https://id.example@elsewhere.example/", "https://[x", None, 3]  # fmt: skip
    assert [own.may_be_asked(one) for one in asked] == [True, True, *[False] * 7]
