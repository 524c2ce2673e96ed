"""Calls on the desk: taken, written down twice and late, who may, what refuses an entry and who overrides it."""

from __future__ import annotations

import datetime
import re
from collections.abc import Callable
from typing import Any

import pytest
from django.db import DatabaseError, connection
from django.test import Client
from django.utils import timezone

from vestry.hospital.call.before import before_of
from vestry.hospital.call.forms import moment
from vestry.hospital.call.models import Call, CallLine, EntryOverride, Outsider, UnitListVersion
from vestry.hospital.call.reading import open_calls, read_call
from vestry.hospital.ids import uuid7
from vestry.hospital.keeping import WrittenOnce
from vestry.hospital.record.models import Entry
from vestry.hospital.record.models import Event as Row
from vestry.hospital.record.store import state_of

pytestmark = pytest.mark.django_db
Sign = Callable[[str], Client]
TOLD = {
    "code": "ward-2", "hazard": "suspected-hcid", "presentation": "wet", "tasks": ["care"], "stays": "transfer",
    "hours": 24, "expected_at": "60", "note": "",
}  # fmt: skip
PEOPLE = {"wearer": "noor", "observer": "tomas", "assistant": "petra"}


@pytest.fixture
def call(signed_in: Sign) -> Call:
    assert signed_in("sander").post("/calls/new/", TOLD).status_code == 302
    return Call.objects.get()


def write(client: Client, call: Call, kind: str, **more: Any) -> Any:
    return client.post(f"/calls/{call.pk}/", {"line": str(uuid7()), "kind": kind} | more)


def page(answer: Any) -> str:
    return str(answer.content.decode())


def test_a_call_is_taken_with_a_code_and_never_with_what_looks_like_a_patient(signed_in: Sign):
    lead = signed_in("sander")
    for code in ("19610412-ab", "a b", "Jane Example", ""):
        assert lead.post("/calls/new/", TOLD | {"code": code}).status_code == 422
    assert Call.objects.count() == 0

    assert lead.post("/calls/new/", TOLD).status_code == 302
    assert Call.objects.get().expected_at > timezone.now() + datetime.timedelta(minutes=55)


def test_what_is_not_known_when_it_is_taken_may_stay_open(signed_in: Sign):
    assert signed_in("sander").post("/calls/new/", TOLD | {"expected_at": ""}).status_code == 302

    told = page(signed_in("sander").get(f"/calls/{Call.objects.get().pk}/"))
    assert "not known" in told
    assert "No procedure to take." in told
    assert "No latest start" in told


def test_a_line_sent_twice_is_one_line_and_one_taken_back_stays(call: Call, registered: Any, signed_in: Sign):
    tomas, line = signed_in("tomas"), str(uuid7())
    said = {"line": line, "kind": "coming", "person": registered.pk, "due": "25"}
    assert [tomas.post(f"/calls/{call.pk}/", said).status_code for _ in range(2)] == [302, 302]
    assert CallLine.objects.count() == 1
    assert read_call(call).state.replies[str(registered.pk)].says == "coming"

    assert write(tomas, call, "taken-back", item=line).status_code == 302
    assert read_call(call).state.replies == {}
    assert CallLine.objects.count() == 2


def test_a_call_made_is_ticked_late_with_the_time_that_is_told(call: Call, signed_in: Sign):
    assert write(signed_in("tomas"), call, "made", item="laboratory", when="45", note="on call").status_code == 302

    made = read_call(call).state.made["laboratory"]
    assert timezone.now() - made.when > datetime.timedelta(minutes=44)
    assert "written" in page(signed_in("tomas").get(f"/calls/{call.pk}/"))


