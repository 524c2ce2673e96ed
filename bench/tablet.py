"""The tablet in Chromium: how much it weighs, how long from a press to the next step, and what holds a frame up."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any

from bench.in_browser import BARE, WATCH
from bench.inside import PIN
from bench.measured import Floor, Measured, Resources, Table, at_share, ms, times
from bench.served import Served, served
from bench.size import Size

CHROMIUM = "/usr/bin/chromium"
QUIET = ("--no-sandbox", "--disable-background-networking", "--disable-component-update", "--no-first-run")
LIMIT = 50
"""Milliseconds from a press to the screen that shows it: the design's. Set before the first run."""
SETTLED = 380
"""Milliseconds after a screen, before which the tablet takes no press."""
IN_A_ROW = 10
SLOWED = 4
"""Of the presses every second lot is made with the processor slowed so many times, as in a cheap tablet."""
MOST = 400


@dataclass
class Loaded:
    """One load of the page: requests by the network and by the service worker, bytes over the wire and unpacked."""

    from_network: int = 0
    from_worker: int = 0
    wire: int = 0
    unpacked: int = 0


@dataclass
class Pressed:
    """Milliseconds of presses, at full speed and slowed; `long` as the browser told it, at full speed."""

    ours: list[float] = field(default_factory=list)
    bare: list[float] = field(default_factory=list)
    ours_slowed: list[float] = field(default_factory=list)
    bare_slowed: list[float] = field(default_factory=list)
    long: dict[str, list[float]] = field(default_factory=lambda: {"longtask": [], "long-animation-frame": []})
    stored_before: int = 0
    problems: list[str] = field(default_factory=list)


def measure(size: Size) -> Measured:
    """Load it, carry an entry, lead it."""
    used = Resources()
    with served() as hospital:
        first, second, bundle, pressed = run(hospital, size.presses)
    every = len(pressed.ours) + len(pressed.ours_slowed)
    slowest = at_share(sorted(pressed.ours), 0.95)
    said = (
        "Chromium without a window on the machine that also serves, the page as an enrolled tablet has it, one entry "
        "of the invented hospital led by key alone until every step is done.",
        "A press: from the key to the task after the frame in which the next step is painted. The bare page beside it "
        "stores one row with the same strict durability and paints one number. Lots of ten presses in turn; every "
        f"second lot with the processor slowed {SLOWED} times.",
        f"Of {every} presses, {pressed.stored_before} were on the disk (a strict transaction on the events had ended) "
        "before the screen named them as taken.",
        "A long task holds the page up for more than 50 ms, a long animation frame takes more than that from its begin "
        "to its paint; both at full speed. One of them need not be after a press.",
    )
    weigh = (
        ("page, first load", str(first.from_network), _kb(first.wire), _kb(first.unpacked)),
        ("page, again, kept by its service worker", str(second.from_network), _kb(second.wire), _kb(second.unpacked)),
        ("bundle of the entry", "1", _kb(bundle.wire), _kb(bundle.unpacked)),
    )
    head = ("speed", "presses", "p50, ms", "p95, ms", "most, ms", "over 50 ms", "bare p50, ms", "p95, ms")
    rows = (
        ("full", *_row(pressed.ours, pressed.bare)),
        (f"slowed {SLOWED} times", *_row(pressed.ours_slowed, pressed.bare_slowed)),
    )
    held = tuple(
        (name, str(len(found)), f"{max(found, default=0):.0f}", f"{sum(found):.0f}")
        for name, found in pressed.long.items()
    )
    return Measured(
        "tablet",
        "The tablet's page",
        said,
        (Floor("tablet: press to next step, 95 in 100", f"under {LIMIT} ms", f"{slowest:.0f} ms", slowest < LIMIT),),
        (
            Table("Weight", ("what", "requests over the network", "kB over the wire", "kB unpacked"), weigh),
            Table("Press to next step", (*head, "ratio p50", "p95"), rows),
            Table("What held a frame up", ("sort", "how many", "longest, ms", "together, ms"), held),
        ),
        tuple(pressed.problems),
        used.used(),
    )


def _kb(count: int) -> str:
    return f"{count / 1000:.0f}"


def _row(ours: list[float], bare: list[float]) -> tuple[str, ...]:
    ours, bare = sorted(ours), sorted(bare)
    halves, most = [(at_share(ours, one), at_share(bare, one)) for one in (0.5, 0.95)], max(ours)
    (half, half_bare), (high, high_bare) = halves
    over = sum(one >= LIMIT for one in ours)
    milliseconds = [ms(one / 1000) for one in (half, high, most)]
    return (
        str(len(ours)), *milliseconds, str(over), ms(half_bare / 1000), ms(high_bare / 1000),
        times(half / half_bare), times(high / high_bare),
    )  # fmt: skip


