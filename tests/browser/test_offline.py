"""A tablet leads an entry without a network: nothing it showed as taken is lost, and what it shows stays true."""

from __future__ import annotations

import json
import re
import subprocess
import sys
from collections.abc import Callable
from typing import Any

import pytest
from tests.browser import carried, gloves
from tests.browser.tablet import by_axe, start

pytestmark = [pytest.mark.browser, pytest.mark.slow, pytest.mark.timeout(300)]


@pytest.fixture
def ready(signed_in: Any, hospital: Any, chromium: Any) -> Callable[..., Any]:
    """An open entry, and a tablet that carries it: (page, entry)."""

    def make() -> tuple[Any, str]:
        observer = signed_in("tomas")
        carried.set_badge(observer, "HP-tomas", hospital.password)
        observer.goto("/procedures/")
        start(observer)
        entry = observer.url.split("/")[-2]
        context = signed_in.browser.new_context(base_url=hospital.address, viewport={"width": 1280, "height": 800})
        signed_in.contexts.append(context)
        page = context.new_page()
        page.on("pageerror", lambda error: signed_in.complaints.append(str(error)))
        carried.enrol(page, carried.new_code(signed_in("ingrid")))
        carried.identify(page, "HP-tomas")
        carried.take(page, entry)
        return page, entry

    return make


def record_of(hospital: Any, entry: str) -> dict[str, Any]:
    """The record as the server has it: its events, and the state that Python folds."""
    code = (
        "import json, sys; from vestry.hospital.setting_up import set_up; set_up(sys.argv[1]);"
        "from vestry.hospital.record.models import Entry, Event; from vestry.hospital.record.store import state_of;"
        "from vestry.hospital.record.chain import broken_at;"
        "e = Entry.objects.get(pk=sys.argv[2]);"
        "print(json.dumps({'ids': [str(i) for i in Event.objects.filter(entry=e).order_by('sequence')"
        ".values_list('client_id', flat=True)], 'state': state_of(e).as_json(), 'broken': broken_at()}))"
    )
    done = subprocess.run(
        [sys.executable, "-c", code, str(hospital.data), entry], capture_output=True, text=True, check=True
    )
    return dict(json.loads(done.stdout.splitlines()[-1]))


STATE = """async () => {
  const { openKeeping } = await import('/static/vestry/tablet/keeping.js');
  const { fold, ledAlong } = await import('/static/vestry/tablet/fold.js');
  const keeping = await openKeeping();
  const entry = await keeping.meta('entry');
  const bundle = await keeping.bundle(entry);
  return fold(ledAlong(bundle.carried), await keeping.events(entry));
}"""


def test_an_entry_is_led_without_a_network_from_the_door_to_the_answer(ready: Any, hospital: Any):
    page, entry = ready()
    page.evaluate("() => navigator.serviceWorker.ready.then(() => true)")
    carried.all_sent(page)
    stood = gloves.places(page)
    page.context.set_offline(True)
    page.evaluate("dispatchEvent(new Event('online'))")  # it tries at once, and finds none
    page.locator("#network").get_by_text("No network").wait_for()
    assert gloves.places(page) == stood, "a key that moves for the network is pressed for another"

    while carried.kind(page) != "step" or "Lift the shield off" not in page.locator("h1").inner_text():
        carried.primary(page)
    at = page.locator("h1").inner_text()
    assert carried.unsent(page) > 60
    page.locator("#network").get_by_text("No network").wait_for()

    page.reload()
    page.locator("#screen[data-kind=step]").wait_for()
    assert page.locator("h1").inner_text() == at
    assert carried.unsent(page) > 60

    carried.primary(page)
    carried.press(page, "[data-stop]")
    assert carried.kind(page) == "held"
    page.wait_for_timeout(carried.SETTLE)
    page.get_by_role("button", name=re.compile("swings onto the face")).click()
    page.locator("#screen[data-kind=answer]").wait_for()
    page.get_by_text("May have been reached").wait_for()
    assert list(gloves.faults(page, "answer")) == []
    lower = "() => document.querySelector('.card.then').getBoundingClientRect().bottom"
    upper = "() => document.querySelector('[data-primary]').getBoundingClientRect().top"
    assert page.evaluate(lower) <= page.evaluate(upper), "a step of the answer is out of sight"
    assert "body.face" in carried.marked(page)
    carried.primary(page)
    assert "the approved answer" in page.locator("#strip").inner_text()
    own = []
    while carried.kind(page) != "over":
        if carried.kind(page) == "walked":
            own.append(page.locator("h1").inner_text())
        carried.primary(page)
    assert own == ["Now Petra's own way out.", "Now Tomas's own way out.", "Every step is done."]

    page.context.set_offline(False)
    carried.all_sent(page)
    record = record_of(hospital, entry)
    assert record["broken"] is None
    assert len(record["ids"]) == len(set(record["ids"])) > 90
    assert record["state"] == page.evaluate(STATE)
    assert (record["state"]["stage"], record["state"]["flags"]) == ("closed", [])