@pytest.mark.parametrize(
    "wrong",
    [
        {"kind": "coming"},
        {"kind": "made"},
        {"kind": "expected"},
        {"kind": "dance"},
        {"kind": "expected", "due": "25:99"},
        {"kind": "taken-back", "item": "x"},
        {"kind": "taken-back", "item": "0d5c1a52-5d43-7f0a-9b1a-2f6e5b7c8d90"},
    ],
)
def test_what_cannot_be_read_is_refused_and_nothing_is_written(call: Call, signed_in: Sign, wrong: dict[str, str]):
    answer = signed_in("sander").post(f"/calls/{call.pk}/", {"line": str(uuid7())} | wrong)

    assert (answer.status_code, CallLine.objects.count()) == (422, 0)
    assert "Nothing was written" in page(answer)


def test_times_typed_around_midnight_mean_the_nearest():
    late = datetime.datetime(2026, 11, 28, 0, 5, tzinfo=datetime.UTC)

    assert moment("23:50", late, past=True) == datetime.datetime(2026, 11, 27, 23, 50, tzinfo=datetime.UTC)
    assert moment("00:40", late, past=False) == datetime.datetime(2026, 11, 28, 0, 40, tzinfo=datetime.UTC)
    evening = datetime.datetime(2026, 11, 27, 23, 30, tzinfo=datetime.UTC)
    assert moment("1:10", evening, past=False) == datetime.datetime(2026, 11, 28, 1, 10, tzinfo=datetime.UTC)


def test_open_calls_at_a_glance_name_nobody_and_ask_little(
    call: Call, registered: Any, signed_in: Sign, django_assert_max_num_queries: Any
):
    write(signed_in("sander"), call, "arrived", person=registered.pk)
    with django_assert_max_num_queries(16):
        (one,) = open_calls()

    assert (one.code, one.team, one.calls_made, one.start) == ("ward-2", False, 0, "unknown")
    told = page(signed_in("anselm").get("/calls/now.json"))
    assert "ward-2" in told
    assert "Noor" not in told
    write(signed_in("sander"), call, "stood-down", note="another hospital")
    assert open_calls() == ()


def test_no_row_of_a_call_is_changed(call: Call):
    with pytest.raises(WrittenOnce):
        Call.objects.filter(pk=call.pk).update(code="other")
    with pytest.raises(DatabaseError), connection.cursor() as cursor:
        cursor.execute("UPDATE call_call SET code = 'other'")


# ---- lists ----


def test_the_lead_writes_a_version_of_a_list_and_an_item_keeps_its_name(signed_in: Sign):
    text = "The seat is clean and stands where it belongs. | Wipe it.\nThe window is shut. | Shut it."
    said = {"items": text, "reason": "the room has a window"}
    assert signed_in("sander").post("/calls/lists/area/", said).status_code == 403
    assert signed_in("ingrid").post("/calls/lists/area/", said).status_code == 302

    number, listed = UnitListVersion.in_force("area")
    assert (number, [one.id for one in listed.items]) == (1, ["seat", "the-window-is-shut"])
    assert signed_in("ingrid").post("/calls/lists/area/", {"items": "x\n" * 21, "reason": "r"}).status_code == 422
    assert signed_in("ingrid").get("/calls/lists/weather/").status_code == 404


# ---- outsiders ----

OUTSIDER = {
    "name": "Parent 1", "comes_as": "a parent", "respirator": "powered", "glove": "m", "gown": "",
    "briefed_by": "tomas", "consents": "on",
}  # fmt: skip


def test_an_outsider_can_be_chosen_as_wearer_is_marked_and_never_signs_in(call: Call, version: Any, signed_in: Sign):
    assert signed_in("tomas").post("/calls/outsiders/new/", OUTSIDER).status_code == 403
    assert signed_in("sander").post("/calls/outsiders/new/", OUTSIDER | {"consents": ""}).status_code == 422
    assert signed_in("sander").post("/calls/outsiders/new/", OUTSIDER | {"call": call.pk}).status_code == 302
    user = Outsider.objects.get().user
    assert (user.name, user.is_active, user.has_usable_password()) == ("Parent 1 (outsider)", False, False)

    said = PEOPLE | {"wearer": user.sign_in}
    assert signed_in("tomas").post(f"/procedures/{version.pk}/start/", said).status_code == 302
    assert "Parent 1 (outsider)" in page(signed_in("sander").get("/"))
    before = before_of(Entry.objects.get())
    assert before.register_says == "not-known"
    assert "gown not known" in " ".join(before.outsider)


