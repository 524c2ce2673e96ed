"""Backups: of one moment while others write, whole or not at all, and back into a fresh folder only."""

from __future__ import annotations

import os
import sqlite3
import threading
import zipfile
from contextlib import closing
from pathlib import Path

import pytest

from vestry.hospital.keeping_copies import CannotCopy, backup, restore

ROW = "INSERT INTO record_event (sequence, hash) VALUES ((SELECT coalesce(max(sequence), 0) + 1 FROM record_event), ?)"


@pytest.fixture
def data(tmp_path: Path) -> Path:
    """A data folder with as much of a record as a backup looks at."""
    folder = tmp_path / "data"
    folder.mkdir()
    (folder / "secret-key").write_text("secret", "utf-8")
    with closing(sqlite3.connect(folder / "db.sqlite3")) as opened, opened:
        opened.execute("PRAGMA journal_mode=WAL")
        opened.execute("CREATE TABLE record_event (sequence INTEGER PRIMARY KEY, hash TEXT)")
        for number in range(500):
            opened.execute(ROW, (f"{number:064x}",))
    return folder


def events(folder: Path) -> int:
    with closing(sqlite3.connect(folder / "db.sqlite3")) as opened:
        return int(opened.execute("SELECT count(*) FROM record_event").fetchone()[0])


def test_what_was_backed_up_comes_back_as_it_was(data: Path, tmp_path: Path):
    made = backup(data, tmp_path / "copies" / "one.zip")
    found = restore(made.file, tmp_path / "fresh")

    assert (found.events, found.head) == (made.events, made.head) == (500, f"{499:064x}")
    assert events(tmp_path / "fresh") == 500
    assert (tmp_path / "fresh" / "secret-key").read_text("utf-8") == "secret"
    assert os.stat(made.file).st_mode & 0o077 == 0
    assert os.stat(tmp_path / "fresh" / "db.sqlite3").st_mode & 0o077 == 0
    assert [one.name for one in (tmp_path / "copies").iterdir()] == ["one.zip"]


def test_while_it_is_written_on_the_copy_is_of_one_moment(data: Path, tmp_path: Path):
    stop, written = threading.Event(), []

    def write() -> None:
        with closing(sqlite3.connect(data / "db.sqlite3", timeout=30)) as opened:
            while not stop.is_set():
                with opened:
                    opened.execute(ROW, ("f" * 64,))
                written.append(1)

    writer = threading.Thread(target=write)
    writer.start()
    try:
        while not written:
            pass
        made = backup(data, tmp_path / "one.zip")
    finally:
        stop.set()
        writer.join()
    restore(made.file, tmp_path / "fresh")

    assert 500 < made.events <= 500 + len(written)
    assert events(tmp_path / "fresh") == made.events
    assert events(data) == 500 + len(written), "whoever wrote went on"


def test_nothing_is_overwritten(data: Path, tmp_path: Path):
    made = backup(data, tmp_path / "one.zip")

    with pytest.raises(CannotCopy, match="there already"):
        backup(data, tmp_path / "one.zip")
    with pytest.raises(CannotCopy, match="not empty"):
        restore(made.file, data)
    with pytest.raises(CannotCopy, match="holds no record"):
        backup(tmp_path / "nowhere", tmp_path / "two.zip")


def test_a_backup_that_is_not_whole_is_not_restored(data: Path, tmp_path: Path):
    made = backup(data, tmp_path / "one.zip")
    whole = made.file.read_bytes()
    with zipfile.ZipFile(made.file) as archive:
        members = {name: archive.read(name) for name in archive.namelist()}
    with zipfile.ZipFile(tmp_path / "other.zip", "w") as archive:
        for name, content in members.items():
            archive.writestr(name, content.replace(b"secret", b"SECRET") if name == "secret-key" else content)
    (tmp_path / "cut.zip").write_bytes(whole[: len(whole) // 2])
    (tmp_path / "turned.zip").write_bytes(whole[:200] + bytes([whole[200] ^ 1]) + whole[201:])
    (tmp_path / "none.zip").write_bytes(b"")

    for name in ("other", "cut", "turned", "none", "not-there"):
        with pytest.raises(CannotCopy):
            restore(tmp_path / f"{name}.zip", tmp_path / "fresh")
        assert not (tmp_path / "fresh").exists()
