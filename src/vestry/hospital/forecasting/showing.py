"""A forecast in words and charts for the page."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from django.utils.safestring import mark_safe
from django.utils.translation import gettext as _

from vestry.hospital.numbers import localized, written
from vestry.papers.fan import Mark, fan_svg
from vestry.papers.forecast import chart_name, chart_of, chart_says, nine, told_again
from vestry.readiness import Forecast, Stay
from vestry.readiness.again_with import Beside
from vestry.readiness.forecast_found import PoolFound, Share
from vestry.readiness.forecast_telling import (
    POOL_HEADS,
    figure_row,
    headlines,
    percent,
    pool_row,
    told_instead,
    told_orders,
)
from vestry.trade.words import Words

MOST_OPEN, MOST_SHORT = 3, 6
MOST_ROWS = 13


def marks_of(stay: Stay) -> dict[tuple[str, str], Sequence[Mark]]:
    """Deliveries, by item and size."""
    found: dict[tuple[str, str], list[Mark]] = {}
    for one in stay.deliveries:
        says = _("delivery of {count}").format(count=one.count)
        found.setdefault((one.item, one.size), []).append(Mark(*one.arrives_hours, says))
    return {key: tuple(marks) for key, marks in found.items()}


def shown(found: Beside, stay: Stay, words: Words, asked: str = "") -> dict[str, Any]:
    """What the page lays out. `asked`: the key of one more chart, of what lasts and is not delivered.

    All charts at once are a page that is slow to load, and few look at more than one of these.
    """
    first, marks = found.first, marks_of(stay)
    short = sum(one.lasts.value < first.target for one in first.pools)
    opened = min(max(MOST_OPEN, min(short, MOST_SHORT)), len(first.pools))
    of_itself = [one for n, one in enumerate(first.pools) if n < opened or (one.item, one.size) in marks]
    others = [one for one in first.pools if one not in of_itself]
    drawn = [*of_itself, *(one for one in others if _key(one) == asked)]
    charts = [_chart(one, first, marks.get((one.item, one.size), ()), words) for one in drawn]
    if len(drawn) > len(of_itself):
        charts[-1]["asked"] = True
    return {
        "found": first,
        "told": headlines(first, words),
        "charts": charts,
        "more_charts": [(_key(one), chart_name(one, words)) for one in others if _key(one) != asked],
        "chart_how": words.term("forecast", "chart-how"),
        "pool_heads": [words.term("forecast", one) for one in POOL_HEADS],
        "pool_rows": [(one.lasts.value < first.target, pool_row(one, first, words)) for one in first.pools],
        "by_day": [(n, interval(one)) for n, one in enumerate(first.by_day, 1)],
        "orders": told_orders(first, words),
        "instead": [_again(one, first, words) for one in found.again],
        "people_heads": [
            words.term("forecast", one) for one in ("shift", "group", "there", "hours-there", "hours-need", "enough")
        ],
        "people_rows": [
            (one.enough.value < first.target, one.shift, one.group, one.there, written(one.hours), nine(one.need),
             interval(one.enough))
            for one in first.shifts
        ],
        "waste_heads": [words.term("forecast", one) for one in ("stream", "pieces", "kilograms", "litres")],
        "waste_rows": [
            (words.waste(one.stream), f"{one.pieces.value:.0f}", nine(one.kilograms), nine(one.litres))
            for one in first.waste
        ],
        "figure_heads": [words.term("forecast", one) for one in ("figure", "value", "source", "certainty")],
        "figures": [
            (words.finding(f"forecast.{name}"), [figure_row(one, words) for one in figures])
            for name, figures in (("defaults", first.defaults), ("beside", first.beside))
            if figures
        ],
        "draws_say": words.finding("forecast.draws", draws=first.draws),
    }  # fmt: skip


def _key(one: PoolFound) -> str:
    return f"{one.item}/{one.size}"


def _chart(one: PoolFound, found: Forecast, marks: Sequence[Mark], words: Words) -> dict[str, Any]:
    says = chart_says(one, found, words)
    stride = -(-len(found.hours) // MOST_ROWS)
    numbers = sorted({*range(0, len(found.hours), stride), len(found.hours) - 1})
    return {
        "name": chart_name(one, words),
        "svg": mark_safe(fan_svg(chart_of(one, found, marks), says)),
        "rows": [(found.hours[n], *(row[n] for row in one.levels)) for n in numbers],
        "marks": [f"{_hours(mark)}: {mark.says}" for mark in marks],
        "lasts": interval(one.lasts),
    }


def interval(share: Share) -> str:
    """A share with its interval in brackets, in the language of the page."""
    said = {"share": percent(share.value), "low": percent(share.low), "high": percent(share.high)}
    return _("%(share)s (%(low)s to %(high)s)") % {name: localized(text) for name, text in said.items()}


def _hours(mark: Mark) -> str:
    span = written(mark.first) if mark.first == mark.last else f"{written(mark.first)} – {written(mark.last)}"
    return f"{_('hour')} {span}"


def _again(one: Any, first: Forecast, words: Words) -> dict[str, Any]:
    instead = one.instead
    none = words.term("forecast", "none-more")
    return {
        "without": words.item(instead.without),
        "says": told_instead(instead, words),
        "again": told_again(one, first, words),
        "further": [
            (words.endpoint(row.endpoint), *(none if n is None else n for n in (row.before, row.after)))
            for row in instead.further
        ]
        if instead.clean
        else [],
        "watch": instead.watch,
        "beside": _beside(first, one.found, words) if one.found else [],
    }


def _beside(first: Forecast, other: Forecast, words: Words) -> list[tuple[str, str, str]]:
    """Share of stays that last, item by item, in the first forecast and with the change."""
    before = {(one.item, one.size): one for one in first.pools}
    after = {(one.item, one.size): one for one in other.pools}
    rows = []
    for key in dict.fromkeys((*before, *after)):
        one = before.get(key) or after[key]
        lasts = [interval(found[key].lasts) if key in found else "–" for found in (before, after)]
        if lasts[0] != lasts[1]:
            rows.append((chart_name(one, words), *lasts))
    return rows[:12]  # type: ignore[return-value]
