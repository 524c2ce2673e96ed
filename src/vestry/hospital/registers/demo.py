"""Invented people, stock and powered units for the invented hospital. Nobody and nothing here is real.

Days are counted back from today, so that whatever day it is some hold, some are about to lapse and some have lapsed.
"""

from __future__ import annotations

import datetime
from dataclasses import dataclass
from typing import Any

from django.utils import timezone

from vestry.hospital.access.models import User
from vestry.hospital.registers import ledger
from vestry.hospital.registers.models import (
    AbsenceReason,
    PersonNote,
    RegisteredPerson,
    StockLeadTime,
    StockLot,
    StockMovement,
    StockQuarantine,
    StockReserve,
    StockUnit,
    StockUnitEvent,
)
from vestry.hospital.registers.people_pages import enter
from vestry.hospital.writing import writing

ENSEMBLES = ("gown.respirator.2-pairs", "gown.respirator.1-pair")
MODELS = ("Heron 3", "Plover 2")
INVENTED = "invented for demonstration"


@dataclass(frozen=True)
class Invented:
    """Somebody: code, name, sign-in, hand and height in mm, gown; days since found able, cleared, fitted.

    fit      model and size of the respirator; factors of the seven scored exercises follow from `factor`
    """

    code: str
    name: str
    sign_in: str | None
    hand: int
    height: int
    gown: str
    able: int | None = 30
    cleared: int | None = 200
    fitted: int | None = 100
    fit: tuple[str, str] = ("Heron 3", "m")
    factor: float = 190
    duties: tuple[str, ...] = ("wearer",)
    found: str = "any"


WATCH = ("wearer", "observer")
HELP = ("wearer", "assistant")
ALL = ("wearer", "observer", "assistant")
PEOPLE = (
    Invented("H-101", "Noor Hadley", "noor", 178, 1640, "m", 21),
    Invented("H-102", "Petra Quill", "petra", 203, 1720, "l", 20, 210, 120, ("Heron 3", "l"), duties=HELP),
    Invented("H-103", "Tomas Arden", "tomas", 229, 1830, "xl", 35, 300, 90, ("Plover 2", "l"), duties=ALL),
    Invented("H-104", "Ilse Marrow", "ilse", 190, 1690, "m", 62, 220, 340, duties=WATCH),
    Invented("H-105", "Ingrid Vell", "ingrid", 186, 1700, "m", 15, 150, 60, duties=ALL),
    Invented("H-106", "Sander Brook", "sander", 240, 1880, "xl", 40, 280, 30, ("Plover 2", "l")),
    Invented("H-107", "Maren Tolle", None, 175, 1600, "m", 12, 90, 45, ("Heron 3", "s"), duties=ALL),
    Invented("H-108", "Jonas Ferrant", None, 216, 1790, "l", 28, 120, 80, ("Heron 3", "l"), duties=WATCH),
    Invented("H-109", "Adaeze Lorne", None, 181, 1660, "m", 44, 100, 200, ("Heron 3", "s")),
    Invented("H-110", "Pavel Wick", None, 222, 1810, "l", 70, 330, 150, ("Plover 2", "m")),
    Invented("H-111", "Sunniva Dray", None, 170, 1580, "m", 85, 240, 355, ("Heron 3", "s"), duties=ALL),
    Invented("H-112", "Emeka Stroud", None, 235, 1860, "xl", 33, 60, 20, ("Plover 2", "l")),
    Invented("H-113", "Lidia Pascoe", None, 188, 1680, "m", 120, 250, 130),
    Invented("H-114", "Wendel Marsh", None, 210, 1770, "l", 18, 190, 400, ("Heron 3", "m")),
    Invented("H-115", "Yara Quennell", None, 168, 1560, "m", 25, 80, 40, ("Heron 3", "s")),
    Invented("H-116", "Casimir Holt", None, 248, 1930, "xl", 50, 140, 75, ("Plover 2", "l")),
    Invented("H-117", "Brona Ashby", None, 195, 1710, "m", 38, 310, None),
    Invented("H-118", "Teodor Lunn", None, 219, 1800, "l", 55, 170, 110, ("Heron 3", "l"), 62),
    Invented("H-119", "Imke Rowan", None, 183, 1650, "m", 60, None, None),
    Invented("H-120", "Otis Verrall", None, 226, 1840, "xl", 29, 200, 95, ("Plover 2", "l"), duties=WATCH),
    Invented("H-121", "Fenna Croft", None, 177, 1630, "m", None, 130, 70),
    Invented("H-122", "Dario Penhale", None, 214, 1780, "l", 47, 160, 85, ("Heron 3", "m")),
    Invented("H-123", "Marit Sable", None, 192, 1700, "l", 65, 230, 140, duties=ALL),
    Invented("H-124", "Kofi Trevane", None, 231, 1850, "xl", 22, 110, 50, ("Plover 2", "l"), found="powered-only"),
    Invented("H-125", "Anouk Birch", None, 180, 1640, "m", 14, 100, 35, ("Heron 3", "s")),
    Invented("H-126", "Leif Garrow", None, 207, 1760, "l", 75, 400, 210, ("Heron 3", "m")),
)
AWAY = (("H-109", -3, 11, "Surgery on the wrist, invented."), ("H-122", -1, None, "Not said, invented."))
HARD = ("H-126",)  # tested by a taste test

