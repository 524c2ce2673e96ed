"""The real server in a process that can be killed, and what its record holds afterwards."""

from __future__ import annotations

import json
import os
import shutil
import signal
import socket
import subprocess
import sys
import time
import urllib.error
import urllib.request
from pathlib import Path
from typing import Any

VESTRY = [sys.executable, "-m", "vestry.cli"]

_IN_THE_HOSPITAL = """
import json, sys
from vestry.hospital.setting_up import set_up
set_up(sys.argv[1])
"""

_PREPARE = """
from django.utils import timezone
from vestry.hospital.access.models import User
from vestry.hospital.anteroom.tablets import new_code, set_badge
from vestry.hospital.desk.models import ProcedureVersion
from vestry.hospital.ids import uuid7
from vestry.hospital.record.models import Entry
from vestry.hospital.record.store import append
from vestry.entry import Event
now = timezone.now()
people = {one.sign_in: one for one in User.objects.all()}
version = ProcedureVersion.objects.order_by("at").first()
for name in ("tomas", "sander"):
    set_badge(people[name], "HP-" + name, "482913", now)
entry = Entry.objects.create(version=version, wearer=people["noor"], observer=people["tomas"],
                             assistant=people["petra"], drill=True, created_at=now)
append(entry, [Event(str(uuid7()), str(entry.pk), "opened", {"wearer": "noor", "observer": "tomas", "drill": True},
                     "tomas", "0d5c1a52-5d43-4f0a-9b1a-2f6e5b7c8d90", now.isoformat(timespec="milliseconds"), 1,
                     version.plan_hash)], now)
print(json.dumps({"entry": str(entry.pk), "codes": [new_code("Tablet %d" % n, people["ingrid"], now) for n in (1, 2)]}))
"""

_RECORD = """
from vestry.hospital.record.chain import broken_at
from vestry.hospital.record.models import Entry, Event
from vestry.hospital.record.store import state_of
entry = Entry.objects.get(pk=sys.argv[2])
rows = Event.objects.filter(entry=entry).order_by("sequence")
print(json.dumps({
    "events": [[str(row.client_id), str(row.device), row.device_counter, row.kind] for row in rows],
    "state": state_of(entry).as_json(), "broken": broken_at(),
}))
"""


def filled(folder: Path) -> Path:
    """The invented hospital in a folder; made once, and copied for each run."""
    environment = {name: value for name, value in os.environ.items() if not name.startswith("DJANGO")}
    subprocess.run(
        [*VESTRY, "demo", "--data", str(folder)], check=True, env=environment, capture_output=True, timeout=300
    )
    return folder


class Server:
    """One run's hospital. `kill` is kill -9; `start` starts it again on the same port."""

    def __init__(self, template: Path, folder: Path) -> None:
        shutil.copytree(template, folder)
        self.data, self.port, self.process = folder, _free_port(), None
        self.log = (folder / "server.log").open("a")

    @property
    def address(self) -> str:
        return f"http://127.0.0.1:{self.port}"

    def prepare(self) -> dict[str, Any]:
        """An open entry, badges, and two codes for tablets."""
        return _asked(_PREPARE, self.data)

    def record(self, entry: str) -> dict[str, Any]:
        """The events of an entry in the server's order, the state that Python folds, and where the chain breaks."""
        return _asked(_RECORD, self.data, entry)

    def start(self) -> None:
        environment = {name: value for name, value in os.environ.items() if not name.startswith("DJANGO")}
        self.process = subprocess.Popen(
            [*VESTRY, "serve", "--data", str(self.data), "--port", str(self.port)],
            env=environment, stdout=self.log, stderr=self.log, start_new_session=True,
        )  # fmt: skip
        for _ in range(600):
            assert self.process.poll() is None, "the server ended"
            try:
                with urllib.request.urlopen(f"{self.address}/sign-in/", timeout=10):
                    return
            except (urllib.error.URLError, OSError):
                time.sleep(0.1)
        raise AssertionError("the server did not answer")

    def kill(self) -> None:
        """As a power cut does: master and worker at once, in the middle of whatever they do."""
        if self.process is not None and self.process.poll() is None:
            os.killpg(self.process.pid, signal.SIGKILL)
            self.process.wait(30)

    def end(self) -> None:
        self.kill()
        self.log.close()


def _asked(code: str, data: Path, *more: str) -> dict[str, Any]:
    environment = {name: value for name, value in os.environ.items() if not name.startswith("DJANGO")}
    done = subprocess.run(
        [sys.executable, "-c", _IN_THE_HOSPITAL + code, str(data), *more],
        capture_output=True, text=True, env=environment, timeout=120,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    return dict(json.loads(done.stdout.splitlines()[-1]))


def _free_port() -> int:
    with socket.socket() as trial:
        trial.bind(("127.0.0.1", 0))
        return int(trial.getsockname()[1])
