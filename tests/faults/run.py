"""One seeded run: tablets lead an entry while everything fails; then the record is held against what they showed.

The harness keeps its own log of the pages: an event counts as shown when the page's screen names its id as taken.
"""

from __future__ import annotations

import random
import time
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

from tests.browser import carried
from tests.faults.device import Tablet
from tests.faults.hospital import Server

STATE = """async () => {
  const { openKeeping } = await import('/static/vestry/tablet/keeping.js');
  const { fold, ledAlong } = await import('/static/vestry/tablet/fold.js');
  const keeping = await openKeeping();
  const entry = await keeping.meta('entry');
  const events = await keeping.events(entry);
  const state = fold(ledAlong((await keeping.bundle(entry)).carried), events);
  return { state, events: events.map((one) => one.id) };
}"""
SPOILED = 0.4


@dataclass
class Told:
    """What a run found. `lost`: shown and not in the record; `doubled`: in the record more than once.

    went_with_storage   shown, not sent, and gone when the browser cleared the tablet's storage: what nobody promises
    """

    seed: int
    presses: int = 0
    shown: int = 0
    events: int = 0
    seconds: float = 0.0
    went_with_storage: int = 0
    faults: Counter[str] = field(default_factory=Counter)
    lost: list[str] = field(default_factory=list)
    doubled: list[str] = field(default_factory=list)
    problems: list[str] = field(default_factory=list)

    @property
    def good(self) -> bool:
        return not (self.lost or self.doubled or self.problems)

    def as_json(self) -> dict[str, Any]:
        return vars(self) | {"faults": {name: count for name, count in sorted(self.faults.items()) if count}}

    def __str__(self) -> str:
        faults = ", ".join(f"{name} {count}" for name, count in sorted(self.faults.items()) if count)
        return (
            f"seed {self.seed}: {self.presses} presses, {self.shown} events shown as taken, "
            f"{self.events} in the record, "
            f"{sum(self.faults.values())} faults ({faults}), lost {len(self.lost)}, doubled {len(self.doubled)}, "
            f"{self.seconds:.1f} s" + "".join(f"; {one}" for one in self.problems)
        )


