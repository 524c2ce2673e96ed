"""The tests of what is stored, again on a real PostgreSQL: Debian's programs, a fresh database, another process."""

from __future__ import annotations

import os
import re
import subprocess
import sys
from pathlib import Path

import pytest
from tools.postgresql import programs, running

HERE = Path(__file__).parent
STORED = (
    "tests/postgresql/only_there.py",
    "tests/hospital/test_record.py",
    "tests/hospital/test_retention.py",
    "tests/hospital/test_tablets.py",
    "tests/hospital/test_writing.py",
    "tests/hospital/test_facts.py",
    "tests/hospital/test_rooms.py",
    "tests/hospital/registers/test_stock.py",
    "tests/hospital/registers/test_people.py",
)
AT_LEAST = 200


@pytest.mark.slow
@pytest.mark.timeout(600)
def test_what_is_stored_is_stored_alike_in_postgresql():
    with running(durable=False) as address:
        done = subprocess.run(
            [sys.executable, "-m", "pytest", "-q", "-p", "no:cacheprovider", "-n", "0", *STORED],
            cwd=HERE.parents[1], capture_output=True, text=True, check=False,
            env={**os.environ, "VESTRY_DATABASE": address, "CI": "true"},
        )  # fmt: skip
    passed = re.search(r"(\d+) passed", done.stdout)

    assert done.returncode == 0, done.stdout[-4000:] + done.stderr[-2000:]
    assert passed is not None
    assert int(passed[1]) >= AT_LEAST
    assert "skipped" not in done.stdout


@pytest.mark.slow
@pytest.mark.timeout(300)
def test_the_commands_work_on_it(tmp_path: Path):
    with running(durable=False) as address:

        def vestry(*words: str, database: str = address) -> subprocess.CompletedProcess[str]:
            return subprocess.run(
                [sys.executable, "-m", "vestry.cli", *words],
                capture_output=True, text=True, check=False, timeout=200,
                env={name: value for name, value in os.environ.items() if not name.startswith("DJANGO")}
                | {"VESTRY_DATABASE": database},
            )  # fmt: skip

        data = str(tmp_path / "data")
        filled = vestry("demo", "--data", data)
        assert filled.returncode == 0, filled.stderr
        assert not (tmp_path / "data/db.sqlite3").exists()
        held = vestry("verify-record", "--data", data)
        assert held.returncode == 0, held.stdout + held.stderr
        dump, other = tmp_path / "record.dump", address.replace("/postgres?", "/restored?")
        for program in (
            ["pg_dump", "--format=custom", f"--file={dump}", address],
            ["psql", "-q", "-c", "CREATE DATABASE restored", address],
            ["pg_restore", "--exit-on-error", "--no-owner", f"--dbname={other}", str(dump)],
        ):
            subprocess.run([programs() / program[0], *program[1:]], check=True, capture_output=True, timeout=100)
        again = vestry("verify-record", "--data", data, database=other)
        assert again.returncode == 0, again.stdout + again.stderr
        assert again.stdout == held.stdout
        changed = subprocess.run(
            [programs() / "psql", "-c", "UPDATE desk_procedureversion SET number = 99", other],
            capture_output=True,
            text=True,
            check=False,
        )
        assert "is written once" in changed.stderr
        copied = vestry("backup", "--data", data, "--to", str(tmp_path / "copy.zip"))
        assert copied.returncode == 1
        assert "pg_dump" in copied.stderr
