"""Verifying a record: whether its chains hold, and what no chain can say.

A row is what the server keeps of an event (docs/reference/record-export.md). A row without `said` and `salt` is
withheld: it belongs to another entry; its commitment still holds its place. A row with `left` in their stead had its
content removed lawfully, if an event of its entry says so (removing.py).
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import asdict, dataclass, field, replace
from typing import Any, Literal

from vestry.entry.chains import FIRST, commitment_of, hash_of, link_of
from vestry.entry.removing import REMOVED, Removal, digest_of, left_of, removal_of
from vestry.entry.rows import shape

What = Literal["unreadable", "missing", "order", "twice", "changed", "device", "heads", "anchor"]

CANNOT = (
    "events cut off before the first or after the last of a run of events, where no printed head names them and the "
    "heads in the file were cut with them",
    "a record made anew as a whole, with new hashes, by someone who can write the database: a head printed before says "
    "so, the chain alone does not",
    "whether a withheld place is another entry's, or was left out of this file",
    "whether a removal was lawful, or what it removed: only that it was said, when, and under which policy",
    "what was never recorded, and what was recorded falsely at the time",
    "of what was pressed on the plain pages, what the server itself left out: it makes the chain of those browsers",
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
    emptied    places whose content was removed; `removals` say on which day and under which policy
    """

    findings: tuple[Finding, ...]
    events: int
    withheld: int
    unchained: int
    parts: tuple[Part, ...]
    devices: tuple[DeviceHead, ...]
    anchored: int | None = None
    emptied: int = 0
    removals: tuple[Removal, ...] = ()

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
    links: dict[str, int] = field(default_factory=dict)
    left: dict[int, Mapping[str, Any]] = field(default_factory=dict)
    emptied: dict[int, Mapping[str, Any]] = field(default_factory=dict)
    removals: list[Removal] = field(default_factory=list)
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
    _removals(walk)
    anchored = _anchors(walk, devices, anchors)
    found = Verified(
        findings=(),
        events=walk.events,
        withheld=walk.withheld,
        unchained=walk.unchained,
        parts=tuple(Part(a["previous"], a["sequence"], b["sequence"], b["hash"]) for a, b in walk.parts),
        devices=devices,
        anchored=anchored,
        emptied=len(walk.emptied),
        removals=tuple(walk.removals),
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
    wrong = shape(row)
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
    elif "left" in row:
        _emptied(walk, sequence, row["left"])
    else:
        walk.withheld += 1


def _link(walk: _Walk, row: Mapping[str, Any]) -> None:
    previous, link = row["device-previous"], row["link"]
    if link is not None:
        walk.links[link] = row["sequence"]
    if (previous is None) != (link is None):
        walk.found("device", row["sequence"], "the device's link and what it was made of do not belong together")
    elif previous is not None and link_of(previous, row["commitment"]) != link:
        walk.found("device", row["sequence"], "the device's link is not that of what it said")
    elif previous is not None and "said" not in row:
        walk.purged[link] = previous


def _said(walk: _Walk, row: Mapping[str, Any]) -> None:
    walk.events += 1
    sequence, said = row["sequence"], row["said"]
    _once(walk, sequence, said["id"])
    walk.left[sequence] = left_of(said)
    if said["kind"] == REMOVED:
        removal = removal_of(sequence, said)
        if removal is None:
            walk.found("unreadable", sequence, "a removal that does not say which places, when and under which policy")
        else:
            walk.removals.append(removal)
    if _made(commitment_of, row["salt"], said) != row["commitment"]:
        walk.found("changed", sequence, f"what event {said['id']} says is not what was committed to")
    if row["link"] is None:
        walk.unchained += 1
    else:
        walk.chained.setdefault((said["entry"], said["device"]), []).append(row)


def _once(walk: _Walk, sequence: int, event: str) -> None:
    if event in walk.ids:
        walk.found("twice", sequence, f"event {event} twice")
    walk.ids.add(event)


def _emptied(walk: _Walk, sequence: int, left: Mapping[str, Any]) -> None:
    _once(walk, sequence, left["id"])
    walk.left[sequence] = walk.emptied[sequence] = left


def _removals(walk: _Walk) -> None:
    """Whether every place without content is named by a removal of its own entry, and is as that left it."""
    by_entry: dict[str, list[Removal]] = {}
    for removal in walk.removals:
        by_entry.setdefault(removal.entry, []).append(removal)
        named = removal.numbers() if removal.places <= len(walk.left) else None
        if named is None or not all(number in walk.left for number in named):
            walk.found("missing", removal.sequence, "places whose content it says was removed are not there")
        elif _made(digest_of, [(number, walk.left[number]) for number in named]) != removal.left:
            walk.found("changed", removal.sequence, "what is left of the places that it names is not what was left")
    for sequence, left in walk.emptied.items():
        if not any(one.names(sequence) for one in by_entry.get(left["entry"], ())):
            walk.found("changed", sequence, "what it said is gone, and no removal of its entry names it")


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
    known = walk.links | walk.hashes
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
