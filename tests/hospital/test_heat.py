"""Heat at the desk: readings written once, the entry's clock with its reason, screening, prediction."""

from __future__ import annotations

import json
from collections.abc import Callable
from datetime import timedelta
from decimal import Decimal
from typing import Any

import pytest
from django.db import DatabaseError, connection
from django.test import Client
from django.utils import timezone

from vestry.hospital.anteroom.clock import clocks_of
from vestry.hospital.jobs.heat import key_of
from vestry.hospital.record.models import Entry, Event
from vestry.hospital.rooms.heat_now import clock_at_opening, gear_of, read_of
from vestry.hospital.rooms.models import HeatFound, HeatGear, HeatReading, RoomVersion

pytestmark = pytest.mark.django_db
Sign = Callable[[str], Client]
READING = {"room": "room-1", "air": "96.8 F", "humidity": "70", "speed": "0.1", "radiant": "", "note": ""}
PEOPLE = {"wearer": "noor", "observer": "tomas", "assistant": "petra"}


@pytest.fixture
def room(staff: dict[str, Any]) -> RoomVersion:
    return RoomVersion.objects.create(
        code="room-1", name="Room 1", kind="other", mixing=Decimal(3), reason="-", by=staff["ingrid"], at=timezone.now()
    )


def page(answer: Any) -> str:
    return str(answer.content.decode())


def wear(staff: dict[str, Any], version: Any, **more: Any) -> HeatGear:
    said = {
        "metabolic": Decimal(165),
        "impermeable": False,
        "clothing": Decimal("0.9"),
        "permeability": Decimal("0.36"),
    }
    return HeatGear.objects.create(
        procedure=version.procedure.slug, reason="measured", by=staff["ingrid"], at=timezone.now(), **(said | more)
    )


def predicted(reading: HeatReading, gear: HeatGear, core: int | None) -> None:
    """A prediction that was worked out before."""
    from vestry.heat.opening import conditions_of

    found = {"rectal_at_end": 39.0, "core_at_end": 39.2, "sweat_grams": 1000.0, "conditions": None}
    limits = {"core": {"minutes": core}, "loss_half": {"minutes": None}, "loss_most": {"minutes": None}}
    HeatFound.objects.create(
        key=key_of(conditions_of(read_of(reading), gear_of(gear))), found=found | limits, reasons=[], at=timezone.now()
    )


def test_a_reading_is_written_with_what_was_typed_and_never_changed(signed_in: Sign, room: RoomVersion) -> None:
    answer = signed_in("tomas").post("/heat/", READING)

    assert answer.status_code == 302
    row = HeatReading.objects.get()
    assert (row.air, row.humidity, row.written) == (Decimal(36), Decimal(70), "96.8 F, 70 %, 0.1 m/s")
    with pytest.raises(DatabaseError), connection.cursor() as cursor:
        cursor.execute("UPDATE rooms_heatreading SET air = 20")


@pytest.mark.parametrize(
    ("field", "bad"),
    [("air", "nan"), ("air", "999"), ("humidity", "101"), ("humidity", "NaN"), ("speed", "-1"), ("room", "nowhere"),
     ("radiant", "inf"), ("air", "")],
)  # fmt: skip
def test_no_number_and_no_thermometers_number_are_refused_with_their_field(
    signed_in: Sign, room: RoomVersion, field: str, bad: str
) -> None:
    answer = signed_in("ingrid").post("/heat/", READING | {field: bad})

    assert answer.status_code == 422
    assert f'href="#field-{field}"' in page(answer)
    assert not HeatReading.objects.exists()


def test_an_entry_keeps_the_shorter_clock_that_it_was_opened_with_and_why(
    signed_in: Sign, staff: dict[str, Any], version: Any, room: RoomVersion
) -> None:
    gear, observer = wear(staff, version), signed_in("tomas")
    reading = HeatReading.objects.create(
        code="room-1", air=36, humidity=70, speed=Decimal("0.1"), written="36", by=staff["tomas"], at=timezone.now()
    )
    reading.refresh_from_db()
    gear.refresh_from_db()
    predicted(reading, gear, 43)
    policy = clock_at_opening(120, version.procedure.slug, "", timezone.now()).allowed.minutes

    observer.post(f"/procedures/{version.pk}/start/", PEOPLE | {"room": "room-1"})

    entry = Entry.objects.get()
    opened = Event.objects.get(kind="opened").payload
    assert (opened["room"], opened["limit-minutes"], opened["limit-by"]) == ("room-1", "43", "core")
    clocks = clocks_of(entry)
    assert (clocks.limit_minutes, clocks.limit_by, clocks.limit_why) == (43, "core", "shortened")
    assert clocks.policy_minutes == policy == 120
    assert "core temperature reaches 38.0" in clocks.limit_says
    assert "43 min" in page(observer.get(f"/records/{entry.pk}/"))
    # Cooler air afterwards changes nothing in this entry.
    HeatReading.objects.create(
        code="room-1", air=20, humidity=40, speed=Decimal("0.1"), written="20", by=staff["tomas"], at=timezone.now()
    )
    assert clocks_of(entry).limit_minutes == 43