class Run:
    """A run from its seed."""

    def __init__(
        self, browser: Any, server: Server, seed: int, presses: int = 30, plant: Any = None, patience: float = 60
    ):
        """`patience`: seconds in which all has to be sent and heard once everything works again.

        A run that holds takes some fifteen in all. A planted bug may keep it from ever coming, and would be waited for.
        """
        self.chance, self.told, self.presses = random.Random(seed), Told(seed), presses
        self.browser, self.server, self.plant, self.patience = browser, server, plant, patience
        self.tablets: list[Tablet] = []
        self.disk_is_full = False
        # Each what may happen before a press, how often, and with which tablet.
        self.may_happen: tuple[tuple[float, str, Callable[[Tablet], None]], ...] = (
            (0.04, "kill -9 of the server", self._kill),
            (0.08, "network cut", lambda tablet: tablet.context.set_offline(True)),
            (0.12, "", lambda tablet: tablet.context.set_offline(False)),
            (0.04, "tab killed", self._kill_tab),
            (0.08, "clock jumped", lambda tablet: tablet.jump_clock()),
            (0.04, "database locked", lambda tablet: self.server.lock_database(self.chance.uniform(0.3, 2.5))),
            (0.04, "disk full", lambda tablet: self._fill_disk()),
            (0.10, "", lambda tablet: self._free_disk()),
            (0.03, "", lambda tablet: tablet.fill()),
            (0.15, "", lambda tablet: tablet.give_room()),
            (0.02, "", self._evict),
            (0.03, "", self._take_over),
        )

    def run(self) -> Told:
        begun = time.monotonic()
        made = self.server.fresh()
        self.codes = made["codes"]
        self.server.start()
        try:
            for badge, how in (("HP-tomas", "lead"), ("HP-sander", "together")):
                tablet = Tablet(self.browser, self.server.address, self.chance, self.told, self.plant)
                self.tablets.append(tablet)
                tablet.begin(self.codes.pop(), badge, made["entry"], how, SPOILED)
                if not self.plant:
                    tablet.page.evaluate("() => navigator.serviceWorker.ready.then(() => true)")
            for _ in range(self.presses):
                self._happen()
                self.tablets[0 if self.chance.random() < 0.75 else 1].press()
            self._settle(made["entry"])
        finally:
            for tablet in self.tablets:
                tablet.context.close()
            self.server.rest()
        self.told.seconds = round(time.monotonic() - begun, 1)
        return self.told

    # ---- what happens ----

    def _happen(self) -> None:
        chance, tablet = self.chance.random(), self.chance.choice(self.tablets)
        for share, name, happen in self.may_happen:
            chance -= share
            if chance < 0:
                if name:
                    self.told.faults[name] += 1
                happen(tablet)
                return

    def _kill(self, tablet: Tablet) -> None:
        self.server.kill()
        if self.chance.random() < 0.5:
            tablet.press()
        self.server.start()
        self.disk_is_full = False  # whoever started it again made room

    def _kill_tab(self, tablet: Tablet) -> None:
        if self.plant:  # without a service worker the page comes from the server
            self._well(tablet)
        tablet.kill_tab()

    def _fill_disk(self) -> None:
        self.server.fill_disk(self.chance)
        self.disk_is_full = True

    def _free_disk(self) -> None:
        if self.disk_is_full:
            self.server.free_disk()
            self.disk_is_full = False

    def _evict(self, tablet: Tablet) -> None:
        if not self.codes:
            return
        self.told.faults["storage evicted"] += 1
        tablet.evict()
        self._well(tablet)
        tablet.enrol_again(self.codes.pop())

    def _take_over(self, tablet: Tablet) -> None:
        self.told.faults["other device took over"] += tablet.take_over()

    def _well(self, tablet: Tablet) -> None:
        tablet.context.set_offline(False)
        tablet.give_room()
        self._free_disk()

    # ---- afterwards ----

    def _settle(self, entry: str) -> None:
        """Everything works again; each sends what it has and hears the other. Then the record is looked at."""
        self._free_disk()
        for tablet in self.tablets:
            tablet.calm()
        until = time.monotonic() + self.patience
        theirs: list[Any] = []
        while time.monotonic() < until:
            for tablet in self.tablets:
                tablet.send_now()
            self.tablets[0].page.wait_for_timeout(150)
            if any(carried.unsent(tablet.page) for tablet in self.tablets):
                continue
            theirs = [tablet.page.evaluate(STATE) for tablet in self.tablets]
            if len({tuple(sorted(one["events"])) for one in theirs}) == 1:
                break
        for tablet in self.tablets:
            if count := carried.unsent(tablet.page):
                self.told.problems.append(f"{count} events were not sent")
        self.told.problems += [f"the server failed: {one}" for one in self.server.complaints()]
        self._compare(self.server.record(entry), theirs)

    def _compare(self, record: dict[str, Any], theirs: list[Any]) -> None:
        told = self.told
        ids = Counter(one[0] for one in record["events"])
        told.events = len(record["events"])
        for tablet in self.tablets:
            shown = list(dict.fromkeys(tablet.shown))
            told.shown += len(shown)
            told.lost += [one for one in shown if not ids[one] and one not in tablet.gone]
        told.doubled = [one for one, count in ids.items() if count > 1]
        if record["broken"] is not None:
            told.problems.append(f"the chain breaks at {record['broken']}")
        device = {one: device for one, device, *_ in record["events"]}
        if len({(device, counter) for _, device, counter, _ in record["events"]}) != len(record["events"]):
            told.problems.append("one device counted a number twice")
        in_order = sorted(record["events"], key=lambda row: row[2])
        for tablet in self.tablets:
            shown = [one for one in dict.fromkeys(tablet.shown) if ids[one]]
            for name in {device[one] for one in shown}:
                own = [one for one, by, *_ in in_order if by == name and one in set(shown)]
                if own != [one for one in shown if device[one] == name]:
                    told.problems.append("the order of a device is not the order that it showed")
        for one in theirs or [{"events": [], "state": None}]:
            if sorted(one["events"]) != sorted(ids):
                told.problems.append("a tablet does not hold the events of the record")
            elif one["state"] != record["state"]:
                told.problems.append("the fold differs")
