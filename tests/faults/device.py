"""A tablet under the harness's hand: what it presses, what goes wrong with it, and the log of what its page showed."""

from __future__ import annotations

import random
from typing import Any

from playwright.sync_api import Error as PlaywrightError
from playwright.sync_api import TimeoutError as PlaywrightTimeout
from tests.browser import carried
from tests.faults.wire import Wire

HOUR = 3_600_000
ROOM = 6_000_000
"""Bytes that a tablet's storage holds, so that it can be filled."""
MORE_ROOM = 6_000_000

LOG = """(() => {
  const look = () => {
    const said = document.getElementById('screen')?.dataset.said;
    if (said && said !== look.last) { look.last = said; window.shownAsTaken(said); }
  };
  document.addEventListener('DOMContentLoaded', () =>
    new MutationObserver(look).observe(document.body, { subtree: true, attributes: true, childList: true }));
})();"""
# The device's clock jumps where the harness says. Its hand need not wait: it moves the page's stopwatch on.
CLOCK = """(() => {
  const real = Date, since = performance.now.bind(performance);
  let waited = 0;
  class Jumping extends real {
    constructor(...parts) { parts.length ? super(...parts) : super(Jumping.now()); }
    static now() { return real.now() + (window.clockIsOff ?? 0); }
  }
  window.Date = Jumping;
  performance.now = () => since() + waited;
  window.handWaited = (ms) => { waited += ms; };
})();"""
UNSENT = """async () => {
  const { openKeeping } = await import('/static/vestry/tablet/keeping.js');
  return (await (await openKeeping()).unsent()).map((one) => one.id);
}"""
FILL = """async () => {
  const db = await new Promise((yes, no) => {
    const asked = indexedDB.open('someone-elses-photographs', 1);
    asked.onupgradeneeded = () => asked.result.createObjectStore('all', { autoIncrement: true });
    asked.onsuccess = () => yes(asked.result);
    asked.onerror = () => no(asked.error);
  });
  const put = (size) => new Promise((told) => {
    const change = db.transaction('all', 'readwrite');
    const letters = new Uint8Array(size);
    for (let at = 0; at < size; at += 65536) crypto.getRandomValues(letters.subarray(at, Math.min(size, at + 65536)));
    change.objectStore('all').add(letters);
    change.oncomplete = () => told(true);
    change.onabort = () => told(false);
  });
  let size = 2 ** 20, wrote = 0;
  while (size >= 64 && wrote < 200) { if (await put(size)) wrote += 1; else size = Math.floor(size / 2); }
  db.close();
  return size < 64;
}"""


