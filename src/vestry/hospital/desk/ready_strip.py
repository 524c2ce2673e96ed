"""The days ahead as a strip of boxes: open, it holds; with a bar, to be looked at; crossed, not ready."""

from __future__ import annotations

from collections.abc import Sequence

from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString, mark_safe
from django.utils.translation import gettext

from vestry.readiness import Day

WIDE, HIGH = 20, 24


def strip(days: Sequence[Day]) -> SafeString:
    """An SVG with one box for each day. The page has the same as a table."""
    boxes = format_html_join("", "{}", ((_box(day, number),) for number, day in enumerate(days)))
    failing = sum(day.state == "not-ready" for day in days)
    return format_html(
        '<svg class="days" viewBox="0 0 {} {}" role="img" aria-label="{}">{}</svg>',
        WIDE * len(days) + 2,
        HIGH + 2,
        gettext("%(days)s days ahead, %(failing)s of them not ready") % {"days": len(days), "failing": failing},
        boxes,
    )


def _box(day: Day, number: int) -> SafeString:
    x = number * WIDE + 1
    left, right, foot = x + 4, x + WIDE - 6, HIGH - 4
    inside = {
        "ready": "",
        "watch": f'<path class="bar" d="M{left} {foot}H{right}"/>',
        "not-ready": f'<path class="cross" d="M{left} 6L{right} {foot}M{right} 6L{left} {foot}"/>',
    }[day.state]
    return format_html(
        '<g class="{}"><title>{}</title><rect x="{}" y="1" width="{}" height="{}"/>{}</g>',
        day.state,
        f"{day.on:%-d %B}",
        x,
        WIDE - 2,
        HIGH,
        mark_safe(inside),
    )