def test_a_tablet_can_say_no_longer_limit_than_the_units(entry: Any) -> None:
    row = Event.objects.get(kind="opened")
    with connection.cursor() as cursor:
        cursor.execute("DROP TRIGGER record_event_no_update")
        said = json.dumps(row.payload | {"limit-minutes": "999", "limit-by": "core", "limit-why": "shortened"})
        cursor.execute("UPDATE record_event SET payload = %s", [said])

    clocks = clocks_of(entry)
    assert (clocks.limit_minutes, clocks.limit_by) == (clocks.policy_minutes, "policy")


def test_an_old_reading_and_gear_that_nobody_wrote_leave_the_units_limit(
    signed_in: Sign, staff: dict[str, Any], version: Any, room: RoomVersion
) -> None:
    def why() -> str:
        return clock_at_opening(120, version.procedure.slug, "room-1", timezone.now()).why

    assert why() == "no-reading"
    said = {"code": "room-1", "air": 36, "humidity": 70, "speed": 1, "written": "36", "by": staff["tomas"]}
    HeatReading.objects.create(**said, at=timezone.now() - timedelta(hours=5))
    assert why() == "old-reading"
    HeatReading.objects.create(**said, at=timezone.now())
    assert why() == "no-gear"
    wear(staff, version, impermeable=True, clothing=None, permeability=None)
    assert why() == "outside"
    shown = page(signed_in("sander").get("/heat/"))
    assert "an impermeable suit is excluded by the standard" in shown
    assert "worn in a treatment unit" in shown.lower()


def test_the_lead_writes_how_warm_a_procedure_is_and_woven_clothing_needs_its_values(
    signed_in: Sign, version: Any
) -> None:
    said = {"procedure": version.procedure.slug, "metabolic": "165", "vapour": "woven", "reason": "maker's data"}

    refused = signed_in("ingrid").post("/heat/gear/", said)
    assert refused.status_code == 422
    assert "Needed for clothing that lets vapour through." in page(refused)
    assert signed_in("ingrid").post("/heat/gear/", said | {"vapour": "impermeable"}).status_code == 302
    assert HeatGear.objects.get().impermeable


def test_screening_keeps_to_the_family_that_published_it(signed_in: Sign) -> None:
    shown = page(signed_in("tomas").get("/heat/index/?wbgt=27&work=2&garment=vapour-barrier-hood&hood=on"))

    assert "Above a reference value: look closer." in shown
    assert "39 °C" in shown  # 27 + 11 + 1, of a family with reference values
    assert "no reference value of this family is held here: not compared" in shown
    assert "gives no minutes" in shown


@pytest.mark.parametrize(
    "asked",
    [
        "wbgt=nan&work=2&garment=work-clothes",
        "work=2&garment=work-clothes",
        "wbgt=20&globe=30&work=2&garment=work-clothes",
        "wbgt=20&work=9&garment=tinfoil",
    ],
)
def test_what_cannot_be_screened_is_refused(signed_in: Sign, asked: str) -> None:
    assert signed_in("ingrid").get(f"/heat/index/?{asked}").status_code == 422


def test_outside_the_model_there_is_no_figure_but_what_was_measured(signed_in: Sign) -> None:
    asked = "air=33&humidity=60&speed=0.1&metabolic=165&clothing=0.9&permeability=0.38&impermeable=on"
    shown = page(signed_in("ingrid").get(f"/heat/strain/?{asked}"))

    assert "No prediction: the model does not hold here." in shown
    assert "clothing, clo: an impermeable suit is excluded" in shown.replace("Clothing", "clothing")
    assert "65.7" in shown
    assert "The clock would be" not in shown


@pytest.mark.slow
def test_a_prediction_that_was_worked_out_is_kept_and_shortens_the_clock(
    signed_in: Sign, staff: dict[str, Any], version: Any, room: RoomVersion
) -> None:
    """Seconds: the library comes up."""
    wear(staff, version)
    signed_in("tomas").post("/heat/", READING)

    opened = clock_at_opening(120, version.procedure.slug, "room-1", timezone.now())
    assert opened.why == "shortened"
    assert opened.allowed.minutes < 60
    assert HeatFound.objects.count() == 1
    asked = "air=36&humidity=70&speed=0.1&metabolic=165&clothing=0.9&permeability=0.36"
    assert f"The clock would be {opened.allowed.minutes} minutes" in page(
        signed_in("ingrid").get(f"/heat/strain/?{asked}")
    )
