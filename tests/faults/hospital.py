"""The real server in a process that can be killed, its disk and its database, and what its record holds afterwards."""

from __future__ import annotations

import contextlib
import json
import os
import random
import resource
import shutil
import signal
import socket
import sqlite3
import subprocess
import sys
import threading
import time
import urllib.error
import urllib.request
from pathlib import Path
from typing import Any

from tests.demonstration import environment

DATABASE = "db.sqlite3"
CODES = 4

_STAFF = """
from django.utils import timezone
from vestry.hospital.access.models import User
from vestry.hospital.anteroom.tablets import set_badge
for name in ("tomas", "sander"):
    set_badge(User.objects.get(sign_in=name), "HP-" + name, "482913", timezone.now())
answer = {}
"""

_PREPARE = f"""
from django.utils import timezone
from vestry.hospital.access.models import User
from vestry.hospital.anteroom.tablets import new_code
from vestry.hospital.desk.models import ProcedureVersion
from vestry.hospital.ids import uuid7
from vestry.hospital.record.models import Entry
from vestry.hospital.record.store import append
from vestry.entry import Event
now = timezone.now()
people = {{one.sign_in: one for one in User.objects.filter(sign_in__in=("noor", "tomas", "petra", "ingrid"))}}
version = ProcedureVersion.objects.order_by("at").first()
entry = Entry.objects.create(version=version, wearer=people["noor"], observer=people["tomas"],
                             assistant=people["petra"], drill=True, created_at=now)
append(entry, [Event(str(uuid7()), str(entry.pk), "opened", {{"wearer": "noor", "observer": "tomas", "drill": True}},
                     "tomas", "0d5c1a52-5d43-4f0a-9b1a-2f6e5b7c8d90", now.isoformat(timespec="milliseconds"), 1,
                     version.plan_hash)], now)
codes = [new_code("Tablet %d" % n, people["ingrid"], now) for n in range({CODES})]
answer = {{"entry": str(entry.pk), "codes": codes}}
"""

_RECORD = """
from vestry.hospital.record.chain import broken_at
from vestry.hospital.record.models import Entry, Event
from vestry.hospital.record.store import state_of
entry = Entry.objects.get(pk=%r)
rows = Event.objects.filter(entry=entry).order_by("sequence")
answer = {
    "events": [[str(row.client_id), str(row.device), row.device_counter, row.kind] for row in rows],
    "state": state_of(entry).as_json(), "broken": broken_at(),
}
"""


def staffed(hospital: Path, folder: Path) -> Path:
    """The hospital with those who lead given badges, in a folder to be copied for each run."""
    server = Server(hospital, folder)
    server._ask({"do": "ask", "code": _STAFF})
    server.end()
    return server.data


