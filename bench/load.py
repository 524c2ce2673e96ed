"""Sixty entries at once on the real server: how many events a second, how long an upload takes, and that none is lost.

Each entry has a tablet of its own, enrolled and identified through the pages that tablets use, with its bundle. It
sends what its observer presses through the upload that tablets use: a press at a time, or many where the network was
gone; some uploads again, as after an answer that was lost, some after the next one. Boards poll meanwhile.
"""

from __future__ import annotations

import contextlib
import http.client
import json
import random
import threading
import time
from collections import Counter
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import ExitStack
from dataclasses import dataclass, field
from typing import Any

from tools.postgresql import NoPostgreSQL, running

from bench.inside import PIN
from bench.measured import Floor, Measured, Resources, Table, at_share, ms, times
from bench.served import Served, served
from bench.size import Size

SEED = 2027
GAP, GATHERED, AT_ONCE = 0.3, (5, 40), 50
"""Three uploads in ten are after a gap in the network, with so many presses; a tablet sends so many events at once."""
AGAIN, LATE = 0.05, 0.05
IN_A_ROW = 8
"""Uploads of each tablet before as many bare rows of each are sent, and so on in turn."""
BOARDS, POLLED_EVERY = 4, 5.0
ALONE = 60
IDLE = 10
"""Seconds after which a connection is opened anew: the server closes one that says nothing for thirty."""
WANTED = 60
"""Events a second: each of sixty observers presses once a second. Set before the first run."""
Document = dict[str, Any]


@dataclass
class Tablet:
    """A tablet with its connection, and the uploads that it will make."""

    entry: str
    hospital: Served
    connection: http.client.HTTPConnection
    identity: str = ""
    headers: dict[str, str] = field(default_factory=dict)
    uploads: list[list[Document]] = field(default_factory=list)
    took: list[float] = field(default_factory=list)
    bare: list[float] = field(default_factory=list)
    told: Counter[str] = field(default_factory=Counter)
    asked_at: float = 0.0

    def ask(self, path: str, body: Any = None) -> Any:
        """The answer as JSON. RuntimeError where it is not a plain yes."""
        text = None if body is None else json.dumps(body)
        headers = self.headers | ({} if body is None else {"Content-Type": "application/json"})
        if time.monotonic() - self.asked_at > IDLE:
            self.connection.close()  # the server may have closed it; it opens anew by itself
        self.connection.request("GET" if body is None else "POST", path, text, headers)
        answer = self.connection.getresponse()
        read = answer.read()
        self.asked_at = time.monotonic()
        if answer.status != 200:
            raise RuntimeError(f"{path}: {answer.status} {read[:300]!r}")
        return json.loads(read) if answer.getheader("Content-Encoding") is None else None

    def upload(self, events: list[Document]) -> float:
        """Send, and count what was told. Seconds."""
        begun = time.perf_counter()
        answer = self.ask(f"/tablet/entries/{self.entry}/events/", {"events": events})
        took = time.perf_counter() - begun
        for word in ("taken", "known", "refused"):
            self.told[word] += len(answer[word])
        return took

    def one_row(self, events: list[Document]) -> float:
        """The same document to the bare view. Seconds."""
        begun = time.perf_counter()
        self.ask("/bare/", {"events": events})
        return time.perf_counter() - begun


