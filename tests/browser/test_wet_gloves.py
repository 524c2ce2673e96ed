"""The tablet's screens as wet gloves, a pedal and a screen reader meet them, each state once: upright, and with letters
twice as large. What can be pressed is 64 pixels, nothing lies beyond the edge, the focus is never lost with the screen
that had it, and where it goes a screen reader reads the step.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest
from tests.browser import carried
from tests.browser.tablet import serious, start

pytestmark = [pytest.mark.browser, pytest.mark.slow, pytest.mark.timeout(300)]
UPRIGHT = {"width": 800, "height": 1280}


def tablet(visitors: Any, badge: str) -> tuple[Any, str]:
    """An upright tablet that carries an open entry, led by Tomas, before anything was said on it."""
    observer = visitors("tomas")
    carried.set_badge(observer, badge, visitors.hospital.password)
    observer.goto("/procedures/")
    start(observer)
    entry = observer.url.split("/")[-2]
    return another(visitors, badge, entry), entry


def another(visitors: Any, badge: str, entry: str) -> Any:
    context = visitors.browser.new_context(base_url=visitors.hospital.address, viewport=UPRIGHT)
    visitors.contexts.append(context)
    page = context.new_page()
    page.on("pageerror", lambda error: visitors.complaints.append(str(error)))
    carried.enrol(page, carried.new_code(visitors("ingrid"), badge))
    carried.identify(page, badge)
    carried.take(page, entry)
    return page


SMALL = """() => [...document.querySelectorAll('button, summary, input, select')].filter((one) => {
  const box = one.getBoundingClientRect();
  return box.width && box.height && !one.closest('[inert]') && (box.height < 63.5 || box.width < 63.5);
}).map((one) => one.outerHTML.slice(0, 80))"""
SAID = """() => {
  const heading = document.querySelector('#screen h1').innerText;
  const read = [document.activeElement, ...(document.activeElement.getAttribute('aria-describedby') ?? '').split(' ')
    .map((one) => document.getElementById(one))].map((one) => one?.innerText ?? '');
  return document.querySelector('.breach-sheet') || read.some((one) => one.includes(heading)) ? '' : heading;
}"""
CONTRAST = """() => {
  const light = (colour) => {
    const [r, g, b] = colour.match(/[0-9.]+/g).map((one) => one / 255)
      .map((one) => (one <= 0.03928 ? one / 12.92 : ((one + 0.055) / 1.055) ** 2.4));
    return 0.2126 * r + 0.7152 * g + 0.0722 * b;
  };
  const sheet = document.querySelector('.breach-sheet');
  const ground = light(getComputedStyle(sheet).backgroundColor);
  return Math.min(...[...sheet.querySelectorAll('.breach > h1, .breach > section:not(.breach-aid) h2')].map((one) => {
    const text = light(getComputedStyle(one).color);
    return (Math.max(text, ground) + 0.05) / (Math.min(text, ground) + 0.05);
  }));
}"""


def faults(page: Any, where: str) -> Iterator[str]:
    if (beyond := page.evaluate("document.documentElement.scrollWidth - innerWidth")) > 0:
        yield f"{where}: {beyond} px cut off"
    for one in page.evaluate(SMALL):
        yield f"{where}: smaller than 64 px: {one}"
    if page.evaluate("document.activeElement === document.body"):
        yield f"{where}: the focus is lost"
    elif unsaid := page.evaluate(SAID):
        yield f"{where}: not read where the focus goes: {unsaid}"


def look(page: Any, selector: str) -> None:
    """A key that opens something and says nothing yet."""
    page.wait_for_timeout(carried.SETTLE)
    page.locator(selector).first.click()
    page.wait_for_timeout(60)


def states(page: Any) -> Iterator[str]:
    """The states of one entry before the door, each once: what it names is on the screen."""
    yield "a check"
    carried.press(page, "button:has-text('Not in order')")
    yield "a check that holds"
    look(page, "[data-view=override]")
    yield "an override"
    look(page, "button:has-text('Back to the step')")
    carried.past_the_checks(page)
    yield "a step, not read"
    carried.primary(page)
    yield "a step, read"
    carried.press(page, "[data-stop]")
    yield "held"
    look(page, "[data-breach]")
    yield "a breach, over the held step"
    look(page, "[data-kind=splash]")
    yield "first aid"
    assert page.evaluate(CONTRAST) >= 4.5, "in the held colours nothing of the sheet could be read"
    look(page, "[data-back]")
    look(page, "[data-view=marking]")
    yield "the place on the figure"
    look(page, "button:has-text('Back to the step')")
    carried.press(page, "button:has-text('Not sure')")
    yield "the hold card"
    carried.press(page, "[data-press=resumed]")
    look(page, "summary")
    yield "what is seldom needed"
    look(page, "[data-view=hand-over]")
    yield "the hand-over"
    assert page.evaluate("scrollY") == 0, "a new screen begins at its top"
    look(page, "#hand-over ~ details summary")
    yield "the hand-over by name"
    look(page, "button:has-text('Back to the step')")
    look(page, "[data-view=trouble]")
    yield "which trouble"
    carried.press(page, "[data-press=unwell]")
    yield "unwell"
    carried.press(page, "[data-press=resumed]")


def test_every_state_before_the_door_upright(signed_in: Any):
    page, _ = tablet(signed_in, "HP-upright")
    found = []
    for where in states(page):
        found += faults(page, where)
        if where in ("an override", "a breach, over the held step", "first aid", "the hand-over by name"):
            found += [f"{where}: {one}" for one in serious(page)]
    assert found == []


def test_every_state_before_the_door_with_letters_twice_as_large(enlarging: Any):
    page, _ = tablet(enlarging, "HP-large")
    assert [one for where in states(page) for one in faults(page, where)] == []


def test_a_double_press_is_told_on_the_screen_that_the_first_brings_and_covers_no_key(signed_in: Any):
    page, _ = tablet(signed_in, "HP-double")
    page.wait_for_timeout(carried.SETTLE)
    shown = page.locator("h1").inner_text()
    page.evaluate("() => { const b = () => document.querySelector('button[data-primary]').click(); b(); b(); }")
    page.wait_for_function("(shown) => document.querySelector('h1').innerText !== shown", arg=shown)

    assert "Too soon after the last press: not taken." in page.locator("#bounce").inner_text()
    for key in ("button[data-primary]", "summary", "[data-breach]"):
        page.locator(key).click(trial=True)
    carried.primary(page)
    assert page.locator("#bounce").inner_text() == ""


def test_nothing_below_the_strip_moves_when_an_event_is_sent(signed_in: Any):
    page, _ = tablet(signed_in, "HP-still")
    carried.all_sent(page)
    top = page.locator("#screen main").bounding_box()["y"]
    page.route("**/events/", lambda route: route.abort())
    carried.primary(page)
    assert carried.unsent(page) == 1
    assert page.locator("#screen main").bounding_box()["y"] == top


def test_what_is_written_stays_when_another_device_speaks_and_who_takes_the_entry_over_is_in_the_record(signed_in: Any):
    page, entry = tablet(signed_in, "HP-writes")
    carried.past_the_checks(page)
    carried.press(page, "[data-stop]")
    carried.press(page, "button:has-text('Not sure')")
    page.get_by_label("What was decided").fill("begin again")
    page.locator("#decided").focus()
    carried.all_sent(page)

    carried.set_badge(signed_in("sander"), "HP-over", signed_in.hospital.password)
    other = another(signed_in, "HP-over", entry)
    other.locator("[data-breach]").click()
    for press in ("[data-kind=splash]", "[data-value=eyes]", "[data-press=breach]"):
        other.locator(press).click()
    carried.all_sent(other)
    assert other.locator("#told").inner_text() == ""
    record = signed_in("ingrid")
    record.goto(f"/records/{entry}/")
    assert "Observer handed over" in record.locator("main").inner_text()
    assert "Breach" in record.locator("main").inner_text()

    page.wait_for_timeout(4_000)
    assert page.evaluate("document.activeElement.id") == "decided"
    assert page.locator("#decided").input_value() == "begin again"


BATTERY = """navigator.getBattery = async () => Object.assign(new EventTarget(), { level: 0.12, charging: false });"""


def test_a_battery_that_will_not_last_is_told_before_an_entry_and_marked_in_it(signed_in: Any):
    observer = signed_in("tomas")
    carried.set_badge(observer, "HP-empty", signed_in.hospital.password)
    observer.goto("/procedures/")
    start(observer)
    context = signed_in.browser.new_context(base_url=signed_in.hospital.address, viewport=UPRIGHT)
    signed_in.contexts.append(context)
    page = context.new_page()
    page.add_init_script(BATTERY)
    carried.enrol(page, carried.new_code(signed_in("ingrid"), "Empty"))
    carried.identify(page, "HP-empty")
    page.get_by_text("Battery 12 %. Charge this tablet").wait_for()
    carried.take(page, observer.url.split("/")[-2])
    assert page.locator("#strip [data-battery]").inner_text() == "Battery 12 %"
