"""Verifying a record: whether its chains hold, and what no chain can say.

A row is what the server keeps of an event (docs/reference/record-export.md). A row without `said` and `salt` is
withheld: it belongs to another entry, or was purged; its commitment still holds its place.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import asdict, dataclass, field, replace
from typing import Any, Literal

from vestry.entry.chains import FIRST, commitment_of, hash_of, link_of

_HASH = re.compile(r"[0-9a-f]{64}")
_SALT = re.compile(r"[0-9a-f]{32}")
_KEPT = frozenset({"sequence", "previous", "server-time", "commitment", "device-previous", "link", "hash"})
_SAID = frozenset({"salt", "said"})
_FIELDS = frozenset({"id", "entry", "kind", "payload", "actor", "device", "clock", "counter", "plan"})

What = Literal["unreadable", "missing", "order", "twice", "changed", "device", "heads", "anchor"]

CANNOT = (
    "events cut off before the first or after the last of a run of events, where no printed head names them and the "
    "heads in the file were cut with them",
    "a record made anew as a whole, with new hashes, by someone who can write the database: a head printed before says "
    "so, the chain alone does not",
    "whether a withheld place is another entry's, was purged, or was left out of this file",
    "what was never recorded, and what was recorded falsely at the time",
    "names, titles and rooms in the head of the file: they stand beside the chain",
)
"""What a chain alone cannot find, in words."""


@dataclass(frozen=True)
class Finding:
    """Something that does not fit. `sequence`: the row by the server's number, where it has one."""

    what: What
    sequence: int | None
    says: str


@dataclass(frozen=True)
class DeviceHead:
    """The last link of a device in an entry: an anchor. `counter` is the device's own number of that event."""

    entry: str
    device: str
    counter: int
    events: int
    link: str


@dataclass(frozen=True)
class Part:
    """Rows without a gap: the hash before the first, its number, and number and hash of the last."""

    before: str
    first: int
    last: int
    head: str


@dataclass(frozen=True)
class Verified:
    """What was found. `anchored`: the highest of the server's numbers that an anchor given vouches for.

    parts      runs of rows without a gap; one, unless the file itself states more
    unchained  events of devices that keep no chain of their own
    """

    findings: tuple[Finding, ...]
    events: int
    withheld: int
    unchained: int
    parts: tuple[Part, ...]
    devices: tuple[DeviceHead, ...]
    anchored: int | None = None

    @property
    def holds(self) -> bool:
        """Whether nothing was found."""
        return not self.findings


@dataclass
class _Walk:
    """One walk along the rows."""

    findings: list[Finding] = field(default_factory=list)
    hashes: dict[str, int] = field(default_factory=dict)
    ids: set[str] = field(default_factory=set)
    chained: dict[tuple[str, str], list[Mapping[str, Any]]] = field(default_factory=dict)
    purged: dict[str, str] = field(default_factory=dict)
    events: int = 0
    withheld: int = 0
    unchained: int = 0
    parts: list[tuple[Mapping[str, Any], Mapping[str, Any]]] = field(default_factory=list)
    begins: frozenset[int] = frozenset()
    from_the_first: bool = False
    last: Mapping[str, Any] | None = None

    def found(self, what: What, sequence: int | None, says: str) -> None:
        self.findings.append(Finding(what, sequence, says))


def verify(
    rows: Iterable[Any], heads: Any = None, anchors: Sequence[str] = (), *, from_the_first: bool = False
) -> Verified:
    """Walk the rows of a record in the server's order.

    heads    those that the file itself states (`heads_of`); None: it states none
    anchors  heads that were printed or exported before: hashes of the server or links of devices
    from_the_first   the rows are a whole record: they begin with number 1
    """
    walk = _Walk(begins=_begins(heads), from_the_first=from_the_first)
    for place, row in enumerate(rows, 1):
        _row(walk, row, place)
    devices = _devices(walk)
    anchored = _anchors(walk, devices, anchors)
    found = Verified(
        findings=(),
        events=walk.events,
        withheld=walk.withheld,
        unchained=walk.unchained,
        parts=tuple(Part(a["previous"], a["sequence"], b["sequence"], b["hash"]) for a, b in walk.parts),
        devices=devices,
        anchored=anchored,
    )
    if heads is not None and heads != heads_of(found):
        walk.found("heads", None, "the heads that the file states are not those of its events: something was cut off")
    return replace(found, findings=tuple(walk.findings))


def _begins(heads: Any) -> frozenset[int]:
    """Where the file says that another part begins. It is held to it by `heads_of`."""
    try:
        return frozenset(one["before"]["sequence"] + 1 for one in heads["parts"])
    except (TypeError, KeyError):
        return frozenset()


def heads_of(found: Verified) -> dict[str, Any]:
    """The heads of a record, as a file of it states them."""
    return {
        "parts": [
            {
                "before": {"sequence": one.first - 1, "hash": one.before},
                "last": {"sequence": one.last, "hash": one.head},
            }
            for one in found.parts
        ],
        "devices": [asdict(one) for one in found.devices],
    }


