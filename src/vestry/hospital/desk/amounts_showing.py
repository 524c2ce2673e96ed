"""Amounts as the desk shows them: rows of tables, each with its line on a plot. The words are the trade's."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any

from django.utils.translation import gettext

from vestry.entry import Counted, Rate
from vestry.hospital.desk.estimates import law_told
from vestry.hospital.desk.plotting import Axis, head, line, linear, logarithmic
from vestry.hospital.numbers import written
from vestry.sequence import Subject
from vestry.sequence.amounts_found import AmountsDiffer, AmountsFound, Number, ReachingRow, WhatIf
from vestry.sequence.amounts_telling import (
    CLASSES,
    WEAK,
    endpoint,
    in_thousand,
    of_change,
    of_contribution,
    of_kept,
    of_row,
    relative,
    signed,
)
from vestry.trade import Catalogue
from vestry.trade.evidence import Evidence
from vestry.trade.words import UnknownWord, Words

MOST = 15
Table = dict[str, Any]


def shown(found: AmountsFound, subject: Subject, evidence: Evidence, words: Words) -> dict[str, Any]:
    """Everything on one sequence."""
    limits = [one.name for one in found.limits]
    return {
        "found": found,
        "limits": [
            {
                "name": words.term("amounts", one.name),
                "says": words.term("amounts", f"limit-{one.name}"),
                "records": one.records,
                "table": _reaching(found, one.name, words),
            }
            for one in found.limits
        ],
        "loads": _loads(found, words),
        "surfaces": _surfaces(found, limits, words),
        "contributions": {kind: _contributions(found, kind, subject, words) for kind in ("step", "event")},
        "unknowns": _unknowns(found, evidence, words),
        "uncovered": [words.surface(site) for site in found.uncovered],
        "rests_on": [_rest(one, evidence, words) for one in found.rests_on],
        "defaults": found.defaults,
        "weak": sum(one.certainty in WEAK for one in found.rests_on),
        "said": {
            key: words.term("amounts", key)
            for key in ("caution", "contributions", "unknowns", "uncovered", "judged", "defaults", "exposure")
        },
        "recovered": words.term("amounts", "recoveries" if found.recoveries else "no-recoveries"),
        "recovered_share": f"{found.recovered:.0%}" if found.recoveries else "",
    }


def _classes(found: AmountsFound) -> list[str]:
    there = {row.endpoint for row in found.reaching}
    return [name for name in CLASSES if name in there]


def _reaching(found: AmountsFound, limit: Any, words: Words) -> Table:
    """The chance of a limit by class, at any time and at the end."""
    rows = [found.row(kind, when) for kind in _classes(found) for when in ("ever", "at-end")]
    numbers = [row.limits[limit] for row in rows]
    axis = _chances(numbers)
    return {
        "name": words.term("amounts", limit),
        "axis": head(axis),
        "rows": [
            {
                "what": endpoint(row.endpoint, words),
                "when": words.term("amounts", row.when),
                "number": in_thousand(number),
                "line": line(axis, number.value * 1000, [_two(number)]),
            }
            for row, number in zip(rows, numbers, strict=True)
        ],
    }


def _chances(numbers: Sequence[Number]) -> Axis:
    """Runs in a thousand, in decades."""
    return logarithmic([number.value * 1000 for number in numbers], 0.05)


def _two(number: Number) -> tuple[float, float]:
    return ((number.value - 2 * number.error) * 1000, (number.value + 2 * number.error) * 1000)


def _loads(found: AmountsFound, words: Words) -> Table:
    """Quantiles of what is there, relative to the source."""
    rows = [found.row(kind, when) for kind in _classes(found) for when in ("ever", "at-end")]
    every = [quantile.value for row in rows for quantile in row.quantiles]
    axis = logarithmic(every, 1e-12)
    return {"axis": head(axis), "rows": [_load(row, axis, words) for row in rows]}


def _load(row: ReachingRow, axis: Axis, words: Words) -> Table:
    by_at = {round(one.at, 3): one.value for one in row.quantiles}
    values = [one.value for one in row.quantiles]
    middle = by_at[0.5]
    spans = ((values[0], values[-1]), (by_at[0.25], by_at[0.75]))
    there = [(max(low, axis.low), high) for low, high in spans if high > 0]
    return {
        "what": endpoint(row.endpoint, words),
        "when": words.term("amounts", row.when),
        "something": in_thousand(row.something),
        "mean": relative(row.mean.value),
        "middle": relative(middle),
        "quantiles": [{"at": f"{one.at:.0%}", "says": relative(one.value)} for one in row.quantiles],
        "line": line(axis, middle, there),
    }


def _surfaces(found: AmountsFound, limits: Sequence[Any], words: Words) -> Table:
    """The surfaces that most often reach the first limit."""
    if not limits:
        return {"rows": []}
    rows = [row for row in found.reaching if row.surface and row.when == "ever"]
    rows = sorted(rows, key=lambda row: -row.limits[limits[0]].value)[:MOST]
    axis = _chances([row.limits[limits[0]] for row in rows])
    return {
        "axis": head(axis),
        "rows": [
            {
                "what": of_row(row, words),
                "class": endpoint(row.endpoint, words),
                "number": in_thousand(row.limits[limits[0]]),
                "line": line(axis, row.limits[limits[0]].value * 1000, [_two(row.limits[limits[0]])]),
            }
            for row in rows
        ],
    }


def _contributions(found: AmountsFound, kind: str, subject: Subject, words: Words) -> Table:
    every = [row for row in found.contributions if row.kind == kind]
    rows = [row for row in every if row.falls["exposure"].value > 0][:MOST]
    axis = linear(value for row in rows for value in _two(row.falls["exposure"]))
    return {
        "axis": head(axis),
        "more": len(every) - len(rows),
        "rows": [
            {
                "what": of_contribution(row, subject, words),
                "happened": f"{row.happened * 1000:.0f}",
                "number": in_thousand(row.falls["exposure"]),
                "mucosa": in_thousand(row.falls["mucosa"]) if "mucosa" in row.falls else "",
                "share": f"{row.share_of_mean['exposure'].value:.0%}" if "exposure" in row.share_of_mean else "",
                "line": line(axis, row.falls["exposure"].value * 1000, [_two(row.falls["exposure"])]),
            }
            for row in rows
        ],
    }


def _unknowns(found: AmountsFound, evidence: Evidence, words: Words) -> Table:
    rows = [row for row in found.unknowns if row.endpoint == "exposure" and row.share.value > 0][:MOST]
    axis = linear([1.0, *(100 * (row.share.value + 2 * row.share.error) for row in rows)])
    return {
        "axis": head(axis),
        "rows": [
            {
                "id": row.record,
                "quantity": evidence.records[row.record].quantity if row.record in evidence.records else "",
                "what": row.record,
                "note": _record_said(row.record, evidence),
                "number": f"{row.share.value:.1%} ± {2 * row.share.error:.1%}",
                "direction": gettext("more there") if row.direction > 0 else gettext("less there"),
                "line": line(
                    axis,
                    100 * row.share.value,
                    [(100 * (row.share.value - 2 * row.share.error), 100 * (row.share.value + 2 * row.share.error))],
                ),
            }
            for row in rows
        ],
    }


def _record_said(name: str, evidence: Evidence) -> str:
    record = evidence.records.get(name)
    return f"{record.quantity.replace('-', ' ')}; {law_told(record.law)}" if record else ""


def _rest(one: Any, evidence: Evidence, words: Words) -> Table:
    source = evidence.sources.get(one.source) if one.source else None
    return {
        "id": one.id,
        "quantity": one.quantity,
        "law": law_told(one.law) if one.law else gettext("the worst that it can be"),
        "source": source.title if source else (one.source or "none"),
        "certainty": words.term("certainty", one.certainty),
        "trust": one.trust or "",
        "times": one.times,
    }


# ---- two beside each other ---------------------------------------------------------------------------------------


def compared(found: AmountsDiffer, titles: tuple[str, str], words: Words) -> Table:
    """Two sequences on the same runs, class by class, with the interval on the difference."""
    axis = linear(value * 1000 for row in found.rows for value in row.interval)
    return {
        "titles": titles,
        "limit": words.term("amounts", found.limit) if found.limit else "",
        "draws": found.draws,
        "axis": head(axis),
        "rows": [
            {
                "what": endpoint(row.endpoint, words),
                "a": in_thousand(row.a),
                "b": in_thousand(row.b),
                "number": signed(row.difference),
                "interval": (
                    gettext("%(low)s to %(high)s")
                    % {
                        "low": format(row.interval[0] * 1000, ".1f"),
                        "high": format(row.interval[1] * 1000, ".1f"),
                    }
                ).replace("-", "−"),
                "clear": row.interval[0] > 0 or row.interval[1] < 0,
                "at_end": signed(row.at_end),
                "less": f"{row.less:.0%}",
                "more": f"{row.more:.0%}",
                "line": line(axis, row.difference.value * 1000, [(row.interval[0] * 1000, row.interval[1] * 1000)]),
            }
            for row in found.rows
        ],
    }


# ---- what a change buys ------------------------------------------------------------------------------------------


def changed(found: WhatIf, subject: Subject, words: Words) -> dict[str, Any]:
    """Changes, ranked; what is never offered for removal."""
    rows = [(one, one.exposure) for one in found.changes]
    axis = linear(value * 1000 for _, row in rows for value in row.interval)
    return {
        "found": found,
        "limit": words.term("amounts", found.limit) if found.limit else "",
        "base": in_thousand(found.base["exposure"]) if "exposure" in found.base else "",
        "said": {key: words.term("amounts", key) for key in ("caution", "ranked", "steps-alone", "kept", "exposure")},
        "steps_alone": words.term("amounts", "steps-alone"),
        "axis": head(axis),
        "rows": [
            {
                "what": of_change(one, subject, words),
                "number": signed(row.difference),
                "interval": (
                    gettext("%(low)s to %(high)s")
                    % {
                        "low": format(row.interval[0] * 1000, ".1f"),
                        "high": format(row.interval[1] * 1000, ".1f"),
                    }
                ).replace("-", "−"),
                "mucosa": next((signed(other.difference) for other in one.rows if other.endpoint == "mucosa"), ""),
                "minutes": f"{one.minutes:+.1f}".replace("-", "−"),
                "clear": words.term("change-bought", "clear" if one.clear else "not-clear"),
                "is_clear": one.clear,
                "line": line(axis, row.difference.value * 1000, [(row.interval[0] * 1000, row.interval[1] * 1000)]),
            }
            for one, row in rows
        ],
        "kept": [of_kept(one, words) for one in found.kept],
    }


# ---- the unit's own counts ---------------------------------------------------------------------------------------


def counts_told(found: Counted, catalogue: Catalogue, words: Words) -> dict[str, Any]:
    """Deviations on occasions, by family of steps, with an interval; of the unit, not of anyone in it."""
    axis = linear([1.0, *(100 * rate.interval[1] for rate in found.rates)])
    return {
        "entries": found.entries,
        "unclear": found.unclear,
        "axis": head(axis),
        "rows": [
            {
                "what": family_told(rate, words),
                "deviations": rate.deviations,
                "occasions": rate.occasions,
                "number": f"{rate.deviations / rate.occasions:.1%}",
                "interval": gettext("%(interval_0)s to %(interval_1)s")
                % {"interval_0": format(rate.interval[0], ".1%"), "interval_1": format(rate.interval[1], ".1%")},
                "line": line(
                    axis,
                    100 * rate.deviations / rate.occasions,
                    [(100 * rate.interval[0], 100 * rate.interval[1])],
                ),
            }
            for rate in sorted(found.rates, key=lambda one: (-one.deviations, one.family, one.sort))
        ],
    }


def family_told(rate: Rate, words: Words) -> str:
    """A family of steps in words."""
    act, _, items = rate.family.partition(":")
    said = words.act(act)
    names = [_item(one, words) for one in items.split("+") if one not in ("", "-")]
    what = f"{said}: {', '.join(names)}" if names else said
    return gettext("%(what)s; left out or too short") % {"what": what} if rate.sort == "omission" else what


def _item(item: str, words: Words) -> str:
    try:
        return words.item(item)
    except UnknownWord:
        return item


def pairs(found: AmountsFound) -> Iterable[tuple[str, str]]:
    """The circumstances in words, for the head of page and paper."""
    context = found.context
    yes = {True: "yes", False: "no"}
    yield gettext("Watched at every step"), yes[context.observer]
    yield gettext("Read aloud"), yes[context.read_aloud]
    yield gettext("Taught and checked"), yes[context.trained]
    yield gettext("Months since practice"), written(context.months)
    yield gettext("Minutes in the ensemble before"), written(context.minutes)
    yield gettext("Climate"), context.climate or gettext("not known")
    yield gettext("Visible blood"), "yes" if context.soil == "blood" else "no"
    yield (
        gettext("Rates of errors"),
        gettext("moved by this unit's own record") if context.counts else gettext("as published"),
    )
