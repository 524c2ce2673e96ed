"""A route of the contact model as the pages of the desk show it (desk/_routes.html)."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from django.utils.translation import gettext

from vestry.sequence import Route
from vestry.sequence.telling import told_event, told_surface
from vestry.trade.words import Words


def route_shown(route: Route, words: Words, where: Callable[[str], str]) -> dict[str, Any]:
    """Where it gets to, what it takes, and every touch; `where` says which step an id is, in words."""
    return {
        "to": told_surface(route.surface, words),
        "surface": route.surface,
        "step": next((one.partition("@")[2] for one in route.events if "@" in one), ""),
        "endpoint": words.endpoint(route.endpoint),
        "when": gettext("at the end") if route.when == "at-end" else gettext("on the way"),
        "errors": [told_event(one, words) for one in route.events],
        "links": [
            {
                "step": where(link.step) if link.step else "On arrival",
                "says": f"{told_surface(link.from_surface, words)} {words.term('verb', link.verb)} "
                f"{told_surface(link.to_surface, words)}",
                "error": told_event(link.event, words) if link.event else "",
            }
            for link in route.chain
        ],
    }