def _row(walk: _Walk, row: Any, place: int) -> None:
    wrong = _shape(row)
    if wrong:
        walk.found("unreadable", None, f"row {place} of the file: {wrong}")
        return
    sequence, before = row["sequence"], walk.last
    if sequence == 1 and row["previous"] != FIRST:
        walk.found("missing", sequence, "the first event of a record has none before it; this one names one")
    if before is None and walk.from_the_first and sequence > 1:
        walk.found("missing", sequence, f"{sequence - 1} before it are not there")
    if before is None or (sequence > before["sequence"] + 1 and sequence in walk.begins):
        walk.parts.append((row, row))
        before = None
    elif sequence == before["sequence"]:
        walk.found("twice", sequence, "the same place twice")
    elif sequence < before["sequence"]:
        walk.found("order", sequence, f"stands after {before['sequence']}")
    elif sequence > before["sequence"] + 1:
        lost = sequence - before["sequence"] - 1
        walk.found("missing", sequence, f"{lost} before it {'is' if lost == 1 else 'are'} not there")
    if before is not None and row["previous"] != before["hash"]:
        walk.found("order", sequence, "does not follow on the one before it")
    walk.last = row
    walk.parts[-1] = (walk.parts[-1][0], row)
    if row["hash"] in walk.hashes:
        walk.found("twice", sequence, "the same hash twice")
    walk.hashes[row["hash"]] = sequence
    if _made(hash_of, sequence, row["previous"], row["server-time"], row["commitment"], row["link"]) != row["hash"]:
        walk.found("changed", sequence, "order, time, commitment or link is not what was chained")
    _link(walk, row)
    if "said" in row:
        _said(walk, row)
    else:
        walk.withheld += 1


def _link(walk: _Walk, row: Mapping[str, Any]) -> None:
    previous, link = row["device-previous"], row["link"]
    if (previous is None) != (link is None):
        walk.found("device", row["sequence"], "the device's link and what it was made of do not belong together")
    elif previous is not None and link_of(previous, row["commitment"]) != link:
        walk.found("device", row["sequence"], "the device's link is not that of what it said")
    elif previous is not None and "said" not in row:
        walk.purged[link] = previous


def _said(walk: _Walk, row: Mapping[str, Any]) -> None:
    walk.events += 1
    sequence, said = row["sequence"], row["said"]
    if said["id"] in walk.ids:
        walk.found("twice", sequence, f"event {said['id']} twice")
    walk.ids.add(said["id"])
    if _made(commitment_of, row["salt"], said) != row["commitment"]:
        walk.found("changed", sequence, f"what event {said['id']} says is not what was committed to")
    if row["link"] is None:
        walk.unchained += 1
    else:
        walk.chained.setdefault((said["entry"], said["device"]), []).append(row)


def _made(how: Callable[..., str], *parts: Any) -> str | None:
    """A hash made anew; None where there is a number or text in it that canonical JSON cannot say."""
    try:
        return how(*parts)
    except (ValueError, RecursionError):
        return None


def _devices(walk: _Walk) -> tuple[DeviceHead, ...]:
    """Each device's own chain in each entry, by its counter; what was purged is stepped over, link by link."""
    heads = []
    for (entry, device), rows in sorted(walk.chained.items()):
        link = FIRST
        rows.sort(key=lambda one: int(one["said"]["counter"]))
        counters = [one["said"]["counter"] for one in rows]
        for row, counter in zip(rows, counters, strict=True):
            before = row["device-previous"]
            while before != link and before in walk.purged:
                before = walk.purged.pop(before)
            if before != link:
                walk.found(
                    "device", row["sequence"], f"number {counter} of its device does not follow on the one before"
                )
            link = row["link"]
        if len(set(counters)) < len(counters):
            walk.found("twice", rows[-1]["sequence"], f"device {device} has one number twice")
        heads.append(DeviceHead(entry, device, counters[-1], len(rows), link))
    return tuple(heads)


def _anchors(walk: _Walk, devices: tuple[DeviceHead, ...], anchors: Sequence[str]) -> int | None:
    links = {row["link"]: row["sequence"] for rows in walk.chained.values() for row in rows}
    known = links | walk.hashes
    for first, _ in walk.parts:
        known.setdefault(first["previous"], first["sequence"] - 1)
    reached = None
    for anchor in anchors:
        if anchor in known:
            reached = max(reached or 0, known[anchor])
        else:
            walk.found(
                "anchor", None, f"the head {anchor[:16]} is not in this record: events were cut off or made anew"
            )
    return reached


def _shape(row: Any) -> str:
    """What is wrong with the shape of a row; empty where nothing is."""
    if not isinstance(row, Mapping):
        return "a row is an object"
    names = frozenset(row)
    if names not in (_KEPT, _KEPT | _SAID):
        return f"a row has {', '.join(sorted(_KEPT))}, and {', '.join(sorted(_SAID))} or none of these"
    if not _whole(row["sequence"]) or row["sequence"] < 1:
        return "sequence is a whole number from 1"
    if not isinstance(row["server-time"], str):
        return "server-time is a text"
    may_lack = [row[name] for name in ("link", "device-previous") if row[name] is not None]
    hashes = [row["previous"], row["commitment"], row["hash"], *may_lack]
    if not all(isinstance(one, str) and _HASH.fullmatch(one) for one in hashes):
        return "hashes are 64 hexadecimal digits"
    if "said" not in row:
        return ""
    said = row["said"]
    if not isinstance(row["salt"], str) or not _SALT.fullmatch(row["salt"]):
        return "a salt is 32 hexadecimal digits"
    if not isinstance(said, Mapping) or frozenset(said) != _FIELDS:
        return f"what was said has {', '.join(sorted(_FIELDS))}"
    texts = [said[name] for name in _FIELDS - {"payload", "counter"}]
    if not all(isinstance(one, str) for one in texts) or not isinstance(said["payload"], Mapping):
        return "what was said is in texts, with an object as payload"
    return "" if _whole(said["counter"]) else "counter is a whole number"


def _whole(value: Any) -> bool:
    return isinstance(value, int) and not isinstance(value, bool)
