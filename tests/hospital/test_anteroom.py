"""The tablet: one step at a time, STOP, the approved answer or the hold card; the wearer's screen."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

import pytest
from django.test import Client
from django.utils import timezone
from tests.procedure.example import example, plan, shield_step

from vestry.entry import Event
from vestry.hospital.ids import uuid7
from vestry.hospital.record.models import Event as Row
from vestry.hospital.record.page_chain import next_counter
from vestry.hospital.record.store import append, state_of

pytestmark = pytest.mark.django_db
SWUNG = f"{shield_step()}:swings-onto-neck@{shield_step()}"


class Tablet:
    """The observer's tablet without a browser: presses what its page offers."""

    def __init__(self, client: Client, entry: Any) -> None:
        self.client, self.entry, self.address = client, entry, f"/entries/{entry.pk}/"

    @property
    def page(self) -> str:
        return self.client.get(self.address).content.decode()

    def press(self, press: str, **more: str) -> None:
        page = self.page
        step = more.pop("step", None) or re.search(r'name="step" value="([^"]*)"', page)[1]
        said = {"press": press, "step": step, "clock": "", "ids": ",".join(str(uuid7()) for _ in range(12))} | more
        assert self.client.post(f"{self.address}press/", said).status_code == 302

    def to_the_end(self) -> None:
        """Every step of the course that is led."""
        while "Every step is done." not in self.page and "Say why not" not in self.page:
            if 'value="stop-said"' in self.page:
                self.press("stop-said")
            self.press("read")
            self.press("done-seen")

    def walk_to(self, step: str) -> None:
        """Everything before this step of the plan is done: as events, since the presses are not what is tested."""
        device = self.client.cookies["vestry-device"].value
        kinds = []
        for one in plan().steps:
            if one.id == step:
                break
            kinds += [(kind, {"step": one.id}) for kind in ("stop-said", "read", "done-seen")]
            if one.topic == "area-confirmed":
                kinds += [("area-confirmed", {}), ("person-checked", {"may": True}), ("signal-checked", {})]
            elif one.to == "room":
                kinds.append(("entered", {}))
        start = next_counter(device)
        now = timezone.now()
        clock = now.isoformat(timespec="milliseconds")
        events = [
            Event(
                str(uuid7()),
                str(self.entry.pk),
                kind,
                payload,
                "tomas",
                device,
                clock,
                start + number,
                plan().hash,
            )
            for number, (kind, payload) in enumerate(kinds)
        ]
        append(self.entry, events, now)


@pytest.fixture
def tablet(entry: Any, signed_in: Callable[[str], Client]) -> Tablet:
    client = signed_in("tomas")
    client.get("/")
    return Tablet(client, entry)


def test_a_step_is_read_then_done_and_seen(tablet: Tablet):
    assert "Is the doffing area ready?" in tablet.page
    assert 'value="done-seen"' not in tablet.page
    tablet.press("read")
    assert 'value="done-seen"' in tablet.page
    assert 'value="acknowledged"' in tablet.page
    tablet.press("acknowledged")
    assert 'value="acknowledged"' not in tablet.page
    tablet.press("done-seen")
    assert "Cleared to go in today?" in tablet.page
    assert [row.kind for row in Row.objects.all()] == [
        "opened", "read", "acknowledged", "done-seen", "area-confirmed",
    ]  # fmt: skip


def test_stop_is_on_every_step_and_holds_it(tablet: Tablet):
    assert 'value="stopped"' in tablet.page
    tablet.press("stopped")

    assert "Hands still." in tablet.page
    assert "Not sure" in tablet.page
    assert "Something else" in tablet.page
    assert 'value="done-seen"' not in tablet.page


def test_no_margin_and_no_quantity_on_the_tablet_or_the_wearers_screen(tablet: Tablet):
    tablet.press("read")
    for page in (tablet.page, tablet.client.get(f"{tablet.address}wearer/").content.decode()):
        text = re.sub(r"<[^>]+>", " ", page).lower()
        assert not re.search(r"margin|further error|bricks?\b|reduction|probab|\bsafe", text)


