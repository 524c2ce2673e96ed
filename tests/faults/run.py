"""One seeded run: tablets lead an entry while everything fails; then the record is held against what they showed.

The harness keeps its own log of the pages: an event counts as shown when the page's screen names its id as taken.
"""

from __future__ import annotations

import random
from collections import Counter
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from playwright.sync_api import TimeoutError as PlaywrightTimeout
from tests.browser import carried
from tests.faults.hospital import Server
from tests.faults.wire import Wire

STATE = """async () => {
  const { openKeeping } = await import('/static/vestry/tablet/keeping.js');
  const { fold, ledAlong } = await import('/static/vestry/tablet/fold.js');
  const keeping = await openKeeping();
  const entry = await keeping.meta('entry');
  const events = await keeping.events(entry);
  const state = fold(ledAlong((await keeping.bundle(entry)).carried), events);
  return { state, events: events.map((one) => one.id) };
}"""
LOG = """(() => {
  const look = () => {
    const said = document.getElementById('screen')?.dataset.said;
    if (said && said !== look.last) { look.last = said; window.shownAsTaken(said); }
  };
  document.addEventListener('DOMContentLoaded', () =>
    new MutationObserver(look).observe(document.body, { subtree: true, attributes: true, childList: true }));
})();"""


@dataclass
class Told:
    """What a run found. `lost`: shown and not in the record; `doubled`: in the record more than once."""

    seed: int
    presses: int = 0
    shown: int = 0
    faults: Counter[str] = field(default_factory=Counter)
    lost: list[str] = field(default_factory=list)
    doubled: list[str] = field(default_factory=list)
    problems: list[str] = field(default_factory=list)

    def __str__(self) -> str:
        faults = ", ".join(f"{name} {count}" for name, count in sorted(self.faults.items()) if count)
        return (
            f"seed {self.seed}: {self.presses} presses, {self.shown} events shown as taken, "
            f"{sum(self.faults.values())} faults ({faults}), lost {len(self.lost)}, doubled {len(self.doubled)}"
            + "".join(f"; {one}" for one in self.problems)
        )


class Tablet:
    """An enrolled tablet in a browser profile of its own, and the harness's log of what its page showed."""

    def __init__(self, browser: Any, server: Server, chance: random.Random, told: Told, plant: Any) -> None:
        self.server, self.chance, self.told = server, chance, told
        # A planted module has to come from the harness, not from what a service worker kept.
        workers = "block" if plant else "allow"
        self.context = browser.new_context(
            base_url=server.address, viewport={"width": 1280, "height": 800}, service_workers=workers
        )
        self.shown: list[str] = []
        self.context.expose_function("shownAsTaken", lambda said: self.shown.extend(said.split(",")))
        self.context.add_init_script(LOG)
        if plant:
            plant(self.context)
        self.wire = Wire(self.context, random.Random(chance.random()), told.faults, 0.0)
        self.page = self.context.new_page()

    def begin(self, code: str, badge: str, entry: str, how: str) -> None:
        carried.enrol(self.page, code)
        carried.identify(self.page, badge)
        carried.take(self.page, entry, how)
        self.wire.spoil = 0.4

    def press(self) -> None:
        """One press of those that the screen offers, as the seed has it."""
        kind = carried.kind(self.page)
        if kind == "over":
            return
        self.page.wait_for_timeout(carried.SETTLE)
        chance = self.chance.random()
        if kind == "held":
            choices = self.page.locator("button[data-press=went-otherwise], button[data-press=pressed-wrongly]")
            target = choices.nth(self.chance.randrange(max(1, choices.count())))
        elif kind == "hold-card":
            for box in self.page.locator("#by, #decided").all():
                box.fill("Sander Brook")
            target = self.page.locator("button[data-press=resumed]")
        elif kind in ("step", "stop-point") and chance < 0.06:
            target = self.page.locator("[data-stop]")
        elif kind == "step" and chance < 0.12 and self.page.locator("button[data-press=prompted]").count():
            target = self.page.locator("button[data-press=prompted]")
        else:
            target = self.page.locator("button[data-primary]")
        try:
            target.first.click(timeout=2_000)
        except PlaywrightTimeout:
            return  # meanwhile the other tablet was heard, and this one shows another screen: nothing was pressed
        self.told.presses += 1

    def kill_tab(self) -> None:
        """The tab is gone in the middle of whatever it did, and is opened again."""
        self.page.close(run_before_unload=False)
        self.page = self.context.new_page()
        self.page.goto("/tablet/")
        self.page.locator("#screen[data-kind]").wait_for(timeout=30_000)


