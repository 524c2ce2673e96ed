"""A PostgreSQL of one's own for as long as it is needed: Debian's programs, a fresh folder, a socket in it and no port.

PostgreSQL does not run as root. Where root asks, its server runs as `postgres` or, without that, as `nobody`.
"""

from __future__ import annotations

import contextlib
import os
import pwd
import shutil
import signal
import subprocess
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path

PROGRAMS = Path("/usr/lib/postgresql")
PACKAGE = "postgresql"


class NoPostgreSQL(RuntimeError):
    """Its programs are not here."""


def programs() -> Path:
    """The folder of the newest initdb and postgres. NoPostgreSQL with what to install."""
    found = sorted(PROGRAMS.glob("*/bin/initdb"), key=lambda one: int(one.parts[-3]))
    if not found:
        raise NoPostgreSQL(f"needs PostgreSQL's server programs; on Debian: apt-get install {PACKAGE}")
    return found[-1].parent


@contextlib.contextmanager
def running(durable: bool = True) -> Iterator[str]:
    """The address of an empty database, for VESTRY_DATABASE. `durable=False` writes nothing through to the disk."""
    where = programs()
    folder = Path(tempfile.mkdtemp(prefix="vestry-pg-"))
    other: dict[str, str] = {}
    if os.geteuid() == 0:
        names = [one.pw_name for one in pwd.getpwall()]
        other = {"user": "postgres" if "postgres" in names else "nobody"}
        shutil.chown(folder, other["user"])
    data = folder / "data"
    as_it_is = {"stdout": subprocess.DEVNULL, "stdin": subprocess.DEVNULL, "cwd": "/"}
    made = ["-D", str(data), "-U", "vestry", "-A", "trust", "-E", "UTF8", "--locale=C.UTF-8", "--no-sync"]
    subprocess.run([str(where / "initdb"), *made], check=True, **as_it_is, **other)  # type: ignore[call-overload]
    quick = [] if durable else ["-c", "fsync=off", "-c", "synchronous_commit=off", "-c", "full_page_writes=off"]
    log = (folder.parent / f"{folder.name}.log").open("w")
    server = subprocess.Popen(  # type: ignore[call-overload]
        [str(where / "postgres"), "-D", str(data), "-k", str(folder), "-c", "listen_addresses=", *quick],
        stderr=log, start_new_session=True, **as_it_is, **other,
    )  # fmt: skip
    try:
        _wait(where, folder, server)
        yield f"postgresql://vestry@/postgres?host={folder}"
    finally:
        server.send_signal(signal.SIGINT)  # fast: it does not wait for those who are connected
        server.wait(60)
        log.close()
        shutil.rmtree(folder, ignore_errors=True)
        (folder.parent / f"{folder.name}.log").unlink(missing_ok=True)


def _wait(where: Path, folder: Path, server: subprocess.Popen[bytes]) -> None:
    until = time.monotonic() + 60
    while time.monotonic() < until:
        if server.poll() is not None:
            raise RuntimeError((folder.parent / f"{folder.name}.log").read_text("utf-8"))
        ready = subprocess.run([str(where / "pg_isready"), "-q", "-h", str(folder)], check=False)
        if ready.returncode == 0:
            return
        time.sleep(0.05)
    raise RuntimeError("PostgreSQL did not become ready within a minute")
