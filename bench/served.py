"""The invented hospital, really served, for a benchmark: its own folder, its own database, its own port on loopback.

It is served as `vestry serve` serves it, with the settings of bench/bare laid over: one page more, for the ratio.
"""

from __future__ import annotations

import contextlib
import functools
import http.client
import json
import os
import shutil
import socket
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

ROOT = Path(__file__).parent.parent
SETTINGS = "bench.bare.settings"
STARTS_WITHIN = 120


@dataclass(frozen=True)
class Served:
    """Where the hospital is served; `database` is the address of its PostgreSQL, empty for SQLite."""

    port: int
    data: Path
    database: str

    @property
    def address(self) -> str:
        return f"http://127.0.0.1:{self.port}"

    def connection(self) -> http.client.HTTPConnection:
        """A connection of one's own, kept open from one request to the next."""
        return http.client.HTTPConnection("127.0.0.1", self.port, timeout=120)

    def inside(self, what: str, **more: Any) -> Any:
        """Ask a process that has the hospital at hand (bench/inside.py)."""
        return _inside(self.data, self.database, what, more)


def _environment(data: Path, database: str) -> dict[str, str]:
    own = {name: value for name, value in os.environ.items() if not name.startswith(("DJANGO", "VESTRY"))}
    return own | {
        "VESTRY_DATA": str(data),
        "VESTRY_DATABASE": database,
        "DJANGO_SETTINGS_MODULE": SETTINGS,
        "PYTHONPATH": str(ROOT),
    }


def _inside(data: Path, database: str, what: str, more: dict[str, Any]) -> Any:
    asked = [sys.executable, "-m", "bench.inside", str(data), what]
    done = subprocess.run(
        asked, input=json.dumps(more), capture_output=True, text=True, check=False, cwd=ROOT,
        env=_environment(data, database),
    )  # fmt: skip
    if done.returncode:
        raise RuntimeError(f"{what}: {done.stderr[-2000:]}")
    return json.loads(done.stdout)


@functools.cache
def _template() -> Path:
    """The invented hospital in a folder of its own, made once and copied for each benchmark; gone with the process."""
    import atexit

    folder = Path(tempfile.mkdtemp(prefix="vestry-bench-"))
    atexit.register(shutil.rmtree, folder, ignore_errors=True)
    _fill(folder / "made", "")
    return folder / "made"


def _fill(data: Path, database: str) -> None:
    subprocess.run(
        [sys.executable, "-m", "vestry.cli", "demo", "--data", str(data)],
        check=True, capture_output=True, cwd=ROOT, env=_environment(data, database),
    )  # fmt: skip


@contextlib.contextmanager
def served(database: str = "") -> Iterator[Served]:
    """The hospital, filled and answering; ended and gone afterwards."""
    with tempfile.TemporaryDirectory(prefix="vestry-bench-") as place:
        data = Path(place) / "data"
        if database:
            _fill(data, database)
        else:
            shutil.copytree(_template(), data)
        with serving(data, database) as hospital:
            yield hospital


@contextlib.contextmanager
def serving(data: Path, database: str = "") -> Iterator[Served]:
    """A folder that is filled already, served as `vestry serve` does."""
    port = _free_port()
    with (data / "server.log").open("w") as log:
        server = subprocess.Popen(
            [sys.executable, "-m", "vestry.cli", "serve", "--data", str(data), "--port", str(port)],
            stdout=log, stderr=log, cwd=ROOT, env=_environment(data, database),
        )  # fmt: skip
        try:
            hospital = Served(port, data, database)
            _wait_for(hospital, server)
            yield hospital
        finally:
            server.terminate()
            server.wait(30)
    said = (data / "server.log").read_text("utf-8")
    if "Traceback" in said:
        raise RuntimeError(f"the server failed: {said[-2000:]}")


def _free_port() -> int:
    with socket.socket() as trial:
        trial.bind(("127.0.0.1", 0))
        return int(trial.getsockname()[1])


def _wait_for(hospital: Served, server: subprocess.Popen[bytes]) -> None:
    until = time.monotonic() + STARTS_WITHIN
    while time.monotonic() < until:
        if server.poll() is not None:
            raise RuntimeError((hospital.data / "server.log").read_text("utf-8"))
        with contextlib.suppress(OSError, http.client.HTTPException):
            connection = hospital.connection()
            connection.request("GET", "/sign-in/")
            if connection.getresponse().status == 200:
                return
        time.sleep(0.1)
    raise RuntimeError(f"the server did not answer within {STARTS_WITHIN} s")