# Item, size, lot, days to expiry (None: none printed), how many, place, model, back length in mm, days since it came.
LOTS: tuple[tuple[str, str, str, int | None, int, str, str, int | None, int], ...] = (
    ("inner-gloves-long", "s", "IG-4471", 420, 60, "store", "", None, 90),
    ("inner-gloves-long", "m", "IG-4472", 420, 80, "store", "", None, 90),
    ("inner-gloves-long", "l", "IG-4473", 420, 50, "store", "", None, 90),
    ("inner-gloves-long", "m", "IG-3920", 24, 12, "anteroom", "", None, 300),
    ("outer-gloves-long", "s", "OG-1180", 510, 50, "store", "", None, 90),
    ("outer-gloves-long", "m", "OG-1181", 510, 70, "store", "", None, 90),
    ("outer-gloves-long", "l", "OG-1182", 510, 45, "store", "", None, 90),
    ("outer-gloves-long", "xl", "OG-1183", 510, 24, "store", "", None, 90),
    ("inner-gloves-long", "xl", "IG-4474", 420, 6, "store", "", None, 90),
    ("gloves-long", "s", "GL-7001", 380, 40, "store", "", None, 60),
    ("gloves-long", "m", "GL-7002", 380, 60, "store", "", None, 60),
    ("gloves-long", "l", "GL-7003", 380, 30, "store", "", None, 60),
    ("gloves-standard", "s", "GS-7101", 380, 40, "store", "", None, 60),
    ("gloves-standard", "m", "GS-7102", 380, 40, "store", "", None, 60),
    ("gloves-standard", "l", "GS-7103", 380, 40, "store", "", None, 60),
    ("gloves-standard", "xl", "GS-7104", 380, 20, "store", "", None, 60),
    ("gloves-long", "xl", "GL-7004", 380, 20, "store", "", None, 60),
    ("fresh-gloves", "s", "FG-2201", 300, 40, "doffing-area", "", None, 60),
    ("fresh-gloves", "m", "FG-2202", 300, 60, "doffing-area", "", None, 60),
    ("fresh-gloves", "l", "FG-2203", 300, 40, "doffing-area", "", None, 60),
    ("fresh-gloves", "xl", "FG-2204", 300, 3, "doffing-area", "", None, 60),
    ("gown-impermeable", "m", "GW-0310", 700, 34, "store", "", 1210, 120),
    ("gown-impermeable", "l", "GW-0311", 700, 28, "store", "", 1290, 120),
    ("gown-impermeable", "xl", "GW-0312", 700, 24, "store", "", 1370, 120),
    ("gown-impermeable", "l", "GW-0288", 18, 6, "anteroom", "", 1290, 400),
    ("gown-isolation", "m", "GI-5520", 640, 40, "store", "", None, 120),
    ("gown-isolation", "l", "GI-5521", 640, 40, "store", "", None, 120),
    ("gown-isolation", "xl", "GI-5522", 640, 20, "store", "", None, 120),
    ("gown-fluid-resistant", "m", "GF-6110", 500, 20, "store", "", None, 120),
    ("gown-fluid-resistant", "l", "GF-6111", 500, 20, "store", "", None, 120),
    ("gown-fluid-resistant", "xl", "GF-6112", 500, 10, "store", "", None, 120),
    ("respirator-disposable", "s", "RH-881", 900, 55, "store", "Heron 3", None, 120),
    ("respirator-disposable", "m", "RH-882", 900, 60, "store", "Heron 3", None, 120),
    ("respirator-disposable", "l", "RH-883", 900, 22, "store", "Heron 3", None, 120),
    ("respirator-disposable", "l", "RP-140", 60, 14, "store", "Plover 2", None, 200),
    ("respirator-disposable", "m", "RP-139", -12, 10, "store", "Plover 2", None, 500),
    ("face-shield", "one-size", "FS-9004", None, 70, "store", "", None, 150),
    ("goggles", "one-size", "GG-0815", None, 40, "store", "", None, 150),
    ("hair-cover", "one-size", "HC-3300", None, 120, "store", "", None, 150),
    ("surgical-hood", "one-size", "SH-0711", None, 40, "store", "", None, 150),
    ("boot-covers-high", "one-size", "BC-1200", 800, 48, "store", "", None, 150),
    ("foot-covers-low", "one-size", "FC-1300", 800, 90, "store", "", None, 150),
    ("papr-hood", "one-size", "PH-0420", 600, 16, "store", "", None, 150),
    ("papr-shroud", "one-size", "PS-0430", 600, 12, "store", "", None, 150),
    ("apron", "one-size", "AP-0900", None, 100, "store", "", None, 150),
    ("concentrate-bleach", "one-size", "BL-5100", 26, 8, "store", "", None, 60),
    ("waste-bag", "one-size", "WB-6000", None, 60, "store", "", None, 60),
    ("waste-container-60", "one-size", "WC-0600", None, 40, "store", "", None, 60),
)
HELD = ("HC-3300", "Elastic tears in one box of the lot; the maker is asked. Invented.")
RESERVES = (
    ("gown-impermeable", "xl", 12),
    ("gown-impermeable", "l", 20),
    ("respirator-disposable", "s", 30),
    ("outer-gloves-long", "xl", 10),
    ("fresh-gloves", "xl", 6),
    ("boot-covers-high", "one-size", 40),
)
LEAD_TIMES = (
    ("gown-impermeable", 96, "Harbour Supplies, invented"),
    ("outer-gloves-long", 24, "Harbour Supplies, invented"),
    ("waste-container-60", 48, "The waste contractor, invented"),
)
# Serial, item, days since service, battery test, flow check; what happened last.
UNITS: tuple[tuple[str, str, int, int, int, str | None], ...] = (
    ("BU-01", "papr-belt-unit", 90, 20, 6, None),
    ("BU-02", "papr-belt-unit", 90, 20, 6, None),
    ("BU-03", "papr-belt-unit", 90, 20, 6, "used"),
    ("BU-04", "papr-belt-unit", 380, 20, 6, None),
    ("BU-05", "papr-belt-unit", 60, 110, 6, None),
    ("HU-01", "papr-helmet", 120, 40, 12, None),
    ("HU-02", "papr-helmet", 120, 40, 45, None),
    ("HU-03", "papr-helmet", 120, 40, 12, "fault"),
)