def measure(size: Size) -> Measured:
    """On each database."""
    used = Resources()
    rows, alone, floors, unequal = [], [], [], []
    for database in size.databases:
        try:
            with ExitStack() as stack:
                address = stack.enter_context(running()) if database == "PostgreSQL" else ""
                found = run(stack.enter_context(served(address)), size.entries)
        except NoPostgreSQL as missing:
            unequal.append(f"PostgreSQL: {missing}")
            continue
        rows.append((database, *found.row()))
        alone.append((database, *found.alone_row()))
        unequal += [f"{database}: {problem}" for problem in found.problems]
        wanted = round(WANTED * size.entries / WHOLE_ENTRIES)
        floors.append(
            Floor(
                f"load on {database}: events a second, {size.entries} entries at once",
                f"at least {wanted}, one press a second of each",
                f"{found.a_second:.0f}",
                found.a_second >= wanted,
            )
        )
    said = (
        f"{size.entries} entries at once on the server as `vestry serve` starts it, each led to its end along an "
        "approved procedure of the invented hospital; three in ten stop on the way out and follow an approved answer. "
        "Each entry has an enrolled tablet that has fetched its bundle. The load comes from the same machine.",
        f"{GAP:.0%} of uploads gather {GATHERED[0]} to {GATHERED[1]} presses, as after a gap in the "
        f"network; {AGAIN:.0%} are sent twice, {LATE:.0%} after the next one. {BOARDS} boards ask "
        f"every {POLLED_EVERY:g} s.",
        f"In turn, {IN_A_ROW} uploads of each tablet and as many rows through a bare view of the same server: it takes "
        "the same document, writes it as one row in one transaction, and stands behind the same middleware. Under load "
        "a request waits for those before it, the bare one too; alone, one tablet asks and nobody else.",
        "Afterwards, from the database: every event that was sent is there once, with the content that was sent; the "
        "link of each device's own chain is what the device made; the state folded from the record is the state folded "
        "from the presses in the order in which they were made; the chain of the record holds.",
    )
    head = ("database", "uploads", "events", "events a second", "upload p50, ms", "p95, ms", "bare p50, ms", "p95, ms")
    head += ("ratio p50", "p95", "board p95, ms")
    few = ("database", "uploads", "p50, ms", "p95, ms", "bare p50, ms", "p95, ms", "ratio p50", "p95")
    tables = (Table("All at once", head, tuple(rows)), Table("One tablet alone, a press an upload", few, tuple(alone)))
    return Measured("load", "Sixty entries at once", said, tuple(floors), tables, tuple(unequal), used.used())


WHOLE_ENTRIES = 60


@dataclass
class Found:
    """Seconds are of the whole; `boards` of each answer to a board."""

    tablets: list[Tablet]
    seconds: float
    boards: list[float]
    alone: tuple[list[float], list[float]]
    problems: list[str]

    @property
    def a_second(self) -> float:
        """New events stored a second while uploads were sent."""
        return sum(one.told["taken"] for one in self.tablets) / self.seconds

    def row(self) -> tuple[str, ...]:
        ours, bare = (sorted(each for one in self.tablets for each in getattr(one, name)) for name in ("took", "bare"))
        events = sum(one.told["taken"] for one in self.tablets)
        return (
            str(len(ours)),
            str(events),
            f"{self.a_second:.0f}",
            *_beside(ours, bare),
            ms(at_share(sorted(self.boards), 0.95)),
        )

    def alone_row(self) -> tuple[str, ...]:
        ours, bare = map(sorted, self.alone)
        return (str(len(ours)), *_beside(ours, bare))


def _beside(ours: list[float], bare: list[float]) -> tuple[str, ...]:
    both = [(at_share(ours, share), at_share(bare, share)) for share in (0.5, 0.95)]
    (half, half_bare), (most, most_bare) = both
    return ms(half), ms(most), ms(half_bare), ms(most_bare), times(half / half_bare), times(most / most_bare)


def run(hospital: Served, entries: int) -> Found:
    """So many entries at once, and one alone."""
    opened = hospital.inside("exercise", entries=entries + 1, seed=SEED)
    with ThreadPoolExecutor(8) as pool:
        tablets = list(pool.map(lambda one: _enrolled(hospital, one), opened["entries"]))
    said = hospital.inside("presses", devices={one.entry: one.identity for one in tablets}, seed=SEED)
    chance = random.Random(SEED)
    *many, single = tablets
    for one in many:
        one.uploads = list(_uploads(said[one.entry]["presses"], chance))
    alone = _alone(single, said[single.entry]["presses"])
    boards: list[float] = []
    with _polling(hospital, opened["sessions"][:BOARDS], boards):
        seconds = _all_at_once(many)
    for one in tablets:
        one.connection.close()
    return Found(many, seconds, boards, alone, list(_problems(hospital, tablets, said)))


def _enrolled(hospital: Served, one: Document) -> Tablet:
    """Enrolled by its code, someone identified, and the bundle fetched, as a tablet does it."""
    tablet = Tablet(one["entry"], hospital, hospital.connection())
    told = tablet.ask("/tablet/enrol/", {"code": one["code"]})
    tablet.identity = told["tablet"]
    tablet.headers = {"Authorization": f"Vestry-Tablet {told['token']}"}
    known = tablet.ask("/tablet/identify/", {"badge": one["badge"], "pin": PIN})
    tablet.headers["Vestry-Identified"] = known["identified"]
    bundle = tablet.ask(f"/tablet/entries/{tablet.entry}/bundle/")
    if bundle["entry"] != tablet.entry:
        raise RuntimeError("the bundle of another entry")
    return tablet