def run(hospital: Served, presses: int | None) -> tuple[Loaded, Loaded, Loaded, Pressed]:
    """The first load, the second, the bundle, and so many presses (None: until every step is done)."""
    from playwright.sync_api import sync_playwright

    (opened,) = hospital.inside("exercise", entries=1, seed=1)["entries"]
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=list(QUIET))
        context = browser.new_context(base_url=hospital.address, viewport={"width": 1280, "height": 800})
        context.add_init_script(WATCH)
        page = context.new_page()
        first = load_page(page)
        page.evaluate("() => navigator.serviceWorker.ready.then(() => true)")
        page.wait_for_timeout(1_500)  # it takes the page's files into its keeping
        second = load_page(page)
        bundle = _carry(page, opened)
        pressed = _press(context, page, presses)
        browser.close()
    return first, second, bundle, pressed


def load_page(page: Any) -> Loaded:
    """Load the page anew, and count what the browser told of it."""
    loaded, session = Loaded(), page.context.new_cdp_session(page)

    def answered(told: Any) -> None:
        if told["response"].get("fromServiceWorker"):
            loaded.from_worker += 1
        elif told["response"]["url"].startswith("http"):
            loaded.from_network += 1

    session.on("Network.responseReceived", answered)
    session.on("Network.loadingFinished", lambda told: setattr(loaded, "wire", loaded.wire + told["encodedDataLength"]))
    session.on("Network.dataReceived", lambda told: setattr(loaded, "unpacked", loaded.unpacked + told["dataLength"]))
    session.send("Network.enable")
    page.goto("/tablet/", wait_until="networkidle")
    page.locator("form input").first.wait_for()
    session.detach()
    loaded.wire = int(loaded.wire)
    return loaded


def _carry(page: Any, opened: dict[str, str]) -> Loaded:
    """Enrol, identify, take the entry; how large its bundle was."""
    page.locator("#code").fill(opened["code"])
    page.locator("form button.go").click()
    page.locator("#badge").fill(opened["badge"])
    page.locator("#pin").fill(PIN)
    page.locator("form button.go").click()
    with page.expect_response(lambda answer: "/bundle/" in answer.url, timeout=120_000) as told:
        page.locator(f'[data-entry="{opened["entry"]}"] [data-take="lead"]').click()
    page.locator("#screen[data-kind]").wait_for(timeout=60_000)
    wire = told.value.request.sizes()["responseBodySize"]
    return Loaded(from_network=1, wire=wire, unpacked=len(told.value.body()))


def _press(context: Any, page: Any, presses: int | None) -> Pressed:
    pressed = Pressed()
    bare = context.new_page()
    bare.goto("/bare/page/")
    bare.evaluate(BARE)
    sessions = [context.new_cdp_session(one) for one in (page, bare)]
    done = lot = 0
    while not _walked(page) and done < (presses or MOST):
        slow = lot % 2 == 1
        for session in sessions:
            session.send("Emulation.setCPUThrottlingRate", {"rate": SLOWED if slow else 1})
        many = min(IN_A_ROW, (presses or MOST) - done)
        page.bring_to_front()
        ours = list(_one_lot(page, many, pressed, slow))
        bare.bring_to_front()
        theirs = [one["painted"] - one["from"] for one in _presses(bare, len(ours), lambda: True)]
        (pressed.ours_slowed if slow else pressed.ours).extend(ours)
        (pressed.bare_slowed if slow else pressed.bare).extend(theirs)
        done, lot = done + len(ours), lot + 1
        if not ours:
            break
    if pressed.stored_before < done:
        pressed.problems.append(f"{done - pressed.stored_before} presses were shown before they were on the disk")
    if presses is None and not _walked(page):
        pressed.problems.append(f"the entry was not led to its end by key alone: {page.locator('h1').inner_text()!r}")
    return pressed


def _walked(page: Any) -> bool:
    return page.locator("#screen").get_attribute("data-kind") in ("walked", "over")


def _one_lot(page: Any, many: int, pressed: Pressed, slow: bool) -> Iterator[float]:
    begun = page.evaluate("() => performance.now()")
    for one in _presses(page, many, lambda: not _walked(page)):
        stored = page.evaluate("() => window.benchSeen.stored")
        pressed.stored_before += any(
            one["from"] <= at <= one["shown"] and durability == "strict" for at, durability in stored
        )
        yield one["painted"] - one["from"]
    if not slow:
        for sort, at, lasted in page.evaluate("() => window.benchSeen.long"):
            if at >= begun:
                pressed.long[sort].append(lasted)


def _presses(page: Any, many: int, goes_on: Any) -> Iterator[dict[str, float]]:
    for _ in range(many):
        if not goes_on():
            return
        page.wait_for_timeout(SETTLED)
        before = page.evaluate("() => window.benchSeen.presses.length")
        page.keyboard.press("PageDown")
        page.wait_for_function("(before) => window.benchSeen.presses.length > before", arg=before, timeout=20_000)
        yield page.evaluate("() => window.benchSeen.presses.at(-1)")
