"""A forecast in sentences and tables, as the desk and the terminal show it."""

from __future__ import annotations

from vestry.readiness.forecast_found import FigureUsed, Forecast, OrderNow, PoolFound, Share
from vestry.readiness.instead import Instead
from vestry.readiness.saying import finding, term
from vestry.trade.words import Words


def percent(value: float) -> str:
    """A share as per cent; never 100 or 0 unless it is all or none."""
    if 0 < value < 1:
        return f"{min(99.9, max(0.1, round(100 * value, 1))):g} %"
    return f"{100 * value:g} %"


def with_interval(share: Share) -> str:
    """A share with its interval in brackets."""
    return f"{percent(share.value)} ({percent(share.low)} – {percent(share.high)})"


def headlines(found: Forecast, words: Words) -> list[str]:
    """The answer in a few sentences: stock, cover, people, what goes first."""
    share = found.sustains
    told = [
        words.finding(
            f"forecast.{found.enough}",
            hours=found.asked_hours,
            share=percent(share.value),
            low=percent(share.low),
            high=percent(share.high),
            target=percent(found.target),
        ),
        _cover(found, words),
        words.finding("forecast.people-yes" if found.people_enough else "forecast.people-no"),
    ]
    if found.uncovered.value:
        told.append(words.finding("forecast.uncovered", count=f"{found.uncovered.value:.1f}"))
    if found.pools and found.sustains.value < 1:
        one = found.pools[0]
        told.append(words.finding("forecast.first", item=words.item(one.item), size=size_of(one.size, words)))
    return told


def _cover(found: Forecast, words: Words) -> str:
    least, half, most = (found.cover[n].value for n in (0, 2, 4))
    if least >= found.asked_hours:
        return words.finding("forecast.cover-never")
    return words.finding("forecast.cover", least=f"{least:g}", hours=f"{half:g}", most=f"{most:g}")


def size_of(size: str, words: Words) -> str:
    """A size in words."""
    return words.term("forecast", "one-size") if size == "one-size" else size.upper() if len(size) < 4 else size


def pool_row(one: PoolFound, found: Forecast, words: Words) -> tuple[str, ...]:
    """Item, size, on the shelf, kept back, ordered, when it runs out, lasts, used, lacking, expired."""
    return (
        words.item(one.item),
        size_of(one.size, words),
        str(one.on_shelf),
        str(one.reserve),
        str(one.coming),
        cover_range(one, found, words),
        with_interval(one.lasts),
        f"{one.used.value:.0f}",
        f"{one.lacking.value:.1f}",
        f"{one.expired.value:.1f}",
    )


POOL_HEADS = (
    "item",
    "size",
    "on-shelf",
    "reserve",
    "coming",
    "cover",
    "lasts",
    "used",
    "lacking",
    "expired",
)


def cover_range(one: PoolFound, found: Forecast, words: Words) -> str:
    """When it runs out: nine of ten stays, and the middle."""

    def told(value: float) -> str:
        return words.term("forecast", "beyond") if value >= found.asked_hours else f"{value:g}"

    low, half, high = (told(one.cover[n].value) for n in (0, 2, 4))
    return low if low == high else f"{low} – {half} – {high}"


def told_orders(found: Forecast, words: Words) -> list[str]:
    """What to order now."""
    told = [_order(one, words) for one in found.orders]
    if any(one.lead_judged for one in found.orders):
        told.append(term("forecast", "lead-judged", words))
    return told or [words.finding("forecast.no-orders")]


def _order(one: OrderNow, words: Words) -> str:
    said = words.finding(
        "forecast.order",
        count=one.count,
        item=words.item(one.item),
        size=size_of(one.size, words),
        lead=one.lead_hours,
        share=percent(one.before.value),
    )
    if not one.later:
        return said
    return f"{said} {finding('forecast.order-later', words, count=one.later, hours=one.lead_hours)}"


def told_instead(one: Instead, words: Words) -> str:
    """What could be worn when something runs out."""
    item = words.item(one.without)
    if one.found == "team-only":
        return words.finding("forecast.instead-team", item=item)
    if one.found == "no-plan":
        return words.finding("forecast.instead-none", item=item)
    worn = ", ".join(words.item(item) for item in one.worn) or "–"
    if not one.clean:
        return words.finding("forecast.instead-unclean", item=item, worn=worn)
    before, after = (words.term("forecast", "none-more") if n is None else str(n) for n in one.fewest)
    return words.finding("forecast.instead", item=item, worn=worn, before=before, after=after)


def figure_row(one: FigureUsed, words: Words) -> tuple[str, str, str, str]:
    """A planning figure: what, value with range and unit, where from, certainty."""
    span = f" ({one.range[0]:g} – {one.range[1]:g})" if one.range else ""
    return words.term("stay-figure", one.id), f"{one.value:g}{span} {one.unit}", one.source, one.certainty