def fill(lead: User, health: User) -> None:
    """Everything invented here, once."""
    with writing():
        if RegisteredPerson.objects.exists():
            return
        for one in PEOPLE:
            _person(one, lead, health)
        for code, start, end, reason in AWAY:
            _away(RegisteredPerson.objects.get(code=code), start, end, reason, health)
        _stock(lead)
        _units(lead)


def _day(back: int) -> str:
    return (timezone.localdate() - datetime.timedelta(days=back)).isoformat()


def _note(person: RegisteredPerson, kind: str, said: dict[str, Any], by: User) -> PersonNote:
    return PersonNote.objects.create(person=person, kind=kind, said=said, by=by, at=timezone.now())


def _person(one: Invented, lead: User, health: User) -> None:
    user = User.objects.filter(sign_in=one.sign_in).first() if one.sign_in else None
    person = enter(one.code, one.name, list(one.duties), user, lead)
    _note(person, "measures", {"hand": {"circumference-mm": one.hand}, "height-mm": one.height}, lead)
    _note(person, "tried", {"what": "gown", "size": one.gown}, lead)
    if one.cleared is not None:
        _note(person, "clearance", {"on": _day(one.cleared), "cleared": one.found}, health)
    if one.able is not None:
        for ensemble in ENSEMBLES:
            for duty in one.duties:
                _note(person, "competency", {"subject": ensemble, "duty": duty, "on": _day(one.able)}, lead)
    if one.fitted is not None:
        _note(person, "fit-test", _fit_test(one), health)


