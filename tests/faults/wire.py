"""A wire that a seed spoils: requests are dropped, sent twice, held back and overtaken, or cut before their answer."""

from __future__ import annotations

import random
from collections import Counter
from typing import Any

FAULTS = ("as-is", "dropped", "twice", "cut-after", "late-again")


class Wire:
    """Stands between a page and the server. What it holds back it sends later, when another request passes."""

    def __init__(self, context: Any, chance: random.Random, faults: Counter[str], spoil: float) -> None:
        self.chance, self.faults, self.spoil = chance, faults, spoil
        self.held: list[tuple[str, str, dict[str, str]]] = []
        self.context = context
        context.route("**/tablet/entries/*/events/**", self._pass)

    def calm(self) -> None:
        """From here on everything passes as it is."""
        self.spoil = 0.0

    def _pass(self, route: Any) -> None:
        fault = self.chance.choice(FAULTS[1:]) if self.chance.random() < self.spoil else "as-is"
        request = route.request
        self.faults[fault] += fault != "as-is"
        try:
            if fault == "dropped":
                route.abort("connectionreset")
            elif fault == "twice":
                self._again(request.url, request.post_data, request.headers)
                route.continue_()
            elif fault == "cut-after":  # the server has it; the page never hears so
                self._again(request.url, request.post_data, request.headers)
                route.abort("connectionreset")
            elif fault == "late-again":  # a copy arrives much later, after others
                if request.post_data:
                    self.held.append((request.url, request.post_data, request.headers))
                route.continue_()
            else:
                if self.held and self.chance.random() < 0.5:
                    self._again(*self.held.pop(self.chance.randrange(len(self.held))))
                route.continue_()
        except Exception as gone:
            if "closed" not in str(gone):  # the tab was killed in the middle of it
                raise

    def _again(self, address: str, body: str | None, headers: dict[str, str]) -> None:
        """Send it without the page."""
        kept = {name: headers[name] for name in ("authorization", "content-type") if name in headers}
        try:
            if body is None:
                self.context.request.get(address, headers=kept, timeout=10_000)
            else:
                self.context.request.post(address, data=body, headers=kept, timeout=10_000)
        except Exception as refused:
            if "ECONN" not in str(refused) and "socket" not in str(refused) and "Timeout" not in str(refused):
                raise