# Operators of the keystroke-level model (Card, Moran and Newell 1980, Communications of the ACM 23(7): 396-410; from
# memory): seconds to press a key for somebody who is not at home on a keyboard, to point, to move a hand, to think.
KEY, POINT, HAND, THINK = 1.2, 1.1, 0.4, 1.35
LETTERS = 20  # of a name, of what they come as, of a model and size


def seconds_for(fields: list[tuple[str, str]]) -> float:
    """By the model: a text is typed, one of several is opened and chosen, a box is ticked; each is thought of first."""
    pressed = THINK + POINT + KEY
    typed = THINK + HAND + POINT + LETTERS * KEY
    each = {"text": typed, "select": pressed + POINT + KEY, "radio": pressed, "checkbox": pressed}
    return sum(each[sort] for _, sort in fields)


def fields_of(form: str) -> list[tuple[str, str]]:
    """The fields of a page that somebody fills, each once: (name, sort)."""
    inputs = re.findall(r'<input\b[^>]*?type="(text|radio|checkbox)"[^>]*?name="(\w+)"', form)
    named = {name: sort for sort, name in inputs}
    return [*named.items(), *((name, "select") for name in re.findall(r'<select\b[^>]*?name="(\w+)"', form))]


def test_an_outsider_is_added_in_two_minutes_by_the_count_of_what_is_done(call: Call, signed_in: Sign):
    """From the page of calls, every size and a fit test known, by a slow typist. It counts hands and thoughts on one
    page; that somebody must first be asked for their size, it does not count, and no person was timed."""
    lead = signed_in("sander")
    address = "/calls/outsiders/new/"
    assert f'href="{address}"' in page(lead.get("/calls/"))
    asked = [one for one in fields_of(page(lead.get(address))) if one[0] != "note"]
    presses = 2 * (THINK + POINT + KEY)  # to the page, and the key that adds them

    assert len(asked) == 8
    assert seconds_for(asked) + presses < 120
    assert lead.post("/calls/outsiders/new/", OUTSIDER | {"call": call.pk}).status_code == 302


# ---- what refuses, and who overrides ----


def test_the_rules_refuse_and_an_observer_cannot_override(version: Any, registered: Any, signed_in: Sign):
    override = {"override_reason": "r", "override_alternative": "a"}
    answer = signed_in("tomas").post(f"/procedures/{version.pk}/start/", PEOPLE | override)

    assert (answer.status_code, Entry.objects.count()) == (422, 0)
    assert "Noor Hadley may not go in as wearer" in page(answer)
    assert "may not go in" in page(answer)
    assert "Competenc" not in page(answer)


def test_a_shift_lead_overrides_by_name_for_one_entry_and_the_record_and_the_call_show_it(
    call: Call, version: Any, registered: Any, signed_in: Sign
):
    lead = signed_in("sander")
    said = PEOPLE | {"call": str(call.pk), "override_reason": "the child cannot wait", "override_alternative": "40 min"}
    assert lead.post(f"/procedures/{version.pk}/start/", said | {"override_alternative": " "}).status_code == 422
    assert lead.post(f"/procedures/{version.pk}/start/", said).status_code == 302

    entry, given = Entry.objects.get(), EntryOverride.objects.get()
    assert (entry.call, given.use.entry, given.by.name) == (call, entry, "Sander Brook")
    assert {"may-not:wearer", "team:present"} <= set(given.rules)
    assert Row.objects.get(kind="overridden").payload["reason"] == "the child cannot wait"
    assert any("overridden by name" in one.what for one in state_of(entry).flags)
    assert before_of(entry).register_says == "overridden"
    assert "the child cannot wait" in page(lead.get(f"/calls/{call.pk}/"))
    assert "Named override" in page(lead.get(f"/records/{entry.pk}/"))

    assert signed_in("tomas").post(f"/procedures/{version.pk}/start/", PEOPLE).status_code == 422


