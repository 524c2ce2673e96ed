"""Backups: a copy of the whole record while it is written on, and its way back into a fresh folder.

A backup is one file (zip): the database as SQLite's own backup copies it, the secret key, and a manifest with digests
and the head of the record. A restored folder is checked against the manifest before it is put in its place.
"""

from __future__ import annotations

import hashlib
import json
import os
import sqlite3
import tempfile
import zipfile
import zlib
from contextlib import closing
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from vestry.hospital import secret_key

DATABASE, MANIFEST = "db.sqlite3", "manifest.json"
_MOST = 200 * 2**30


class CannotCopy(Exception):
    """A backup or its restoring that cannot be: the message says why."""


@dataclass(frozen=True)
class Copied:
    """What was copied or brought back: when the copy was made, how large, and the head of the record in it."""

    file: Path
    at: str
    size: int
    events: int
    head: str


def backup(data: Path, to: Path) -> Copied:
    """Copy the record of this folder into one new file. Whoever writes meanwhile goes on; the copy is of one moment."""
    _in_a_file("pg_dump")
    source = data / DATABASE
    if not source.exists():
        raise CannotCopy(f"{data} holds no record yet")
    if to.exists():
        raise CannotCopy(f"{to} is there already; a backup takes nothing's place")
    to.parent.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory(dir=to.parent, prefix=".backup-") as folder:
        copy = Path(folder) / DATABASE
        copy.touch(mode=0o600)
        with closing(sqlite3.connect(source, timeout=60)) as from_, closing(sqlite3.connect(copy)) as into:
            from_.backup(into, pages=4096, sleep=0.01)
            into.execute("PRAGMA journal_mode=DELETE")
        events, head = _whole(copy)
        made = Path(folder) / "made"
        made.touch(mode=0o600)
        key = data / secret_key.FILE
        files = {DATABASE: copy} | ({secret_key.FILE: key} if key.exists() else {})
        manifest = {
            "format-version": 1,
            "at": datetime.now(UTC).isoformat(timespec="seconds"),
            "files": {name: _digest(path) for name, path in files.items()},
            "events": events,
            "head": head,
        }
        with zipfile.ZipFile(made, "w", zipfile.ZIP_DEFLATED, compresslevel=6) as archive:
            for name, path in files.items():
                archive.write(path, name)
            archive.writestr(MANIFEST, json.dumps(manifest, indent=1))
        _to_disk(made)
        os.link(made, to)  # never over something that came meanwhile
    return Copied(to, str(manifest["at"]), to.stat().st_size, events, head)


def restore(file: Path, data: Path) -> Copied:
    """Bring a backup back into a folder that is empty or not there yet."""
    _in_a_file("pg_restore")
    if data.exists() and (not data.is_dir() or any(data.iterdir())):
        raise CannotCopy(f"{data} is not empty; a record is restored into a fresh folder")
    data.parent.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory(dir=data.parent, prefix=".restore-") as folder:
        fresh = Path(folder) / "data"
        fresh.mkdir(mode=0o700)
        manifest = _unpack(file, fresh)
        events, head = _whole(fresh / DATABASE)
        if (events, head) != (manifest.get("events"), manifest.get("head")):
            raise CannotCopy("the record in the backup does not end as its manifest says")
        if data.exists():
            data.rmdir()
        fresh.rename(data)
    return Copied(file, str(manifest.get("at")), file.stat().st_size, events, head)


def _in_a_file(instead: str) -> None:
    if os.environ.get("VESTRY_DATABASE"):
        raise CannotCopy(f"the record is in PostgreSQL: use its {instead}, as docs/how-to/postgresql.md shows")


def _unpack(file: Path, into: Path) -> dict[str, object]:
    try:
        with zipfile.ZipFile(file) as archive:
            manifest = json.loads(archive.read(MANIFEST))
            named = manifest["files"]
            if manifest.get("format-version") != 1 or not {DATABASE} <= set(named) <= {DATABASE, secret_key.FILE}:
                raise CannotCopy(f"{file} is no backup that this version reads")
            for name, digest in named.items():
                if archive.getinfo(name).file_size > _MOST:
                    raise CannotCopy(f"{name} in the backup is too large")
                (into / name).touch(mode=0o600)
                with archive.open(name) as packed, (into / name).open("wb") as out:
                    while part := packed.read(1 << 20):
                        out.write(part)
                _to_disk(into / name)
                if _digest(into / name) != digest:
                    raise CannotCopy(f"{name} in the backup is not what was copied")
    except (zipfile.BadZipFile, KeyError, TypeError, ValueError, EOFError, OSError, zlib.error) as bad:
        raise CannotCopy(f"{file} is no whole backup: {bad}") from None
    return dict(manifest)


def _whole(database: Path) -> tuple[int, str]:
    """Number and hash of the newest event of a database that SQLite finds whole."""
    try:
        with closing(sqlite3.connect(f"file:{database}?mode=ro", uri=True)) as opened:
            if opened.execute("PRAGMA integrity_check(1)").fetchone()[0] != "ok":
                raise CannotCopy("SQLite does not find the copy whole")
            found = opened.execute("SELECT sequence, hash FROM record_event ORDER BY sequence DESC LIMIT 1").fetchone()
    except sqlite3.DatabaseError as bad:
        raise CannotCopy(f"the copy cannot be read: {bad}") from None
    return (int(found[0]), str(found[1])) if found else (0, "0" * 64)


def _digest(path: Path) -> str:
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


def _to_disk(path: Path) -> None:
    with path.open("rb") as file:
        os.fsync(file.fileno())