def _uploads(presses: list[list[Document]], chance: random.Random) -> Iterator[list[Document]]:
    """The presses as they are sent: by one, gathered, twice, and after the next."""
    whole: list[list[Document]] = []
    left = list(presses)
    while left:
        together = chance.randint(*GATHERED) if chance.random() < GAP else 1
        events = [event for press in left[:together] for event in press]
        left = left[together:]
        whole += [events[first : first + AT_ONCE] for first in range(0, len(events), AT_ONCE)]
    for number in range(len(whole) - 1):
        if chance.random() < LATE:
            whole[number], whole[number + 1] = whole[number + 1], whole[number]
    for events in whole:
        yield events
        if chance.random() < AGAIN:
            yield events


def _alone(tablet: Tablet, presses: list[list[Document]]) -> tuple[list[float], list[float]]:
    """Nobody else asks: a press and a bare row in turn; then the rest at once."""
    ours, bare = [], []
    for press in presses[:ALONE]:
        ours.append(tablet.upload(press))
        bare.append(tablet.one_row(press))
    rest = [event for press in presses[ALONE:] for event in press]
    for first in range(0, len(rest), AT_ONCE):
        tablet.upload(rest[first : first + AT_ONCE])
    return ours, bare


def _all_at_once(tablets: list[Tablet]) -> float:
    """Every tablet sends all that it has; the seconds in which uploads were sent."""
    most = max(len(one.uploads) for one in tablets)
    seconds = 0.0
    with ThreadPoolExecutor(len(tablets)) as pool:
        for first in range(0, most, IN_A_ROW):
            begun = time.perf_counter()
            list(
                pool.map(
                    lambda one, first=first: one.took.extend(map(one.upload, one.uploads[first : first + IN_A_ROW])),
                    tablets,
                )
            )
            seconds += time.perf_counter() - begun
            list(
                pool.map(
                    lambda one, first=first: one.bare.extend(map(one.one_row, one.uploads[first : first + IN_A_ROW])),
                    tablets,
                )
            )
    return seconds


@contextlib.contextmanager
def _polling(hospital: Served, sessions: list[str], took: list[float]) -> Iterator[None]:
    """Boards that ask as the board's own page asks, with the tag of what they show."""
    ended = threading.Event()
    failed: list[str] = []

    def poll(session: str) -> None:
        connection, tag = hospital.connection(), ""
        while True:
            begun = time.perf_counter()
            connection.request(
                "GET", "/board/now/", headers={"Cookie": f"vestry-session={session}", "If-None-Match": tag}
            )
            answer = connection.getresponse()
            answer.read()
            took.append(time.perf_counter() - begun)
            tag = answer.getheader("ETag") or tag
            if answer.status not in (200, 304):
                failed.append(str(answer.status))
            if ended.wait(POLLED_EVERY):
                connection.close()
                return

    boards = [threading.Thread(target=poll, args=(one,)) for one in sessions]
    for one in boards:
        one.start()
    try:
        yield
    finally:
        ended.set()
        for one in boards:
            one.join()
    if failed:
        raise RuntimeError(f"the board answered {', '.join(sorted(set(failed)))}")


def _problems(hospital: Served, tablets: list[Tablet], said: dict[str, Document]) -> Iterator[str]:
    """Where the record is not what was sent."""
    record = hospital.inside("record", devices={one.entry: one.identity for one in tablets})
    yield from (f"the record: {problem}" for problem in record["problems"])
    for tablet in tablets:
        sent = {event["id"]: event for press in said[tablet.entry]["presses"] for event in press}
        held = record["entries"][tablet.entry]
        stored = Counter(event["id"] for event in held["events"])
        lost, doubled = set(sent) - set(stored), [one for one, often in stored.items() if often > 1]
        strange = set(stored) - set(sent)
        if lost or doubled or strange:
            yield f"{tablet.entry}: {len(lost)} lost, {len(doubled)} doubled, {len(strange)} that nobody sent"
        if any(event != sent.get(event["id"]) for event in held["events"]):
            yield f"{tablet.entry}: an event says something else than was sent"
        taken, refused = tablet.told["taken"], tablet.told["refused"]
        if taken != len(sent) or refused:
            yield f"{tablet.entry}: {taken} told as taken of {len(sent)}, {refused} refused"
        if held["link"] != said[tablet.entry]["link"]:
            yield f"{tablet.entry}: its device's chain ends otherwise"
        if held["state"] != said[tablet.entry]["state"]:
            yield f"{tablet.entry}: the record folds to another state than the presses"
        stage, position, folded, rows = held["cached"]
        if (stage, position, folded) != (held["state"]["stage"], held["state"]["position"], rows):
            yield f"{tablet.entry}: what is listed of it is not its state"