class Run:
    """A run from its seed."""

    def __init__(self, browser: Any, template: Path, folder: Path, seed: int, presses: int = 30, plant: Any = None):
        self.chance, self.told, self.presses = random.Random(seed), Told(seed), presses
        self.server = Server(template, folder)
        self.browser, self.plant = browser, plant

    def run(self) -> Told:
        made = self.server.prepare()
        self.server.start()
        tablets: list[Tablet] = []
        try:
            for place, code in enumerate(made["codes"]):
                tablet = Tablet(self.browser, self.server, self.chance, self.told, self.plant)
                tablets.append(tablet)
                tablet.begin(code, ("HP-tomas", "HP-sander")[place], made["entry"], ("lead", "together")[place])
                if not self.plant:
                    tablet.page.evaluate("() => navigator.serviceWorker.ready.then(() => true)")
            for _ in range(self.presses):
                self._fault(tablets)
                tablets[0 if self.chance.random() < 0.75 else 1].press()
            self._settle(tablets)
            self._compare(tablets, made["entry"])
        finally:
            for tablet in tablets:
                tablet.context.close()
            self.server.end()
        return self.told

    def _fault(self, tablets: list[Tablet]) -> None:
        chance, tablet = self.chance.random(), self.chance.choice(tablets)
        if chance < 0.05:
            self.told.faults["kill -9 of the server"] += 1
            self.server.kill()
            if self.chance.random() < 0.5:
                tablet.press()
            self.server.start()
        elif chance < 0.13:
            self.told.faults["network cut"] += 1
            tablet.context.set_offline(True)
        elif chance < 0.25:
            tablet.context.set_offline(False)
        elif chance < 0.29:
            self.told.faults["tab killed"] += 1
            tablet.context.set_offline(False)  # a killed tab opens from the service worker; its first visit may be it
            tablet.kill_tab()

    def _settle(self, tablets: list[Tablet]) -> None:
        for tablet in tablets:
            tablet.context.set_offline(False)
            tablet.wire.calm()
        for tablet in tablets:
            try:
                carried.all_sent(tablet.page, 60_000)
            except Exception as waited:
                self.told.problems.append(f"not everything was sent: {waited}".splitlines()[0])
            tablet.page.wait_for_timeout(4_000)  # each hears the other

    def _compare(self, tablets: list[Tablet], entry: str) -> None:
        record, told = self.server.record(entry), self.told
        ids = Counter(one[0] for one in record["events"])
        shown = [one for tablet in tablets for one in dict.fromkeys(tablet.shown)]
        told.shown = len(shown)
        told.lost = [one for one in shown if not ids[one]]
        told.doubled = [one for one, count in ids.items() if count > 1]
        if record["broken"] is not None:
            told.problems.append(f"the chain breaks at {record['broken']}")
        place = {(device, counter): one for one, device, counter, _ in record["events"]}
        if len(place) != len(record["events"]):
            told.problems.append("one device counted a number twice")
        for tablet in tablets:
            own = [one for one, *_ in sorted(record["events"], key=lambda row: row[2]) if one in set(tablet.shown)]
            if own != [one for one in dict.fromkeys(tablet.shown) if ids[one]]:
                told.problems.append("the order of a device is not the order that it showed")
            theirs = tablet.page.evaluate(STATE)
            if sorted(theirs["events"]) != sorted(ids):
                told.problems.append("a tablet does not hold the events of the record")
            elif theirs["state"] != record["state"]:
                told.problems.append("the fold differs")
