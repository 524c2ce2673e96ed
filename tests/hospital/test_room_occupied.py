"""A room in which an entry is led, or that was left lately, is to be looked at; closing never makes it worse."""

from __future__ import annotations

import datetime
import itertools
from decimal import Decimal
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils import timezone
from tests.hospital.test_ready import links, named  # noqa: F401  a fixture

from vestry.hospital.desk.ready_here import _rooms
from vestry.hospital.record.models import Entry
from vestry.hospital.record.store import say
from vestry.hospital.rooms.mapper import operations, rooms
from vestry.hospital.rooms.models import RoomCheck, RoomVersion
from vestry.hospital.rooms.occupied import Occupied, _by_air, occupied
from vestry.trade import load_catalogue

pytestmark = pytest.mark.django_db
DEVICE = "01936f2f-0000-7000-8000-00000000d001"
MINUTE = datetime.timedelta(minutes=1)


@pytest.fixture
def led(staff: dict[str, Any], version: Any) -> Any:
    """Enters a room on the register, and leads an entry there as far as it is told: (kind, minutes ago)."""

    def lead(code: str, *told: tuple[str, int], drill: bool = False) -> Entry:
        now = timezone.now()
        if not RoomVersion.objects.filter(code=code).exists():
            RoomVersion.objects.create(
                code=code,
                name=code,
                kind="isolation-new",
                ach=12,
                mixing=Decimal(1),
                reason="-",
                by=staff["ingrid"],
                at=now,
            )
            RoomCheck.objects.create(
                code=code, measure="pressure", value=-5, written="-5 Pa", within=True, operations=operations().digest,
                by=staff["ingrid"], at=now,
            )  # fmt: skip
        entry = Entry.objects.create(
            version=version, wearer=staff["noor"], observer=staff["tomas"], assistant=staff["petra"], room=code,
            drill=drill, created_at=now - 600 * MINUTE,
        )  # fmt: skip
        tell(entry, ("opened", 590), *told)
        return entry

    return lead


def tell(entry: Entry, *told: tuple[str, int]) -> None:
    now = timezone.now()
    say(entry, "tomas", DEVICE, [(kind, {"reason": "-"}, now - ago * MINUTE) for kind, ago in told], now)


def taken() -> Occupied:
    return occupied(rooms(), timezone.now())


def room_of(hazard: str) -> tuple[str, list[str], list[str]]:
    found = links(hazard)["room"]
    if found.state == "ready":  # what is told then is of the days ahead
        return "ready", [], []
    return found.state, [one.id for one in found.why], [one.id for one in found.mend]


def test_a_room_is_in_use_until_its_entry_is_closed_and_then_not_cleared_until_its_turnaround_is_over(
    named: str,  # noqa: F811
    led: Any,
):
    entry = led("room-1", ("entered", 300))
    assert room_of(named) == ("watch", ["room-in-use"], ["clear-a-room"])

    tell(entry, ("left", 5))
    assert room_of(named)[1] == ["room-in-use"]
    tell(entry, ("closed", 1))
    assert room_of(named) == ("watch", ["room-not-cleared"], ["clear-a-room"])

    Entry.objects.update(left_at=timezone.now() - 500 * MINUTE)
    assert room_of(named) == ("ready", [], [])


def test_another_room_that_is_free_is_taken_and_a_drill_takes_none(named: str, led: Any):  # noqa: F811
    led("room-1", ("entered", 30))
    led("room-2", ("entered", 30), drill=True)

    assert set(taken().in_use) == {"room-1"}
    assert room_of(named)[0] == "ready"


def test_the_wait_for_the_air_counts_where_the_air_matters_or_may():
    hazards = load_catalogue().hazards

    assert [_by_air(hazards[one], ()) for one in ("lassa", "mers", "suspected-hcid")] == [False, True, True]
    assert _by_air(hazards["lassa"], ("aerosol-generating",))
    assert _by_air(None, ())


def test_a_room_is_ready_when_air_and_turnaround_are_over_and_no_sooner(led: Any, staff: dict[str, Any]):
    led("room-1", ("entered", 300), ("left", 5), ("closed", 1))
    left = Entry.objects.get().left_at
    with_air = taken().ready_at["room-1"]
    RoomVersion.objects.create(
        code="room-1",
        name="-",
        kind="isolation-new",
        mixing=Decimal(1),
        reason="-",
        by=staff["ingrid"],
        at=timezone.now(),
    )
    without = taken().ready_at["room-1"]

    assert with_air - without == 35 * MINUTE  # ln(1000) / 12 an hour: 34.5 minutes, rounded up
    assert occupied(rooms(), without - MINUTE).ready_at
    assert not occupied(rooms(), without).ready_at
    assert without > left


def test_a_room_in_use_is_expected_after_the_limit_undressing_and_its_turnaround(led: Any, version: Any):
    """Slow: 35 minutes for the air, cleaning 90, contact 15, restocking 40, a last look 20."""
    limit, doff, turning = version.approved["plan"]["policy"]["limit-minutes"], 8, 200
    for number, told in enumerate(
        ((("entered", 30),), (("entered", limit + 500),), (), (("entered", 90), ("left", 40)))
    ):
        led(f"room-{number}", *told)
    now = timezone.now()

    free = {code: round((at - now) / MINUTE) for code, at in taken().in_use.items()}
    assert free == {
        "room-0": limit - 30 + doff + turning,
        "room-1": doff + turning,  # over the limit: reckoned from now
        "room-2": limit + doff + turning,  # not in yet
        "room-3": turning - 40,  # out, and the entry is not closed
    }


def test_closing_an_entry_never_makes_its_room_worse(led: Any):
    gone = [(), (("entered", 300),), (("entered", 300), ("left", 5)), (("entered", 3000), ("left", 2900))]
    made = {
        led(f"room-{n}", *told): end for n, (told, end) in enumerate(itertools.product(gone, ("closed", "abandoned")))
    }
    before = taken()
    for entry, end in made.items():
        tell(entry, (end, 1))
    after = taken()

    assert set(before.in_use) == {entry.room for entry in made}
    assert not before.ready_at
    assert set(after.in_use) | set(after.ready_at) < set(before.in_use)
    assert set(after.in_use) == {"room-2", "room-3"}  # nobody said that they are out
    assert set(after.ready_at) == {"room-4", "room-5"}


def test_the_queries_do_not_grow_with_entries_and_rooms(led: Any):
    def queries() -> int:
        with CaptureQueriesContext(connection) as caught:
            found = _rooms()
        assert any(one.free is not None for one in found or ())
        return len(caught)

    led("room-1", ("entered", 30))
    few = queries()
    for n in range(6):
        led(f"room-{n % 3}", ("entered", 40), *((("left", 10), ("closed", 1)) if n % 2 else ()))

    assert queries() == few
