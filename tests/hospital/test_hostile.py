"""Whatever is sent, to every page, by everyone: no failure of the server, nothing stored by what was refused, and each
refusal in the log, without anything of what was sent."""

from __future__ import annotations

import json
import logging
import random
from collections.abc import Callable, Iterator
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.utils import timezone
from tests.hospital import hostile
from tests.hospital.conftest import BY_ROLE
from tests.hospital.test_access_walk import PAGES, addresses
from tests.hospital.test_tablets import at_work, badges, carrying, said

from vestry.hospital.access.door import doors_of
from vestry.hospital.access.table import ENROLLED, ROLES, TABLE, allowed
from vestry.hospital.record.chain import broken_at

pytestmark = pytest.mark.django_db
__all__ = ["addresses", "at_work", "badges", "carrying"]
# Rows that a refusal itself may leave: tries that are counted, who looked at what, and sessions.
OF_ITSELF = {"access_failedsignin", "record_recordread", "registers_healthread", "django_session"}
FORM = "application/x-www-form-urlencoded"
SLOW = {"ready/", "ready/<slug:hazard>/"}


def rows() -> dict[str, int]:
    """How many rows stand in each table."""
    with connection.cursor() as cursor:
        found = {}
        for table in sorted(set(connection.introspection.table_names(cursor)) - OF_ITSELF):
            cursor.execute(f'SELECT count(*) FROM "{table}"')
            found[table] = cursor.fetchone()[0]
    return found


@pytest.fixture
def light(monkeypatch: pytest.MonkeyPatch) -> None:
    """What takes seconds to work out stands still: it is tested elsewhere."""
    from tests.hospital.test_access_walk import READY, State, job

    monkeypatch.setattr("vestry.hospital.desk.ready.ask", lambda hazards, *parts, **more: [READY] * len(hazards))
    monkeypatch.setattr("vestry.hospital.desk.cases.plan_later", lambda planned: planned.save())
    monkeypatch.setattr("vestry.hospital.desk.weighing.weighed", lambda *parts: State(words="Rule 1 of 9"))
    under_way = job.State("x", words="Runs 1 of 2")
    monkeypatch.setattr("vestry.hospital.desk.amounts_pages.answered", lambda *parts, **more: under_way)
    for paper in ("sheet_pdf", "explanation_pdf", "differences_pdf", "rules_pdf", "book_pdf", "all_clear_pdf"):
        monkeypatch.setattr(f"vestry.papers.{paper}", lambda *parts, **more: b"%PDF-")


class Refusals(logging.Handler):
    """The lines of the log of refusals."""

    def __init__(self) -> None:
        super().__init__()
        self.lines: list[dict[str, Any]] = []

    def emit(self, record: logging.LogRecord) -> None:
        self.lines.append(json.loads(record.getMessage()))


@pytest.fixture
def refusals() -> Iterator[Refusals]:
    handler, log = Refusals(), logging.getLogger("vestry.refused")
    log.addHandler(handler)
    yield handler
    log.removeHandler(handler)


def problem(send: Callable[[], Any], refusals: Refusals) -> str | None:
    """What is wrong with the answer to a request, or None."""
    before, lines = rows(), len(refusals.lines)
    answer = send()
    told = refusals.lines[lines:]
    if answer.status_code >= 500:
        return f"status {answer.status_code}: {answer.exc_info[1]!r}" if getattr(answer, "exc_info", None) else "5xx"
    if answer.status_code < 400:
        return None
    if len(told) != 1 or told[0]["status"] != answer.status_code or not told[0]["why"]:
        return f"status {answer.status_code} is not in the log once"
    if hostile.MARK in json.dumps(told):
        return "what was sent stands in the log"
    after = rows()
    return None if after == before else f"stored: { {name for name in after if after[name] != before.get(name)} }"


def walk(
    role: str | None, addresses: Callable[[str], str], client: Client, refusals: Refusals, seed: int, count: int
) -> tuple[list[tuple[str, str, str]], int]:
    """Every page with hostile queries and bodies, as this role. (what was wrong, how many requests)."""
    chance, wrong, sent = random.Random(f"{seed} {role}"), [], 0
    for route, view in PAGES:
        doors = doors_of(view) or {}
        mine = {
            method for method, action in doors.items()
            if TABLE[action] != ENROLLED and allowed(action, [role] if role else [], signed_in=role is not None)
        }  # fmt: skip
        if route == "sign-out/" or (not mine and count > 1):
            continue
        address = addresses(route)
        page = client.get(address) if "GET" in mine and route not in SLOW else None
        content = b"" if page is None or page.streaming else page.content
        fields = hostile.fields_of(content)
        attempts: list[tuple[str, Callable[[], Any]]] = []
        for body in hostile.forms(fields, chance, count):
            if "POST" in doors:
                attempts.append((body[:300].decode("ascii"), _posting(client, address, FORM, body)))
            if "GET" in doors and route not in SLOW:
                join = "&" if "?" in address else "?"
                attempts.append((body[:300].decode("ascii"), _getting(client, address + join + body.decode("ascii"))))
        if "POST" in doors:
            picked = list(hostile.bodies()) if count > 1 else [chance.choice(list(hostile.bodies()))]
            attempts += [(f"{kind} {body[:60]!r}", _posting(client, address, kind, body)) for kind, body in picked]
        for what, send in attempts:
            sent += 1
            if found := problem(send, refusals):
                wrong.append((route, what, found))
    return wrong, sent


def _posting(client: Client, address: str, kind: str, body: bytes) -> Callable[[], Any]:
    return lambda: client.generic("POST", address, body, content_type=kind)


def _getting(client: Client, address: str) -> Callable[[], Any]:
    return lambda: client.get(address)