def test_a_tablet_that_starts_without_a_network_asks_for_badge_and_pin_and_goes_on(ready: Any):
    page, entry = ready()
    page.evaluate("() => navigator.serviceWorker.ready.then(() => true)")
    carried.primary(page)
    carried.all_sent(page)
    page.evaluate(
        "async () => (await (await import('/static/vestry/tablet/keeping.js')).openKeeping()).setMeta({ entry: null })"
    )
    page.context.set_offline(True)
    page.reload()

    carried.identify(page, "HP-tomas", "111222")
    page.get_by_text("no entry on this tablet knows this badge and PIN").wait_for()
    carried.identify(page, "HP-tomas")
    page.get_by_text("on this tablet already").wait_for()
    carried.take(page, entry)
    assert carried.kind(page) == "before"


def test_a_press_that_cannot_be_kept_is_not_taken_and_that_is_said(ready: Any):
    page, _ = ready()
    page.evaluate(
        "() => { IDBObjectStore.prototype.add = () => { throw new DOMException('full', 'QuotaExceededError'); }; }"
    )
    said, heading = page.locator("#screen").get_attribute("data-said"), page.locator("h1").inner_text()
    page.wait_for_timeout(carried.SETTLE)
    page.locator("button[data-primary]").click()

    page.get_by_text("That press was not taken: this tablet's storage is full").wait_for()
    assert page.locator("#screen").get_attribute("data-said") == said
    assert page.locator("h1").inner_text() == heading


def test_a_browser_that_keeps_nothing_says_so_and_names_the_plain_pages(chromium: Any, hospital: Any):
    context = chromium.new_context(base_url=hospital.address)
    page = context.new_page()
    page.add_init_script("Object.defineProperty(globalThis, 'indexedDB', { value: undefined })")
    page.goto("/tablet/")

    page.get_by_text("This browser keeps nothing.").wait_for()
    assert page.get_by_role("link", name="The plain pages").get_attribute("href") == "/"
    context.close()


def test_a_wrong_press_is_taken_back_and_another_observer_takes_over(ready: Any, hospital: Any):
    page, entry = ready()
    carried.primary(page)
    carried.primary(page)
    at = page.locator("h1").inner_text()
    page.locator("summary").click()
    carried.press(page, "[data-press=taken-back]")
    assert page.locator("h1").inner_text() != at

    page.locator("summary").click()
    page.wait_for_timeout(carried.SETTLE)
    page.get_by_role("button", name="Hand over").click()
    page.get_by_text("Hand over. Say this aloud.").wait_for()
    page.get_by_text("Without badge and PIN").click()
    page.get_by_label("Who takes over", exact=True).select_option("ilse")
    carried.press(page, "[data-by-name]")
    carried.primary(page)
    carried.all_sent(page)
    state = record_of(hospital, entry)["state"]
    assert state["observer"] == "ilse"
    assert len(state["taken-back"]) == 1


def test_the_screens_are_reachable_and_readable(ready: Any):
    page, _ = ready()
    assert by_axe(page) == []
    carried.press(page, "[data-stop]")
    assert by_axe(page) == []
    page.wait_for_timeout(carried.SETTLE)
    page.get_by_role("button", name="Something else").click()
    page.locator("#screen[data-kind=hold-card]").wait_for()
    assert by_axe(page) == []


def test_the_figure_shows_what_was_touched_and_stays_true(ready: Any):
    """Gripped by its front: the glove's palms, that were clean, are hatched from then on."""
    page, _ = ready()
    while carried.kind(page) != "step" or "Lift the shield off" not in page.locator("h1").inner_text():
        carried.primary(page)
    palms = {"inner-gloves-long.palm-l", "inner-gloves-long.palm-r"}
    assert not palms & carried.marked(page)
    carried.press(page, "[data-stop]")
    page.wait_for_timeout(carried.SETTLE)
    page.locator("button[data-press=went-otherwise]").first.click()
    page.locator("#screen[data-kind=answer]").wait_for()

    assert palms <= carried.marked(page)
