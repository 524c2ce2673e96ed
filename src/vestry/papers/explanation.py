"""An explanation on paper: each route as a sentence, as a strip of figures, and touch by touch with its sources."""

from __future__ import annotations

from typing import Any

from vestry.figure import Touching, strip
from vestry.papers.labelled import labels_of
from vestry.papers.labels import Labels
from vestry.papers.report import report_content, section, table
from vestry.papers.sheet import short_hash
from vestry.papers.shipped import report_template
from vestry.papers.typesetting import pdf
from vestry.sequence import Explanation, Subject
from vestry.sequence.explanation import ExplainedRoute, Touch
from vestry.sequence.telling import (
    place_of,
    told_end,
    told_explained,
    told_source,
    told_surface,
    told_touch,
    told_would_take,
)
from vestry.trade.words import Words


def explanation_pdf(
    found: Explanation,
    subject: Subject,
    words: Words,
    *,
    unit: str = "",
    printed_on: str | None = None,
    labels: Labels | None = None,
) -> bytes:
    """The explanation as PDF/UA-1. Same input, same bytes; CannotPrint when the fonts lack a sign."""
    labels = labels or labels_of(words)
    return pdf(explanation_content(found, subject, words, labels, unit, printed_on), report_template())


def explanation_content(
    found: Explanation,
    subject: Subject,
    words: Words,
    labels: Labels | None = None,
    unit: str = "",
    printed_on: str | None = None,
) -> dict[str, Any]:
    """Everything that stands on the explanation."""
    labels = labels or labels_of(words)
    drawer = _Drawer(subject, words, labels)
    ways = [drawer.route(one) for one in found.routes]
    takes = [
        section(
            told_surface(one.surface, words).capitalize(),
            paragraphs=[told_would_take(one, found.order, words)],
            routes=[drawer.route(route) for route in one.routes],
        )
        for one in found.would_take
        if found.clean or found.surface
    ]
    names = [f"{labels.plan} {short_hash(found.plan)}"] if found.plan else []
    return report_content(
        f"{labels.why}: {found.title}",
        words,
        labels,
        [*([section(labels.routes, routes=ways)] if ways else []), *takes],
        lead=[words.verdict(found.verdict).says],
        names=[*names, f"{labels.facts} {short_hash(found.facts)}"],
        unit=unit,
        printed_on=printed_on,
    )


def touchings(route: ExplainedRoute, words: Words) -> tuple[Touching, ...]:
    """The touches of a route as they are drawn."""
    return tuple(
        Touching(touch.worn, touch.from_surface, touch.to_surface, touch.pose, told_touch(touch, words))
        for touch in route.touches
    )


class _Drawer:
    def __init__(self, subject: Subject, words: Words, labels: Labels) -> None:
        self.subject, self.words, self.labels, self.drawn = subject, words, labels, 0

    def route(self, route: ExplainedRoute) -> dict[str, Any]:
        self.drawn += 1
        pictures = zip(strip(touchings(route, self.words), f"route-{self.drawn}-"), route.touches, strict=True)
        return {
            "title": told_end(route, self.words),
            "says": told_explained(route, self.subject, self.words),
            "pictures": [
                {
                    "svg": svg,
                    "alt": told_touch(touch, self.words),
                    "step": f"{self.place(touch)}.",
                    "caption": told_touch(touch, self.words),
                }
                for svg, touch in pictures
            ],
            "table": self.sources(route) if route.touches else None,
        }

    def place(self, touch: Touch) -> str:
        place = place_of(touch.step, self.subject.numbers, self.words)
        return place[:1].upper() + place[1:]

    def sources(self, route: ExplainedRoute) -> dict[str, Any]:
        rows = [
            (
                touch.event is not None,
                (
                    self.place(touch),
                    told_touch(touch, self.words),
                    " ".join(filter(None, (told_source(touch, self.words), touch.source.url))),
                ),
            )
            for touch in route.touches
        ]
        return table((self.labels.at_step, self.labels.touch, self.labels.source), (18, 62, 0), rows)
