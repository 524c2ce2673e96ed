"""vestry purge on a record in a file: nothing by default, two persons, and what went stands in no byte of the file."""

from __future__ import annotations

import json
import os
import shutil
import sqlite3
import subprocess
import sys
from contextlib import closing
from pathlib import Path

import pytest

# A drill in which something was written, that is over; a policy of 30 days on drills; a proposal made 40 days from now.
PROPOSED = """
import datetime, sys, uuid
from pathlib import Path
from vestry.hospital.setting_up import set_up
set_up(Path(sys.argv[1]))
from django.test import Client
from django.utils import timezone
from vestry.hospital.access.models import User
from vestry.hospital.desk.models import ProcedureVersion
from vestry.hospital.record.models import Entry
from vestry.hospital.record.store import say
from vestry.hospital.retention import policies, purging
tomas, ingrid, ada = (User.objects.get(sign_in=one) for one in ("tomas", "ingrid", "ada"))
client, now = Client(headers={"host": "localhost"}), timezone.now()
client.force_login(tomas)
people = {"wearer": "noor", "observer": "tomas", "assistant": "petra", "drill": "on"}
answer = client.post(f"/procedures/{ProcedureVersion.objects.first().pk}/start/", people)
assert answer.status_code == 302, answer.content
entry, device = Entry.objects.get(), str(uuid.uuid4())
step = "before.confirm:area-confirmed"
noted = [("prompted", {"step": step, "note": f"{sys.argv[2]} {n:03}"}, now) for n in range(int(sys.argv[3]))]
say(entry, "tomas", device, [*noted, ("abandoned", {}, now)], now)
policies.confirm(policies.propose("drills", 30, "by law", "Records rule 7", ingrid, now), ada, now)
print(purging.propose(ingrid, "due", now + datetime.timedelta(days=40)).pk)
"""
SECRET, TIMES = "tripped over the step stool", 120


def vestry(*words: str, says: str = "") -> subprocess.CompletedProcess[str]:
    command = [sys.executable, "-m", "vestry.cli", *words]
    return subprocess.run(command, input=says, capture_output=True, text=True, timeout=300, check=False)


def in_the_files(data: Path, texts: list[str]) -> list[str]:
    """Those of these texts that any file of the record still has."""
    held = b"".join(one.read_bytes() for one in data.glob("db.sqlite3*"))
    return [one for one in texts if one.encode() in held]


@pytest.mark.slow
@pytest.mark.timeout(400)
def test_drills_go_by_two_persons_and_leave_no_byte_and_a_record_that_holds(tmp_path: Path, demonstration: Path):
    data = ["--data", str(tmp_path)]
    shutil.copytree(demonstration, tmp_path, dirs_exist_ok=True)
    nothing = vestry("purge", *data, "--dry-run", "--json")
    assert nothing.returncode == 1
    assert all(one["days"] is None and not one["goes"] for one in json.loads(nothing.stdout)["data"])

    environment = {name: value for name, value in os.environ.items() if not name.startswith("DJANGO")}
    proposed = subprocess.run(
        [sys.executable, "-c", PROPOSED, str(tmp_path), SECRET, str(TIMES)],
        env=environment,
        capture_output=True,
        text=True,
    )
    assert proposed.returncode == 0, proposed.stderr
    number, password = proposed.stdout.strip(), (tmp_path / "demo-password").read_text("utf-8").strip()
    with closing(sqlite3.connect(tmp_path / "db.sqlite3")) as record:
        salts = [salt for (salt,) in record.execute("SELECT salt FROM record_event")]
    gone = [*(f"{SECRET} {n:03}" for n in range(TIMES)), *salts]
    assert in_the_files(tmp_path, gone) == gone
    assert len(salts) == TIMES + 2

    own = vestry("purge", *data, "--confirm", number, "--as", "ingrid", says=f"{password}\n")
    wrong = vestry("purge", *data, "--confirm", number, "--as", "ada", says="not it\n")
    assert (own.returncode, wrong.returncode) == (1, 1)
    assert "Somebody else must confirm it" in own.stderr
    assert "the hospital's own account" in wrong.stderr
    assert in_the_files(tmp_path, gone) == gone

    done = vestry("purge", *data, "--confirm", number, "--as", "ada", "--json", says=f"{password}\n")
    assert done.returncode == 0, done.stderr
    assert json.loads(done.stdout)["counts"] == {"drills": 1}
    assert in_the_files(tmp_path, gone) == []
    again = vestry("purge", *data, "--confirm", number, "--as", "ada", says=f"{password}\n")
    assert (again.returncode, again.stderr.strip()) == (1, "Nothing was removed: It is done already.")
    holds = vestry("verify-record", *data, "--json")
    assert holds.returncode == 0
    assert json.loads(holds.stdout)["holds"]