def _fit_test(one: Invented) -> dict[str, Any]:
    said = {
        "item": "respirator-disposable",
        "model": one.fit[0],
        "size": one.fit[1],
        "device": "half-mask",
        "system": "us",
        "on": _day(one.fitted or 0),
    }
    if one.code in HARD:
        return said | {"method": "qualitative", "passed": True}
    shares = (1.3, 1.2, 0.9, 1.0, 0.8, 1.0, 1.1)
    names = (
        "normal-breathing",
        "deep-breathing",
        "head-side-to-side",
        "head-up-and-down",
        "talking",
        "bending-over",
        "normal-breathing-again",
    )
    scored = [{"exercise": name, "factor": one.factor * share} for name, share in zip(names, shares, strict=True)]
    return said | {"method": "quantitative", "exercises": [*scored, {"exercise": "grimace", "factor": 30}]}


def _away(person: RegisteredPerson, start: int, end: int | None, reason: str, health: User) -> None:
    said = {"from": _day(-start), "until": None if end is None else _day(-end)}
    AbsenceReason.objects.create(note=_note(person, "absence", said, health), reason=reason)


def _stock(lead: User) -> None:
    now = timezone.now()
    rows = []
    for number, (item, size, lot, days, quantity, place, model, length, since) in enumerate(LOTS):
        expiry = None if days is None else timezone.localdate() + datetime.timedelta(days=days)
        came = now - datetime.timedelta(days=since)
        row = StockLot.objects.create(
            item=item, size=size, number=lot, expiry=expiry, model=model, length_mm=length, by=lead, at=came,
            gtin=_gtin(number),
        )  # fmt: skip
        rows.append(StockMovement(lot=row, kind="received", quantity=quantity, to_place=place, at=came, by=lead))
        if lot == HELD[0]:
            StockQuarantine.objects.create(lot=row, act="held", why=HELD[1], by=lead, at=now)
        if quantity > 40 and place == "store":
            why = "One box was wet. Invented."
            rows.append(
                StockMovement(
                    lot=row,
                    kind="discarded",
                    quantity=2,
                    from_place=place,
                    why=why,
                    at=came + datetime.timedelta(9),
                    by=lead,
                )
            )
    ledger.write(rows)
    for item, size, least in RESERVES:
        StockReserve.objects.create(item=item, size=size, least=least, by=lead, at=now)
    for item, hours, says in LEAD_TIMES:
        StockLeadTime.objects.create(item=item, hours=hours, says=says, by=lead, at=now)


def _gtin(number: int) -> str:
    """An item number that nobody has: from the range kept for use inside one house."""
    body = f"0200000{number:06}"
    total = sum(int(digit) * (3 if place % 2 == 0 else 1) for place, digit in enumerate(reversed(body)))
    return f"{body}{-total % 10}"


def _units(lead: User) -> None:
    now = timezone.now()
    for serial, item, service, battery, flow, last in UNITS:
        unit = StockUnit.objects.create(
            item=item, serial=serial, battery=f"B-{serial[-2:]}", most_cleanings=200, by=lead, at=now
        )
        for kind, back in (("serviced", service), ("battery-tested", battery), ("flow-checked", flow)):
            minutes = 250 if kind == "battery-tested" else None
            at = now - datetime.timedelta(days=back)
            StockUnitEvent.objects.create(unit=unit, kind=kind, minutes=minutes, by=lead, at=at)
        if last:
            StockUnitEvent.objects.create(unit=unit, kind=last, by=lead, at=now, note=INVENTED)