def test_a_programme_lead_gives_an_override_that_the_observer_uses_once(version: Any, registered: Any, signed_in: Sign):
    said = PEOPLE | {"version": version.pk, "reason": "cannot wait", "alternative": "wait"}
    assert signed_in("tomas").post("/calls/override/", said).status_code == 403
    assert signed_in("ingrid").post("/calls/override/", said).status_code == 302

    start = f"/procedures/{version.pk}/start/"
    assert [signed_in("tomas").post(start, PEOPLE).status_code for _ in range(2)] == [302, 422]
    payload = Row.objects.get(kind="overridden").payload
    assert (payload["decided-by"], payload["signed"]) == ("ingrid", "sign-in")


def test_a_drill_is_never_refused_and_a_drill_call_starts_drills_only(version: Any, registered: Any, signed_in: Sign):
    assert signed_in("sander").post("/calls/new/", TOLD | {"drill": "on"}).status_code == 302
    said = PEOPLE | {"call": str(Call.objects.get().pk)}
    tomas = signed_in("tomas")

    assert tomas.post(f"/procedures/{version.pk}/start/", said).status_code == 422
    assert tomas.post(f"/procedures/{version.pk}/start/", said | {"drill": "on"}).status_code == 302


# ---- the plain pages' form before anyone goes in ----


def press(client: Client, entry: Any, step: str, **more: Any) -> Any:
    said = {"press": "done-seen", "step": step, "clock": ""}
    said["ids"] = ",".join(str(uuid7()) for _ in range(6))
    return client.post(f"/entries/{entry.pk}/press/", said | more)


AREA, PERSON = "before.confirm:area-confirmed", "before.confirm:person-checked"


def test_what_is_not_in_order_holds_on_the_plain_pages_until_a_lead_overrides_it(entry: Any, signed_in: Sign):
    tomas = signed_in("tomas")
    held = press(tomas, entry, AREA, **{"not-in-order": "seat"})
    assert held.status_code == 422
    assert "Wipe it or change it" in page(held)
    assert state_of(entry).area_confirmed_at is None

    more = {"not-in-order": "seat", "by": "Sander Brook", "reason": "cannot wait", "note": "the other room"}
    assert press(tomas, entry, AREA, **more).status_code == 302
    state = state_of(entry)
    assert state.area_confirmed_at is not None
    flags = [one.what for one in state.flags]
    assert "a rule was overridden by name: area:seat" in flags
    assert "the override was told, not signed by who decided" in flags


def test_a_lead_who_is_signed_in_on_the_plain_pages_signs_what_they_decide(entry: Any, signed_in: Sign):
    more = {"not-in-order": "seat", "by": "Sander Brook", "reason": "cannot wait", "note": "the other room"}
    assert press(signed_in("sander"), entry, AREA, **more).status_code == 302

    payload = Row.objects.get(kind="overridden").payload
    assert (payload["decided-by"], payload["signed"]) == ("sander", "sign-in")
    assert "signed in to decide" in page(signed_in("ingrid").get(f"/records/{entry.pk}/"))


def test_on_the_plain_pages_a_person_who_may_not_does_not_go_on(entry: Any, signed_in: Sign):
    tomas = signed_in("tomas")
    assert press(tomas, entry, AREA).status_code == 302
    assert Row.objects.get(kind="area-confirmed").payload["items"][0] == "seat"
    assert press(tomas, entry, PERSON, **{"may-not": "yes"}).status_code == 302

    assert (state_of(entry).may_go_in, state_of(entry).position) == (False, 1)
    assert set(Row.objects.get(kind="person-checked").payload) == {"may"}
