"""A hospital group over years: people, lots and movements like those of the invented hospital, many times over.

Written in bulk, into the product's own tables: rows that are written once are only added, and the balances are what the
ledger comes to.
"""

from __future__ import annotations

import random
from collections import Counter
from collections.abc import Iterator
from datetime import timedelta
from typing import Any

AT_ONCE = 2_000
YEARS = 4
CHECKED = 40


def enlarge(people: int, lots: int, movements: int, seed: int) -> dict[str, Any]:
    """As many people and lots in all, and as many movements; what of the balances is not what the ledger says."""
    from vestry.hospital.access.models import User
    from vestry.hospital.registers.models import RegisteredPerson, StockLot, StockMovement
    from vestry.hospital.writing import writing

    chance, lead = random.Random(seed), User.objects.get(sign_in="ingrid")
    with writing():
        _people(people - RegisteredPerson.objects.count(), lead)
        added = _lots(lots - StockLot.objects.count(), lead, chance)
        _movements(added, movements - StockMovement.objects.count(), lead, chance)
    return {
        "people": RegisteredPerson.objects.count(),
        "lots": StockLot.objects.count(),
        "movements": StockMovement.objects.count(),
        "problems": list(_unequal(chance.sample(added, min(CHECKED, len(added))))),
    }


def _people(many: int, lead: Any) -> None:
    from django.utils import timezone

    from vestry.hospital.registers.models import PersonNote, RegisteredPerson

    now = timezone.now()
    like = list(RegisteredPerson.objects.prefetch_related("notes").order_by("code"))
    rows, notes = [], []
    for number in range(many):
        model = like[number % len(like)]
        row = RegisteredPerson(
            code=f"G-{number:05}", name=f"Invented {number:05}", duties=model.duties, added_at=now, active=model.active
        )
        rows.append(row)
        notes += [PersonNote(person=row, kind=one.kind, said=one.said, by=lead, at=now) for one in model.notes.all()]
    RegisteredPerson.objects.bulk_create(rows, AT_ONCE)
    PersonNote.objects.bulk_create(notes, AT_ONCE)


def _lots(many: int, lead: Any, chance: random.Random) -> list[Any]:
    """Lots that came over the years; what is older has expired, and most of it is used up."""
    from django.utils import timezone

    from vestry.hospital.registers.models import StockLot

    now, like = timezone.now(), list(StockLot.objects.order_by("number"))
    rows = []
    for number in range(many):
        model, came = like[number % len(like)], now - timedelta(days=chance.uniform(1, YEARS * 365))
        expiry = None if model.expiry is None else (came + timedelta(days=900)).date()
        rows.append(
            StockLot(
                item=model.item, size=model.size, number=f"G{number:06}", expiry=expiry, model=model.model,
                length_mm=model.length_mm, gtin=model.gtin, by=lead, at=came,
            )
        )  # fmt: skip
    StockLot.objects.bulk_create(rows, AT_ONCE)
    return rows


def _movements(lots: list[Any], many: int, lead: Any, chance: random.Random) -> None:
    from vestry.hospital.registers.models import Balance, StockMovement

    each = max(2, many // max(1, len(lots)))
    rows, counts = [], Counter[tuple[Any, str]]()
    for left, lot in zip(range(len(lots), 0, -1), lots, strict=True):
        own = each if left > 1 else many - each * (len(lots) - 1)
        for row in _of_lot(lot, own, lead, chance):
            rows.append(row)
            for place, sign in ((row.from_place, -1), (row.to_place, 1)):
                if place:
                    counts[lot.pk, place] += sign * row.quantity
        if len(rows) > AT_ONCE:
            StockMovement.objects.bulk_create(rows, AT_ONCE)
            rows = []
    StockMovement.objects.bulk_create(rows, AT_ONCE)
    Balance.objects.bulk_create(
        (Balance(lot_id=lot, place=place, quantity=number) for (lot, place), number in counts.items()), AT_ONCE
    )


def _of_lot(lot: Any, many: int, lead: Any, chance: random.Random) -> Iterator[Any]:
    """Received once; then used piece by piece, to the last one where the lot is old."""
    from vestry.hospital.registers.models import StockMovement

    left = 0 if chance.random() < 0.6 else chance.randint(1, 30)
    yield StockMovement(lot=lot, kind="received", quantity=many - 1 + left, to_place="store", at=lot.at, by=lead)
    for number in range(1, many):
        at = lot.at + timedelta(hours=number)
        yield StockMovement(lot=lot, kind="used", quantity=1, from_place="store", at=at, by=lead)


def _unequal(lots: list[Any]) -> Iterator[str]:
    """Where a balance is not what the product's own fold of the ledger says."""
    from vestry.hospital.registers.mapper import movement_value
    from vestry.hospital.registers.models import Balance, StockMovement
    from vestry.stock import fold

    rows = StockMovement.objects.filter(lot__in=lots).select_related("by")
    folded = {(where.lot, where.place): count for where, count in fold(map(movement_value, rows)).items() if count}
    kept = {
        (str(one.lot_id), one.place): one.quantity for one in Balance.objects.filter(lot__in=lots).exclude(quantity=0)
    }
    for key in folded.keys() | kept.keys():
        if folded.get(key, 0) != kept.get(key, 0):
            yield f"lot {key[0]} in {key[1]}: {kept.get(key, 0)} kept, {folded.get(key, 0)} by the ledger"


def addresses() -> dict[str, str]:
    """The pages that are asked for, by what they are."""
    from vestry.hospital.desk.models import ProcedureVersion
    from vestry.hospital.registers.models import StockLot

    version = ProcedureVersion.objects.order_by("at").first()
    lot = StockLot.objects.filter(item="gown-impermeable").order_by("-at").first()
    assert version is not None
    assert lot is not None
    return {
        "people": "/people/",
        "who can go in": f"/people/able/?procedure={version.pk}",
        "stock": "/stock/",
        "lots of one item": "/stock/?item=gown-impermeable",
        "one lot": f"/stock/lots/{lot.pk}/",
        "ready": "/ready/",
        "ready for one hazard": "/ready/lassa/",
        "forecast": "/forecast/",
        "coverage": "/coverage/",
    }


def counted() -> dict[str, dict[str, Any]]:
    """Queries and bytes of each page, asked for a second time: what is kept of the first is kept in a server too."""
    from django.db import connection
    from django.test import Client
    from django.test.utils import CaptureQueriesContext

    from vestry.hospital.access.models import User

    client = Client(SERVER_NAME="localhost")
    client.force_login(User.objects.get(sign_in="ingrid"), backend="django.contrib.auth.backends.ModelBackend")
    found = {}
    for name, address in addresses().items():
        client.get(address)
        with CaptureQueriesContext(connection) as made:
            answer = client.get(address)
        if answer.status_code != 200:
            raise RuntimeError(f"{address}: {answer.status_code}")
        found[name] = {"address": address, "queries": len(made), "bytes": len(answer.content)}
    return found
