"""Published orders at the desk: the list, and one order with its verdict, among others of its ensemble.

What is found is told with its route, and nobody is told to change anything.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.translation import gettext

from vestry.contact.check import as_taught
from vestry.hospital import facts
from vestry.hospital.access.door import door
from vestry.hospital.desk.asked import order_subject, orders, orders_compared, presentation_of
from vestry.hospital.language import words_now
from vestry.sequence import Subject
from vestry.sequence.comparison import Weaker
from vestry.sequence.telling import told_step, told_weaker
from vestry.trade import Order

DECIDE = ("mucosa", "helper")
SHOWN = ("mucosa", "skin", "helper", "clothing")


@door(GET="see-orders")
def order_list(request: HttpRequest) -> HttpResponse:
    words = words_now()
    found = verdicts(facts.catalogue().digest)
    rows = [
        {
            "id": name,
            "title": order.title,
            "publisher": _publisher(order),
            "certainty": words.term("certainty", order.published.certainty if order.published else "common-practice"),
            "donning": bool(order.published and order.published.kind == "don"),
            "verdicts": [
                {"for": one, "reached": not found[name, one], "short": _short(found[name, one])} for one in fors(order)
            ],
        }
        for name, order in orders().items()
    ]
    groups = [
        (name, [one for one in rows if one["donning"] == on])
        for name, on in ((gettext("Taking off"), False), (gettext("Putting on"), True))
    ]
    return render(request, "desk/orders.html", {"groups": groups, "count": len(rows), "here": "orders"})


def fors(order: Order) -> tuple[str, ...]:
    """The presentations that an order is published for; its own case's where nobody published it."""
    return order.published.for_presentations if order.published else (order.case.presentation,)


@lru_cache(maxsize=2)
def verdicts(digest: str) -> dict[tuple[str, str], bool]:
    """Whether each order is clean as taught for each presentation that it is published for; kept."""
    return {
        (name, presentation): _clean(order_subject(name, presentation))
        for name, order in orders().items()
        for presentation in fors(order)
    }


def _clean(subject: Subject) -> bool:
    return not any(
        one.endpoint in DECIDE or (one.endpoint == "skin" and one.when == "at-end")
        for one in as_taught(subject.program)
    )


def _short(clean: bool) -> str:
    return words_now().verdict("clean" if clean else "reached").short


def _publisher(order: Order) -> str:
    published = order.published
    return f"{published.publisher}, {published.year}" if published else gettext("common practice, no source")


@dataclass(frozen=True)
class Beside:
    """Another order of the same ensemble: who has fewer routes on each endpoint, and where this one is weaker."""

    id: str
    title: str
    cells: list[str]
    weaker: list[tuple[str, ...]]


@door(GET="see-orders")
def order(request: HttpRequest, name: str) -> HttpResponse:
    if name not in orders():
        raise Http404("no such order")
    one, words = orders()[name], words_now()
    presentation = presentation_of(request) or fors(one)[0]
    subject = order_subject(name, presentation)
    found = subject.assurance
    steps = {row.step: row for row in found.steps}
    context: dict[str, Any] = {
        "id": name,
        "asked": f"order:{name}",
        "order": one,
        "publisher": _publisher(one),
        "presentation": presentation,
        "presentation_says": words.term("presentation", presentation),
        "others": [p for p in ("dry", "wet") if p != presentation],
        "verdict": words.verdict(found.verdict),
        "watch": sum(row.watch for row in found.steps),
        "classes": [words.endpoint(kind) for kind in SHOWN],
        "beside": beside(name, presentation),
        "worn": [words.item(item) for item in subject.order.worn],
        "steps": [
            {
                "number": number,
                "id": step.id,
                "short": told_step(step, words, subject.catalogue),
                "who": words.term("who", step.who),
                "further": "more" if steps[step.id].further is None else str(steps[step.id].further),
                "watch": steps[step.id].watch,
            }
            for number, step in enumerate(subject.steps, 1)
        ],
    }
    return render(request, "desk/order.html", context)


def beside(name: str, presentation: str) -> list[Beside]:
    """The other orders for the same ensemble and case, compared with this one."""
    this, digest = order_subject(name, presentation), facts.catalogue().digest
    rows = []
    for other in orders():
        if other == name or not _alike(orders()[name], orders()[other]):
            continue
        found = orders_compared(name, other, presentation, digest)
        if found.comparable:
            rows.append(_beside(this, other, orders()[other].title, found))
    return rows


def _alike(one: Order, other: Order) -> bool:
    """Whether it is worth compiling both: the same things worn on arrival, the same sort of order."""
    kinds = [order.published.kind if order.published else "doff" for order in (one, other)]
    return set(one.worn) == set(other.worn) and kinds[0] == kinds[1]


def _beside(this: Subject, other: str, title: str, found: Any) -> Beside:
    words = words_now()
    table = next(one for one in found.tables if one.loads == "all" and not one.latent)
    better = {row.endpoint: row.better for row in table.endpoints}
    says = {"a": gettext("fewer here"), "b": gettext("fewer there"), "equal": "equal"}
    names = {"a": gettext("this order"), "b": title}
    weaker: list[Weaker] = [one for one in found.weaker if one.side == "a"]
    return Beside(
        other,
        title,
        [says[better[kind]] for kind in SHOWN],
        [_capital(told_weaker(one, names, this, words)) for one in weaker],
    )


def _capital(lines: tuple[str, ...]) -> tuple[str, ...]:
    return (lines[0][:1].upper() + lines[0][1:], *lines[1:])
