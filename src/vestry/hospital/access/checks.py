"""At start: every page has a door, and every door an action that the table holds."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from django.core.checks import CheckMessage, Error, register
from django.urls import URLPattern, URLResolver, get_resolver

from vestry.hospital.access.door import doors_of
from vestry.hospital.access.table import TABLE


def patterns(resolver: URLResolver | None = None, prefix: str = "") -> Iterator[tuple[str, URLPattern]]:
    """Every URL pattern with its route."""
    for one in (resolver or get_resolver()).url_patterns:
        route = prefix + str(one.pattern)
        if isinstance(one, URLResolver):
            yield from patterns(one, route)
        else:
            yield route, one


@register()
def every_page_has_a_door(app_configs: Any = None, **_: Any) -> list[CheckMessage]:
    problems: list[CheckMessage] = []
    for route, pattern in patterns():
        doors = doors_of(pattern.callback)
        if not doors:
            problems.append(
                Error(
                    f"/{route} has no door",
                    hint="Put @door(GET=..., POST=...) on the view, with actions of access/table.py.",
                    id="vestry.E001",
                )
            )
            continue
        problems += [
            Error(f"/{route}: {method} is {action}, which access/table.py does not hold", id="vestry.E002")
            for method, action in doors.items()
            if action not in TABLE
        ]
    return problems