def test_stop_pressed_wrongly_goes_on_where_it_was(tablet: Tablet):
    tablet.press("stopped")
    tablet.press("pressed-wrongly")

    assert "Is the doffing area ready?" in tablet.page
    assert state_of(tablet.entry).flags == ()


def test_before_going_in_the_hold_card_says_put_it_right(tablet: Tablet):
    tablet.press("stopped")
    tablet.press("went-otherwise", events="something-else")

    assert "Put it right." in tablet.page
    assert "Call the shift lead." not in tablet.page


@pytest.fixture
def at_the_shield(tablet: Tablet) -> Tablet:
    tablet.walk_to(shield_step())
    return tablet


def test_a_spoken_stop_stands_before_the_step(at_the_shield: Tablet):
    assert "Next is the face." in at_the_shield.page
    assert 'value="read"' not in at_the_shield.page
    at_the_shield.press("stop-said")
    assert 'value="read"' in at_the_shield.page


@pytest.mark.slow
def test_after_a_deviation_the_approved_answer_is_led_to_its_end(at_the_shield: Tablet):
    tablet = at_the_shield
    tablet.press("stop-said")
    tablet.press("read")
    tablet.press("stopped")
    assert "The visor swings onto the neck" in tablet.page
    tablet.press("went-otherwise", events=SWUNG)
    assert "First, finish this step" in tablet.page
    assert "Tell occupational health." not in tablet.page
    name = re.search(r'name="recovery" value="([^"]*)"', tablet.page)[1]
    tablet.press("recovery-taken", recovery=name)

    assert "the approved answer" in tablet.page
    state = state_of(tablet.entry)
    assert (state.course, state.position, state.flags) == (name, 0, ())
    tablet.to_the_end()
    assert "Now Petra" in tablet.page
    assert 'value="closed"' not in tablet.page
    tablet.press("undress-observed", step="")
    assert "own way out" in tablet.page
    tablet.to_the_end()
    assert "Now Tomas" in tablet.page
    tablet.press("own-way-left-out", step="", reason="stays for the next wearer")
    for task in ("seat", "floor", "bins", "restock"):
        assert state_of(tablet.entry).lane_cleared_at is None
        tablet.press(f"lane-{task}", step="")
    tablet.press("closed", step="")
    assert "The entry is closed." in tablet.page
    state = state_of(tablet.entry)
    assert (state.stage, state.flags) == ("closed", ())
    assert set(state.worn) <= {"scrubs", "washable-shoes"}
    assert state.lane_cleared_at is not None
    assert [(one.role, one.how, one.done_at is not None, one.why_not) for one in state.team] == [
        ("assistant", "observed", True, ""), ("observer", "", False, "stays for the next wearer"),
    ]  # fmt: skip
    record = tablet.client.get(f"/records/{tablet.entry.pk}/").content.decode()
    assert "The visor swings onto the neck" in record
    assert "the approved answer to this step" in record


def test_what_may_have_been_reached_is_named_with_first_aid_and_occupational_health(at_the_shield: Tablet):
    tablet = at_the_shield
    tablet.press("stopped")
    tablet.press("went-otherwise", events=SWUNG.replace("neck", "face"))

    assert "May have been reached" in tablet.page
    assert "Tell occupational health." in tablet.page


def test_not_sure_gets_the_answer_for_whatever_may_have_happened(at_the_shield: Tablet):
    tablet = at_the_shield
    tablet.press("stopped")
    tablet.press("went-otherwise", events="not-sure")

    assert "First, finish this step" in tablet.page


@pytest.mark.parametrize("events", ["something-else"])
def test_something_else_gets_the_hold_card_and_names_who_decided(at_the_shield: Tablet, events: str):
    tablet = at_the_shield
    tablet.press("stopped")
    tablet.press("went-otherwise", events=events)
    assert "Call the shift lead." in tablet.page
    tablet.press("resumed", by="Sander", reason="go on slowly")

    assert [flag.what for flag in state_of(tablet.entry).flags] == ["resumed after a deviation on the word of Sander"]
    assert "Next is the face." in tablet.page


def test_more_than_one_thing_gets_the_hold_card(at_the_shield: Tablet):
    tablet = at_the_shield
    tablet.press("stopped")
    tablet.press("went-otherwise", events=SWUNG)
    tablet.press("went-otherwise", events="something-else")

    assert "Call the shift lead." in tablet.page