class Tablet:
    """An enrolled tablet in a browser profile of its own.

    shown   ids that its screen named as taken, in that order; `gone` those that its storage took with it
    """

    def __init__(self, browser: Any, address: str, chance: random.Random, told: Any, plant: Any) -> None:
        self.chance, self.told = chance, told
        # A planted module has to come from the harness, not from what a service worker kept.
        workers = "block" if plant else "allow"
        self.context = browser.new_context(
            base_url=address, viewport={"width": 1280, "height": 800}, service_workers=workers
        )
        self.address = address
        self.shown: list[str] = []
        self.gone: set[str] = set()
        self.full = False
        self.context.expose_function("shownAsTaken", lambda said: self.shown.extend(said.split(",")))
        self.context.add_init_script(CLOCK + LOG)
        if plant:
            plant(self.context)
        self.wire = Wire(self.context, random.Random(chance.random()), told.faults, 0.0)
        self.page = self.context.new_page()
        # The browser keeps a limit as long as this session lives, and a killed tab's session does not. It asks for the
        # limit at the first write, and then counts down: so it is set before.
        self.storage = self.context.new_cdp_session(self.context.new_page())
        self.room = ROOM
        self._storage("Storage.overrideQuotaForOrigin", quotaSize=self.room)

    def begin(self, code: str, badge: str, entry: str, how: str, spoil: float) -> None:
        self.begun = (badge, entry, how, spoil)
        self.wire.spoil = 0.0
        self.page.bring_to_front()
        carried.enrol(self.page, code)
        carried.identify(self.page, badge)
        carried.take(self.page, entry, how)
        self.wire.spoil = spoil

    # ---- the hand ----

    def press(self) -> bool:
        """One press of those that the screen offers, as the seed has it; whether it was made."""
        chance = self.chance.random()
        self.page.bring_to_front()  # a page behind another draws once a second, and a click waits for drawing
        try:
            screen = self.page.locator("#screen")
            kind = screen.get_attribute("data-kind", timeout=2_000)
            if kind == "over":
                return False
            target = self._target(kind, chance)
            if target is None:
                return False
            self.page.evaluate("() => window.handWaited(1000)")
            target.first.click(timeout=3_000)
        except PlaywrightTimeout:
            return False  # meanwhile the other tablet was heard, and this one shows another screen: nothing was pressed
        self.told.presses += 1
        self.page.wait_for_timeout(self.chance.choice((0, 20, 60, 150)))
        return True

    def _target(self, kind: str | None, chance: float) -> Any:
        page = self.page
        if chance > 0.95 and self._seldom("taken-back"):
            return page.locator("button[data-press=taken-back]")
        if kind == "held":
            choices = page.locator("button[data-press=went-otherwise], button[data-press=pressed-wrongly]")
            return choices.nth(self.chance.randrange(max(1, choices.count())))
        if kind in ("step", "stop-point") and chance < 0.06:
            return page.locator("[data-stop]")
        if kind == "step" and chance < 0.12 and page.locator("button[data-press=prompted]").count():
            return page.locator("button[data-press=prompted]")
        if kind == "hold-card":
            for box in page.locator("#by, #decided").all():
                box.fill("Sander Brook")
            return page.locator("button[data-press=resumed]")
        primary = page.locator("button[data-primary]:not([disabled])")
        if primary.count():
            return primary
        # A screen that this harness does not know: any of its presses but the last two.
        others = page.locator("#screen button[data-press]:not([data-press=abandoned]):not([data-press=closed])").all()
        return self.chance.choice(others) if others else None

    def _seldom(self, press: str) -> bool:
        """Open the drawer that holds a press; whether it is there."""
        found = self.page.locator(f"[data-press={press}]")
        if not found.count():
            return False
        found.first.evaluate("(one) => one.closest('details')?.setAttribute('open', '')")
        return True

    def take_over(self) -> bool:
        """This device leads from here."""
        if not self._seldom("device-taken-over"):
            return False
        self.page.evaluate("() => window.handWaited(1000)")
        try:
            self.page.locator("[data-press=device-taken-over]").first.click(timeout=3_000)
        except PlaywrightTimeout:
            return False
        self.told.presses += 1
        return True

    # ---- what goes wrong ----

    def kill_tab(self) -> None:
        """The tab is gone in the middle of whatever it did, and is opened again."""
        self.page.close(run_before_unload=False)
        self.page = self.context.new_page()
        self.page.goto("/tablet/")
        self.page.locator("#screen[data-kind]").wait_for(timeout=30_000)

    def jump_clock(self) -> None:
        """By hours, forwards or backwards; at times to the year in which a clock without its battery begins."""
        off = int(self.chance.uniform(-9, 9) * HOUR) if self.chance.random() < 0.9 else -26 * 365 * 24 * HOUR
        self.context.add_init_script(f"window.clockIsOff = {off}")  # for the tabs to come
        self.page.evaluate(f"() => {{ window.clockIsOff = {off}; }}")

    def fill(self) -> None:
        """Something else of the same browser takes all that is left of its storage."""
        if self.page.evaluate(FILL):
            self.full = True
            self.told.faults["storage full"] += 1

    def give_room(self) -> None:
        if self.full:
            self.room += MORE_ROOM
            self._storage("Storage.overrideQuotaForOrigin", quotaSize=self.room)
            self.full = False

    def evict(self) -> None:
        """The browser clears its storage under the page's feet. What was not sent is gone, as the documents say."""
        self.gone |= set(self.page.evaluate(UNSENT))
        before = len(self.shown)
        self._storage("Storage.clearDataForOrigin", storageTypes="indexeddb")
        self.page.wait_for_timeout(100)
        for _ in range(2):
            self.press()
        self.page.wait_for_timeout(100)
        if len(self.shown) > before:
            self.told.problems.append("a press was shown as taken without a storage")
        if "cleared" not in self.page.locator("#told").inner_text():
            self.told.problems.append("a page without its storage does not say so")
        self.told.went_with_storage += len(self.gone & set(self.shown))

    def enrol_again(self, code: str) -> None:
        badge, entry, _, spoil = self.begun
        self.begin(code, badge, entry, "lead", spoil)

    def _storage(self, command: str, **more: Any) -> None:
        self.storage.send(command, {"origin": self.address, **more})

    def calm(self) -> None:
        """From here on nothing goes wrong with it."""
        self.context.set_offline(False)
        self.give_room()
        self.wire.calm()

    def send_now(self) -> None:
        """As the browser does when a network appears."""
        try:
            self.page.evaluate("() => { window.dispatchEvent(new Event('online')); }")
        except PlaywrightError as gone:
            raise AssertionError("the page is gone") from gone
