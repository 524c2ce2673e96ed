"""Bugs that the harness must catch, planted one at a time: in a module that the tablet loads, or in the server.

A bug in a module is a text and what stands in its place. Where the text is not found the module has changed: then the
bug is planted anew, in test_faults.py at once and not only when everything runs.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

WEB = Path(__file__).parents[2] / "src/vestry/hospital/anteroom/web"
SENDS = "const answer = await ask(`/tablet/entries/${entry}/events/`, { token, body: { events } });"


@dataclass(frozen=True)
class Planted:
    """module: which; text: a pattern that is there once; instead: what is served in its place."""

    module: str
    text: str
    instead: str

    def source(self) -> str:
        """The module with the bug in it."""
        whole = (WEB / self.module).read_text("utf-8")
        found = re.findall(self.text, whole)
        assert len(found) == 1, f"{self.module}: {self.text} is there {len(found)} times, not once"
        return re.sub(self.text, lambda match: match.expand(self.instead), whole)

    def __call__(self, context: Any) -> None:
        """Serve it to every page of this browser context."""
        body = self.source()
        context.route(
            f"**/vestry/tablet/{self.module}", lambda route: route.fulfill(content_type="text/javascript", body=body)
        )


IN_THE_BROWSER: Mapping[str, Planted] = {
    "on the screen before it is kept": Planted(
        "leading.js",
        r"const kept = await this\.keeping\.say\((\w+)\);",
        r"const kept = \1.map((one, n) => ({ ...one, counter: 1e9 + this.events.length + n }));"
        r"if (Math.random() < 0.8) await this.keeping.say(\1);",
    ),
    "sent when the wire fails": Planted(
        "sending.js",
        re.escape(SENDS),
        f"let answer; try {{ {SENDS.replace('const answer', 'answer')} }}"
        "catch { answer = { status: 200, body: { taken: events.map((one) => one.id), known: [] } }; }",
    ),
    "a new id each time it is sent": Planted(
        "sending.js",
        r"\.map\(\(\{ kept, \.\.\.event \}\) => event\);",
        ".map(({ kept, ...event }) => ({ ...event, id: event.id.slice(0, -6)"
        " + Math.random().toString(16).slice(2, 8).padEnd(6, '0') }));",
    ),
    "counting begins anew when the page does": Planted(
        "keeping.js",
        r'let counter = \(await asked\(meta\.get\("counter"\)\)\) \?\? 0;',
        "let counter = (globalThis.counted ??= 0);\n    globalThis.counted += said.length;",
    ),
    "what others say is not kept": Planted("keeping.js", r'store\.add\(\{ \.\.\.event, kept: "foreign" \}\);', ""),
    "a clock that jumped back puts an act before those already done": Planted(
        "order.js", r"if \(compare\(event\.clock, latest\) > 0\) latest = event\.clock;", "latest = event.clock;"
    ),
    "a full storage is not noticed": Planted(
        "keeping.js", r"await done;(\s+return kept;)", r"await done.catch(() => {});\1"
    ),
}


def _failed_writes_are_told_as_taken() -> None:
    from django.db import OperationalError

    from vestry.hospital.anteroom import device_views
    from vestry.hospital.record.store import Stored

    append = device_views.append

    def planted(entry: Any, events: Any, now: Any) -> Any:
        try:
            return append(entry, events, now)
        except OperationalError:
            return Stored(tuple(one.id for one in events), ())

    device_views.append = planted


def _taken_is_told_before_it_is_stored() -> None:
    import threading
    import time

    from django.db import connection

    from vestry.hospital.anteroom import device_views
    from vestry.hospital.record.store import Stored

    append = device_views.append

    def later(*parts: Any) -> None:
        time.sleep(0.5)
        append(*parts)
        connection.close()

    def planted(entry: Any, events: Any, now: Any) -> Any:
        threading.Thread(target=later, args=(entry, events, now), daemon=True).start()
        return Stored(tuple(one.id for one in events), ())

    device_views.append = planted


ON_THE_SERVER: Mapping[str, Callable[[], None]] = {
    "a write that failed is told as taken": _failed_writes_are_told_as_taken,
    "taken is told before it is stored": _taken_is_told_before_it_is_stored,
}
