"""What each published rule costs or buys, on paper: one part for each rule, with its source and what was found."""

from __future__ import annotations

from typing import Any

from vestry.papers.labelled import labels_of
from vestry.papers.labels import Labels
from vestry.papers.report import report_content, section, table
from vestry.papers.sheet import short_hash
from vestry.papers.shipped import report_template
from vestry.papers.typesetting import pdf
from vestry.sequence import Weighing
from vestry.sequence.telling import listed, told_weighed
from vestry.sequence.weighed import WeighedRule
from vestry.trade import Catalogue
from vestry.trade.words import Words


def rules_pdf(
    found: Weighing,
    words: Words,
    catalogue: Catalogue,
    *,
    unit: str = "",
    printed_on: str | None = None,
    labels: Labels | None = None,
) -> bytes:
    """The weighing as PDF/UA-1. Same input, same bytes; CannotPrint when the fonts lack a sign."""
    labels = labels or labels_of(words)
    return pdf(rules_content(found, words, catalogue, labels, unit, printed_on), report_template())


def rules_content(
    found: Weighing,
    words: Words,
    catalogue: Catalogue,
    labels: Labels | None = None,
    unit: str = "",
    printed_on: str | None = None,
) -> dict[str, Any]:
    """Everything that stands on it."""
    labels = labels or labels_of(words)
    return report_content(
        labels.rules_title,
        words,
        labels,
        [
            section(labels.best_order, paragraphs=_best(found, words, labels)),
            *(_rule(one, words, catalogue, labels) for one in found.rules),
            section(labels.not_weighed, table=_left_out(found, words, labels)),
        ],
        standing=words.finding("rule.desk-tool"),
        lead=[
            f"{words.hazard(found.case.hazard)}, {words.term('presentation', found.case.presentation)}.",
            f"{labels.wearing.capitalize()}: {listed(found.worn, words)}.",
            words.finding("rule.how"),
        ],
        names=[f"{labels.facts} {short_hash(found.facts)}"],
        unit=unit,
        printed_on=printed_on,
    )


def _best(found: Weighing, words: Words, labels: Labels) -> list[str]:
    if found.base is None:
        return [words.finding("rule.no-order")]
    verdict = words.verdict("clean" if found.base.clean else "reached").says
    return [
        words.finding(
            "rule.base", items=listed(found.base.removals, words), steps=found.base.steps, minutes=_minutes(found)
        ),
        verdict,
        words.finding("rule.optimal" if found.base.optimal else "rule.best-found"),
    ]


def _minutes(found: Weighing) -> int:
    return round(found.base.time.seconds / 60) if found.base else 0


def _rule(one: WeighedRule, words: Words, catalogue: Catalogue, labels: Labels) -> dict[str, Any]:
    rule, source = words.rule(one.rule), catalogue.sources.get(one.source)
    said_by = f"{source.publisher}, {source.year}" if source else one.source
    standing = labels.in_force if one.in_force else labels.switched_off
    says = f"{standing}. {rule.says} {said_by}; {words.term('certainty', one.certainty)}."
    return section(rule.name, paragraphs=[says], items=told_weighed(one, words))


def _left_out(found: Weighing, words: Words, labels: Labels) -> dict[str, Any] | None:
    if not found.not_weighed:
        return None
    rows = [
        (False, (words.rule(one.rule).name, words.finding(f"rule.unweighed.{one.why}"))) for one in found.not_weighed
    ]
    return table((labels.rule, labels.why), (70, 0), rows)
