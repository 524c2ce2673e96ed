"""The browser's modules on a page of their own, in Chromium, with or without a bug planted in one of them."""

from __future__ import annotations

import json
from collections.abc import Iterable
from pathlib import Path
from typing import Any

import vestry.hospital.anteroom

WEB = Path(vestry.hospital.anteroom.__file__).parent / "web"
PAGE = "http://alike.test/"
ENTRANCE = """
import { canonical, sealed, sha256 } from "./chain.js";
import { fold, ledAlong } from "./fold.js";
import { HANDLERS } from "./handling.js";
import { actual, run, stillHere } from "./interpret.js";
import { offered } from "./offering.js";

const names = (map) => Object.fromEntries([...map].map(([key, set]) => [key, [...set].sort()]));
const told = ({ before, after, whole }) => ({ before: names(before), after: names(after), whole });
window.kinds = () => [...HANDLERS.keys()].sort();
window.folded = (cases) => JSON.parse(cases).map(({ led, events }) =>
  fold({ plan: led.plan, recoveries: new Map(led.recoveries.map((one) => [one.name, one])),
    team: new Map(led.team) }, events));
window.ran = (cases) => JSON.parse(cases).map(({ program, happening, seen }) =>
  run(program, new Set(happening), new Map(seen.map(([step, all]) => [step, new Set(all)])))
    .map((set) => [...set].sort((a, b) => a - b)));
window.actually = (cases) => JSON.parse(cases).map(({ program, state }) => told(actual(program, state)));
window.hashed = (texts) => JSON.parse(texts).map(sha256);
window.canonical = (values) => JSON.parse(values).map(canonical);
window.sealed = (cases) => JSON.parse(cases).map(({ event, salt, previous }) => sealed(event, salt, previous).link);
let carried = null;
window.carry = (text) => { carried = JSON.parse(text); return carried.courses.length; };
window.walked = (cases) => JSON.parse(cases).map((events) => {
  const led = ledAlong(carried);
  const state = fold(led, events);
  return { state, actual: told(actual(carried.program, state)), offered: offered(carried, led, state)?.name ?? null };
});
window.ready = true;
"""


class Alike:
    """A page with the modules. `planted`: module, text of it, what stands there instead."""

    def __init__(self, browser: Any, planted: tuple[str, str, str] | None = None) -> None:
        self.page = browser.new_page()
        self.planted = planted
        self.page.route("**/*", self._serve)
        self.page.goto(PAGE)
        self.page.wait_for_function("window.ready === true")

    def _serve(self, route: Any) -> None:
        name = route.request.url.removeprefix(PAGE)
        if name == "":
            route.fulfill(content_type="text/html", body='<script type="module" src="entrance.js"></script>')
        elif name == "entrance.js":
            route.fulfill(content_type="text/javascript", body=ENTRANCE)
        elif (WEB / name).is_file():
            text = (WEB / name).read_text("utf-8")
            if self.planted and self.planted[0] == name:
                assert text.count(self.planted[1]) == 1, f"{name} has no single {self.planted[1]!r}"
                text = text.replace(self.planted[1], self.planted[2])
            route.fulfill(content_type="text/javascript", body=text)
        else:
            route.fulfill(status=404)

    def ask(self, question: str, cases: Iterable[Any]) -> Any:
        return self.page.evaluate(f"(cases) => window.{question}(cases)", json.dumps(list(cases)))

    def close(self) -> None:
        self.page.close()
