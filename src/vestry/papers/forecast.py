"""A forecast on paper: answer, charts of what runs out first, tables, orders, what could be worn instead. PDF/UA."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from vestry.papers.fan import Fan, Mark, Says, fan_svg
from vestry.papers.labelled import labels_of
from vestry.papers.labels import Labels
from vestry.papers.report import report_content, section, table
from vestry.papers.shipped import report_template
from vestry.papers.typesetting import pdf
from vestry.readiness.again_with import Again, Beside
from vestry.readiness.forecast_found import Forecast, PoolFound, Quantile
from vestry.readiness.forecast_telling import (
    figure_row,
    headlines,
    percent,
    pool_row,
    size_of,
    told_instead,
    told_orders,
    with_interval,
)
from vestry.trade.words import Words

MOST_CHARTS = 4
COLUMNS = (("item", 0, 0), ("size", 1, 16), ("on-shelf", 2, 15), ("coming", 4, 16), ("cover", 5, 27), ("lasts", 6, 30),
           ("used", 7, 12), ("lacking", 8, 15))  # fmt: skip
"""Heads of the table on paper, where each stands in a row of the desk, and millimetres."""


def forecast_pdf(
    found: Beside,
    marks: dict[tuple[str, str], Sequence[Mark]],
    words: Words,
    unit: str = "",
    printed_on: str | None = None,
    labels: Labels | None = None,
) -> bytes:
    """The forecast as PDF/UA-1. Same input, same bytes. CannotPrint when the fonts lack a sign."""
    return pdf(forecast_content(found, marks, words, unit, printed_on, labels), report_template())


def forecast_content(
    found: Beside,
    marks: dict[tuple[str, str], Sequence[Mark]],
    words: Words,
    unit: str = "",
    printed_on: str | None = None,
    labels: Labels | None = None,
) -> dict[str, Any]:
    """What the report's template lays out. marks: deliveries, by item and size."""
    labels = labels or labels_of(words)
    first = found.first
    told = headlines(first, words)
    return report_content(
        first.title or words.term("forecast", "title"),
        words,
        labels,
        [
            *_charts(first, marks, words),
            section(words.term("forecast", "shelf"), table=_shelf(first, words)),
            section(words.term("forecast", "orders"), items=told_orders(first, words)),
            *_instead(found, words),
            section(words.term("forecast", "people"), table=_people(first, words)),
            section(words.term("forecast", "waste"), table=_waste(first, words)),
            *_figures(first, words),
        ],
        standing=told[0],
        lead=[*told[1:], words.term("forecast", "caution"), words.finding("forecast.draws", draws=first.draws)],
        unit=unit,
        printed_on=printed_on,
    )


def chart_name(one: PoolFound, words: Words) -> str:
    """Item and size over a chart."""
    size = "" if one.size == "one-size" else f", {size_of(one.size, words)}"
    return f"{words.item(one.item)}{size}"


def chart_says(one: PoolFound, found: Forecast, words: Words) -> Says:
    """What stands at a chart, and what it says to whom it is read aloud."""
    last = [row[-1] for row in one.levels]
    return Says(
        all=words.finding(
            "forecast.chart",
            item=chart_name(one, words),
            have=one.on_shelf,
            hours=found.hours[-1],
            least=last[0],
            middle=last[2],
            most=last[4],
        ),
        most=words.term("forecast", "chart-most"),
        middle=words.term("forecast", "chart-middle"),
        least=words.term("forecast", "chart-least"),
        hours=words.term("forecast", "chart-hours"),
    )


def chart_of(one: PoolFound, found: Forecast, marks: Sequence[Mark]) -> Fan:
    """The fan of one item in one size."""
    return Fan(found.hours, one.levels, marks)


def nine(quantiles: Sequence[Quantile]) -> str:
    """Nine of ten stays, and the middle."""
    return f"{quantiles[0].value:.0f} – {quantiles[2].value:.0f} – {quantiles[4].value:.0f}"


def _charts(found: Forecast, marks: dict[tuple[str, str], Sequence[Mark]], words: Words) -> list[dict[str, Any]]:
    pools = found.pools[:MOST_CHARTS]
    if not pools:
        return []
    charts = []
    for one in pools:
        says = chart_says(one, found, words)
        svg = fan_svg(chart_of(one, found, marks.get((one.item, one.size), ())), says, paper=True)
        charts.append({"title": chart_name(one, words), "svg": svg, "alt": says.all})
    said = [words.term("forecast", "chart-how")]
    return [section(words.term("forecast", "charts"), paragraphs=said, charts=charts)]


def _shelf(found: Forecast, words: Words) -> dict[str, Any]:
    """What is ordered has a column only where something is; paper is narrow."""
    coming = any(one.coming for one in found.pools)
    columns = [one for one in COLUMNS if coming or one[0] != "coming"]
    rows = []
    for one in found.pools:
        row = pool_row(one, found, words)
        rows.append((one.lasts.value < found.target, [row[place] for _, place, _ in columns]))
    return table([words.term("forecast", name) for name, _, _ in columns], [wide for _, _, wide in columns], rows)


def _instead(found: Beside, words: Words) -> list[dict[str, Any]]:
    if not found.again:
        return []
    said = []
    for one in found.again:
        said.append(told_instead(one.instead, words))
        said += told_again(one, found.first, words)
    return [section(words.term("forecast", "instead"), items=said)]


def told_again(one: Again, first: Forecast, words: Words) -> list[str]:
    """What the same stay is with it, beside the first."""
    if one.found is None:
        return [words.finding("forecast.again-not", why=one.why)] if one.why else []
    return [
        words.finding(
            "forecast.again",
            before=percent(first.sustains.value),
            after=percent(one.found.sustains.value),
            hours=f"{first.cover[2].value:g}",
            then=f"{one.found.cover[2].value:g}",
            asked=first.asked_hours,
        )
    ]


def _people(found: Forecast, words: Words) -> dict[str, Any]:
    heads = [words.term("forecast", one) for one in ("shift", "group", "there", "hours-there", "hours-need", "enough")]
    rows = [
        (
            one.enough.value < found.target,
            [
                one.shift,
                one.group,
                str(one.there),
                f"{one.hours:g}",
                nine(one.need),
                with_interval(one.enough),
            ],
        )
        for one in found.shifts
    ]
    return table(heads, [24, 24, 20, 28, 34, 0], rows)


def _waste(found: Forecast, words: Words) -> dict[str, Any]:
    heads = [words.term("forecast", one) for one in ("stream", "pieces", "kilograms", "litres")]
    rows = [
        (False, [words.waste(one.stream), f"{one.pieces.value:.0f}", nine(one.kilograms), nine(one.litres)])
        for one in found.waste
    ]
    return table(heads, [0, 22, 40, 40], rows)


def _figures(found: Forecast, words: Words) -> list[dict[str, Any]]:
    heads = [words.term("forecast", one) for one in ("figure", "value", "source", "certainty")]
    return [
        section(
            words.finding(f"forecast.{name}").rstrip(":"),
            table=table(heads, [58, 44, 34, 0], [(False, figure_row(one, words)) for one in figures]),
        )
        for name, figures in (("defaults", found.defaults), ("beside", found.beside))
        if figures
    ]
