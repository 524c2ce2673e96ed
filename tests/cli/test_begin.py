"""`vestry begin`: an empty record for a real hospital, and the whole way to its first sign-in. In real processes."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import jsonschema
import pytest

SCHEMA = Path(__file__).parents[2] / "docs/reference/schemas/begun.json"
SAID = ("--hospital", "Harrow Point General", "--administrator", "ada", "--name", "Ada Thorne")
EVERY_PAGE = """
import django.test, re, sys
from vestry.hospital.setting_up import set_up
set_up(sys.argv[1])
from django.conf import settings
settings.ALLOWED_HOSTS.append("testserver")
from vestry.hospital.access import giving
from vestry.hospital.access.checks import patterns
from vestry.hospital.access.models import User
from vestry.hospital.access.table import ROLES
ada = User.objects.get()
giving.change_roles(ada, ROLES, None, "to look at every page", django.utils.timezone.now())
client = django.test.Client(raise_request_exception=False)
client.force_login(ada)
for route, _ in patterns():
    if "<" not in route:
        print(client.get("/" + route).status_code, route)
"""


def vestry(*argv: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run([sys.executable, "-m", "vestry.cli", *argv], capture_output=True, text=True, timeout=100)


@pytest.mark.slow
def test_an_empty_record_is_begun_once_and_every_page_of_it_opens(tmp_path: Path):
    data = tmp_path / "new" / "data"
    begun = vestry("begin", "--data", str(data), *SAID, "--json")
    assert begun.returncode == 0, begun.stderr
    jsonschema.validate(json.loads(begun.stdout), json.loads(SCHEMA.read_text("utf-8")))

    again = vestry("begin", "--data", str(data), *SAID)
    assert again.returncode == 1
    assert "holds a record already" in again.stderr

    walk = subprocess.run([sys.executable, "-c", EVERY_PAGE, str(data)], capture_output=True, text=True, timeout=100)
    answers = [line.split(" ", 1) for line in walk.stdout.splitlines()]
    assert len(answers) > 40, walk.stderr
    assert [one for one in answers if int(one[0]) >= 500] == []


@pytest.mark.parametrize(
    ("said", "named"),
    [
        (("--hospital", " ", *SAID[2:]), "--hospital"),
        ((*SAID[:3], "Ada T", *SAID[4:]), "--administrator"),
        ((*SAID[:5], "Ada\nThorne"), "--name"),
    ],
)
def test_what_cannot_be_a_name_is_wrong_use_and_makes_nothing(
    tmp_path: Path, capsys, said: tuple[str, ...], named: str
):
    from vestry.cli import main

    assert main(["begin", "--data", str(tmp_path / "data"), *said]) == 2
    assert named in capsys.readouterr().err
    assert not (tmp_path / "data").exists()