def test_within_an_answer_another_deviation_gets_the_hold_card(at_the_shield: Tablet):
    tablet = at_the_shield
    tablet.press("stopped")
    tablet.press("went-otherwise", events=SWUNG)
    tablet.press("recovery-taken", recovery=re.search(r'name="recovery" value="([^"]*)"', tablet.page)[1])
    tablet.press("stopped")
    tablet.press("went-otherwise", events="not-sure")

    assert "Call the shift lead." in tablet.page


def test_after_an_earlier_deviation_without_an_answer_the_next_gets_the_hold_card_too(at_the_shield: Tablet):
    """What the first one left behind is not in any approved answer."""
    tablet = at_the_shield
    tablet.press("stopped")
    tablet.press("went-otherwise", events="something-else")
    tablet.press("resumed", by="Sander", reason="go on slowly")
    tablet.press("stopped")
    tablet.press("went-otherwise", events=SWUNG)

    assert "Call the shift lead." in tablet.page


def test_an_answer_taken_without_a_deviation_gets_no_further_answer(at_the_shield: Tablet):
    tablet = at_the_shield
    name = example().answers[0].name
    tablet.press("recovery-taken", recovery=name)
    assert state_of(tablet.entry).course == name
    tablet.press("stopped")
    tablet.press("went-otherwise", events="not-sure", step=shield_step())

    assert "Call the shift lead." in tablet.page


def test_an_entry_can_be_ended_early_with_a_reason(tablet: Tablet):
    tablet.press("stopped")
    tablet.press("went-otherwise", events="something-else")
    tablet.press("abandoned", reason="fire alarm")

    assert "The entry ended early." in tablet.page
    assert state_of(tablet.entry).stage == "abandoned"


def test_the_wearers_screen_is_blank_until_the_step_is_read_and_never_shows_the_next(
    tablet: Tablet, signed_in: Callable[[str], Client]
):
    noor = signed_in("noor")
    address = f"{tablet.address}wearer/"
    blank = noor.get(address).content.decode()
    token = noor.get(f"{address}now/").json()["token"]
    assert "Is the doffing area ready?" not in blank

    tablet.press("read")
    shown = noor.get(address).content.decode()
    assert "Is the doffing area ready?" in shown
    assert "Cleared to go in today?" not in shown
    assert noor.get(f"{address}now/").json()["token"] != token
    tablet.press("stopped")
    assert "Away from the face." in noor.get(address).content.decode()


def test_an_unbroken_group_is_one_press_and_every_step_is_recorded(tablet: Tablet, monkeypatch: pytest.MonkeyPatch):
    from dataclasses import replace

    from vestry.hospital.record import mapper

    led = mapper.led_of(tablet.entry.version)
    grouped = tuple(
        step.model_copy(update={"group": "one"}) if n < 3 else step for n, step in enumerate(led.plan.steps)
    )
    other = replace(led, plan=replace(led.plan, steps=grouped))
    for place in ("vestry.hospital.anteroom.views", "vestry.hospital.record.store"):
        monkeypatch.setattr(f"{place}.led_of", lambda version: other)

    page = tablet.page
    assert "One after the other, without a pause" in page
    assert "step 1 to 3 of" in re.sub(r"<[^>]+>", "", page)
    tablet.press("read")
    tablet.press("done-seen")
    kinds = [row.kind for row in Row.objects.all()]
    assert kinds.count("read") == kinds.count("done-seen") == 3
    assert state_of(tablet.entry).position == 3


def test_the_hold_card_says_the_units_own_words_where_it_has_written_some(at_the_shield: Tablet, staff: Any):
    from vestry.hospital.anteroom.models import OwnTextVersion

    tablet = at_the_shield
    said = {"reason": "for tests", "by": staff["ingrid"], "at": tablet.entry.created_at}
    OwnTextVersion.objects.create(name="hold-card", number=1, lines=["Arms out.", "We call."], **said)
    tablet.press("stopped")
    tablet.press("went-otherwise", events="something-else")
    assert "Arms out." in tablet.page
    assert "<li>We call.</li>" in tablet.page
    assert "version 1" in tablet.page
    assert "Stay as you are." not in tablet.page
