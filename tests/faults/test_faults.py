"""Whatever fails, nothing that a screen showed as taken is lost or doubled, and both sides tell the same of it.

VESTRY_FAULT_SEEDS=60 .venv/bin/pytest -q -s tests/faults     so many seeds; each prints its line
"""

from __future__ import annotations

import os
from pathlib import Path
from typing import Any

import pytest
from tests.faults.run import Run

pytestmark = [pytest.mark.browser, pytest.mark.slow, pytest.mark.timeout(600)]
SEEDS = range(int(os.environ.get("VESTRY_FAULT_SEEDS", "3")))


@pytest.mark.parametrize("seed", SEEDS)
def test_nothing_shown_as_taken_is_lost_or_doubled(chromium: Any, template: Path, tmp_path: Path, seed: int):
    told = Run(chromium, template, tmp_path / "run", seed).run()
    print(f"\n{told}")

    assert (told.lost, told.doubled, told.problems) == ([], [], [])
    assert told.presses >= 15
    assert told.shown >= told.presses / 2
    assert sum(told.faults.values()) > 0


def planting(module: str, text: str, instead: str) -> Any:
    """Serve this module of the tablet's with a bug in it."""
    source = Path(__file__).parents[2] / "src/vestry/hospital/anteroom/web" / module

    def plant(context: Any) -> None:
        whole = source.read_text("utf-8")
        assert whole.count(text) == 1, f"{module} has no single {text!r}"
        body = whole.replace(text, instead)
        context.route(
            f"**/vestry/tablet/{module}", lambda route: route.fulfill(content_type="text/javascript", body=body)
        )

    return plant


SENDS = "const answer = await ask(`/tablet/entries/${entry}/events/`, { token, body: { events } });"
PLANTED = {
    "on the screen before it is kept": (
        "main.js",
        "const kept = await this.keeping.say(events);",
        "const kept = events.map((one, n) => ({ ...one, counter: 1e9 + this.events.length + n }));"
        "if (Math.random() < 0.8) await this.keeping.say(events);",
    ),
    "sent when the wire fails": (
        "sending.js",
        SENDS,
        f"let answer; try {{ {SENDS.replace('const answer', 'answer')} }}"
        "catch { answer = { status: 200, body: { taken: events.map((one) => one.id), known: [] } }; }",
    ),
    "a new id each time it is sent": (
        "sending.js",
        ".map(({ kept, ...event }) => event);",
        ".map(({ kept, ...event }) => ({ ...event, id: event.id.slice(0, -6)"
        " + Math.random().toString(16).slice(2, 8).padEnd(6, '0') }));",
    ),
    "counting begins anew when the page does": (
        "keeping.js",
        'let counter = (await asked(meta.get("counter"))) ?? 0;\n    const kept',
        "let counter = (globalThis.counted ??= 0);\n    globalThis.counted += said.length;\n    const kept",
    ),
    "what others say is not kept": ("keeping.js", 'store.add({ ...event, kept: "foreign" });', ""),
}


@pytest.mark.parametrize("name", PLANTED)
def test_a_planted_bug_is_caught(chromium: Any, template: Path, tmp_path: Path, name: str):
    for seed in range(4):
        told = Run(chromium, template, tmp_path / f"run-{seed}", 100 + seed, plant=planting(*PLANTED[name])).run()
        print(f"\n{name}: {told}")
        if told.lost or told.doubled or told.problems:
            return
    raise AssertionError(f"not caught: {name}")