def test_every_page_bears_what_is_sent_by_the_lead(addresses: Any, signed_in: Any, light: None, refusals: Refusals):
    wrong, sent = walk("programme-lead", addresses, signed_in("ingrid"), refusals, seed=1, count=1)

    assert wrong == []
    assert sent > 100


@pytest.mark.slow
@pytest.mark.timeout(600)
@pytest.mark.parametrize("role", [None, *ROLES])
def test_every_page_bears_whatever_is_sent_by_everyone(
    role: str | None, addresses: Any, signed_in: Any, light: None, refusals: Refusals
):
    client = signed_in(BY_ROLE[role]) if role else Client(raise_request_exception=False)
    wrong, sent = walk(role, addresses, client, refusals, seed=2, count=2)

    assert wrong == []
    assert sent > 20


@pytest.mark.parametrize("seed", [1, *(pytest.param(seed, marks=pytest.mark.slow) for seed in range(2, 8))])
def test_events_near_a_good_one_are_stored_or_named_and_nothing_else_is_written(
    carrying: Any, entry: Any, refusals: Refusals, seed: int
):
    chance, address = random.Random(seed), f"/tablet/entries/{entry.pk}/events/"
    for number in range(25):
        documents = list(hostile.events(said(carrying, number), chance, chance.choice((1, 1, 3))))
        before, lines = rows(), len(refusals.lines)
        answer = carrying.client.post(
            address, json.dumps({"events": documents}), content_type="application/json",
            HTTP_AUTHORIZATION=f"Vestry-Tablet {carrying.token}",
        )  # fmt: skip
        after, told = rows(), answer.json()

        assert answer.status_code == 200, documents
        assert len(told["taken"]) + len(told["known"]) + len(told["refused"]) <= len(documents)
        grown = {name: after[name] - before[name] for name in after if after[name] != before[name]}
        assert grown.get("record_event", 0) == len(told["taken"])
        assert bool(refusals.lines[lines:]) == bool(told["refused"])
        assert hostile.MARK not in json.dumps(refusals.lines[lines:])
    assert broken_at() is None


def test_a_token_that_is_forged_old_or_anothers_opens_nothing_and_is_in_the_log(
    carrying: Any, entry: Any, staff: dict[str, Any], enrol: Any, refusals: Refusals
):
    from vestry.hospital.anteroom.models import Tablet
    from vestry.hospital.anteroom.tablets import revoke

    address, event = f"/tablet/entries/{entry.pk}/events/", said(carrying, 1)
    other = enrol()
    send = lambda token: Client().post(  # noqa: E731
        address, {"events": [event]}, content_type="application/json", HTTP_AUTHORIZATION=token
    )
    begun = rows()
    for token, status in (
        ("", 403), ("Vestry-Tablet", 403), (f"Vestry-Tablet {carrying.token[:-1]}", 403),
        (f"Bearer {carrying.token}", 403), (f"Vestry-Tablet {carrying.token}\u00e9", 403),
        ("Vestry-Tablet " + "x" * 4000, 403),
        (f"Vestry-Tablet {other.token}", 404),
    ):  # fmt: skip
        assert send(token).status_code == status, token[:40]
    revoke(Tablet.objects.get(pk=carrying.id), staff["ingrid"], "lost", timezone.now())
    assert send(f"Vestry-Tablet {carrying.token}").status_code == 403

    assert {name for name, count in rows().items() if count != begun[name]} == {"anteroom_tabletrevoked"}
    assert [line["status"] for line in refusals.lines] == [403] * 6 + [404, 403]
    assert carrying.token[:20] not in json.dumps(refusals.lines)


def test_an_upload_sent_again_or_by_another_tablet_or_to_another_entry_adds_nothing(
    carrying: Any, entry: Any, enrol: Any, version: Any, staff: dict[str, Any], refusals: Refusals
):
    from vestry.hospital.anteroom.models import Carrying
    from vestry.hospital.record.models import Entry, Event

    address, event = f"/tablet/entries/{entry.pk}/events/", said(carrying, 1)
    assert carrying.post(address, {"events": [event]}).json()["taken"] == [event["id"]]
    other, now = enrol(), timezone.now()
    second = Entry.objects.create(
        version=version, wearer=staff["petra"], observer=staff["tomas"], assistant=staff["noor"], created_at=now
    )
    for tablet, where in ((other, entry), (carrying, second)):
        held = {"tablet_id": tablet.id, "entry": where, "person": staff["tomas"], "at": now}
        Carrying.objects.create(**held)
    count = Event.objects.count()

    assert carrying.post(address, {"events": [event] * 400}).json()["known"] == [event["id"]]
    assert other.post(address, {"events": [event]}).json()["taken"] == []
    told = carrying.post(f"/tablet/entries/{second.pk}/events/", {"events": [event]}).json()
    assert (told["taken"], told["known"]) == ([], [])
    assert told["refused"]
    assert Event.objects.count() == count
    assert len(refusals.lines) == 2


def test_who_was_refused_what_and_why_is_in_the_log(signed_in: Any, entry: Any, refusals: Refusals):
    signed_in("noor").post("/cases/new/", {"code": hostile.MARK})
    Client().post("/sign-in/", {"sign_in": "ingrid", "password": hostile.MARK})
    signed_in("stranger").get(f"/records/{entry.pk}/")

    assert [(line["who"], line["what"], line["status"]) for line in refusals.lines] == [
        ("noor", "POST /cases/new/", 403),
        ("nobody signed in", "POST /sign-in/", 422),
        ("stranger", "GET /records/<uuid:key>/", 404),
    ]
    assert refusals.lines[0]["why"] == "plan-case is not for this role"
    assert hostile.MARK not in json.dumps(refusals.lines)