class Server:
    """The hospital of one run after the other. `kill` is kill -9; `start` starts it again on the same port.

    One process has Django loaded for all of them (zygote.py); the folder is the same, filled anew by `fresh`.
    """

    def __init__(self, template: Path, folder: Path, planted: str = "") -> None:
        self.template, self.data = template, folder
        self.port, self.pid = _free_port(), 0
        self.held: threading.Thread | None = None
        shutil.copytree(template, folder)
        self.zygote = subprocess.Popen(
            [sys.executable, "-m", "tests.faults.zygote", str(folder), *([planted] if planted else [])],
            stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True, env=environment(),
            cwd=Path(__file__).parents[2],
        )  # fmt: skip
        assert self._read()["ready"]

    @property
    def address(self) -> str:
        return f"http://127.0.0.1:{self.port}"

    def fresh(self) -> dict[str, Any]:
        """The template again: an open entry, badges, and codes for tablets."""
        shutil.rmtree(self.data)
        shutil.copytree(self.template, self.data)
        return self._ask({"do": "ask", "code": _PREPARE})

    def record(self, entry: str) -> dict[str, Any]:
        """The events of an entry in the server's order, the state that Python folds, and where the chain breaks."""
        return self._ask({"do": "ask", "code": _RECORD % entry})

    def start(self) -> None:
        if self.held:
            self.held.join()  # a start waits for the lock longer than anyone here would
        self.pid = self._ask({"do": "serve", "port": self.port})["pid"]
        until = time.monotonic() + 60
        while time.monotonic() < until:
            try:
                with urllib.request.urlopen(f"{self.address}/sign-in/", timeout=10):
                    return
            except (urllib.error.URLError, OSError):
                time.sleep(0.02)
        raise AssertionError("the server did not answer")

    def kill(self) -> None:
        """As a power cut does: master and worker at once, in the middle of whatever they do."""
        if self.pid:
            with contextlib.suppress(ProcessLookupError):
                os.killpg(self.pid, signal.SIGKILL)
            self._ask({"do": "ended", "pid": self.pid})
            self.pid = 0
            while not _free(self.port):  # the worker's end comes a moment after the master's
                time.sleep(0.01)

    def fill_disk(self, chance: random.Random) -> None:
        """No file of the server's may grow beyond a little more than its log of changes has; at times nothing at all.

        A write over that is refused or cut short by the system, as on a full disk.
        """
        written = self.data / f"{DATABASE}-wal"
        size = written.stat().st_size if written.exists() else 0
        self._limit(chance.choice((0, size, size + chance.randrange(1, 9000))))

    def free_disk(self) -> None:
        self._limit(resource.RLIM_INFINITY)

    def lock_database(self, seconds: float) -> None:
        """Another process's writer holds the database."""
        if self.held and self.held.is_alive():
            return

        def hold() -> None:
            other = sqlite3.connect(self.data / DATABASE, isolation_level=None, timeout=5)
            with contextlib.closing(other), contextlib.suppress(sqlite3.OperationalError):
                other.execute("BEGIN IMMEDIATE")
                time.sleep(seconds)
                other.execute("ROLLBACK")

        self.held = threading.Thread(target=hold)
        self.held.start()

    def complaints(self) -> list[str]:
        """Failures in the server's log that no full disk and no locked database explains."""
        text = (self.data / "server.log").read_text("utf-8", "replace")
        blocks = text.split("Traceback (most recent call last)")[1:]
        explained = ("OperationalError", "Disk", "File too large", "BrokenPipe", "ConnectionReset")
        return [block[-300:] for block in blocks if not any(one in block for one in explained)]

    def rest(self) -> None:
        """Between two runs."""
        self.kill()
        if self.held:
            self.held.join()

    def end(self) -> None:
        self.rest()
        assert self.zygote.stdin
        assert self.zygote.stdout
        self.zygote.stdin.close()
        self.zygote.wait(30)
        self.zygote.stdout.close()

    def _limit(self, size: int) -> None:
        for pid in _family(self.pid):
            with contextlib.suppress(ProcessLookupError):
                hard = resource.prlimit(pid, resource.RLIMIT_FSIZE)[1]
                resource.prlimit(pid, resource.RLIMIT_FSIZE, (size, hard))

    def _ask(self, document: dict[str, Any]) -> dict[str, Any]:
        assert self.zygote.stdin
        self.zygote.stdin.write(json.dumps(document) + "\n")
        self.zygote.stdin.flush()
        return self._read()

    def _read(self) -> dict[str, Any]:
        assert self.zygote.stdout
        line = self.zygote.stdout.readline()
        assert line, "the zygote ended"
        told = dict(json.loads(line))
        assert "failed" not in told, told
        return told


def _family(pid: int) -> list[int]:
    """A process and its children."""
    if not pid:
        return []
    try:
        children = Path(f"/proc/{pid}/task/{pid}/children").read_text("ascii").split()
    except OSError:
        return []
    return [pid, *map(int, children)]


def _free(port: int) -> bool:
    with socket.socket() as trial:
        trial.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            trial.bind(("127.0.0.1", port))
        except OSError:
            return False
    return True


def _free_port() -> int:
    with socket.socket() as trial:
        trial.bind(("127.0.0.1", 0))
        return int(trial.getsockname()[1])
