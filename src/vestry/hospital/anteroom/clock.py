"""The limit that an entry was opened with: what its event `opened` says, never above the unit's own."""

from __future__ import annotations

from vestry.entry.bundle import Clocks
from vestry.hospital.desk.mapper import approved_of
from vestry.hospital.record.models import Entry, Event
from vestry.hospital.rooms.heat_now import minutes_of, told


def clocks_of(entry: Entry) -> Clocks:
    """The clocks of an entry. Its limit is what was in force when it opened; later heat changes nothing in it."""
    policy = approved_of(entry.version_id).plan.policy
    opened = Event.objects.filter(entry=entry, kind="opened").order_by("sequence").first()
    said = {name: value for name, value in (opened.payload if opened else {}).items() if isinstance(value, str)}
    by = said.get("limit-by", "")
    minutes = minutes_of(said, policy.limit_minutes)
    return Clocks(
        limit_minutes=minutes,
        limit_source=policy.limit_source,
        policy_minutes=policy.limit_minutes,
        limit_by=by if by in ("core", "loss-most") and minutes < policy.limit_minutes else "policy",
        limit_why=said.get("limit-why", ""),
        limit_says=told(said, policy.limit_minutes),
    )
