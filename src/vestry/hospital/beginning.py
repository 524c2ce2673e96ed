"""A record begins: the hospital's name, its first administrator, nothing else. Nothing invented is in it."""

from __future__ import annotations

import re
from pathlib import Path

from vestry.hospital.setting_up import migrate, set_up

_SIGN_IN = re.compile(r"[a-z0-9][a-z0-9._-]{0,59}")


def wrong(hospital: str, sign_in: str, name: str) -> list[tuple[str, str]]:
    """What cannot be taken, as (option, what would be right)."""
    problems = [
        (option, "a name of 1 to 120 characters that can be printed")
        for option, value in (("--hospital", hospital), ("--name", name))
        if not (value.strip() and value.isprintable() and len(value) <= 120)
    ]
    if not _SIGN_IN.fullmatch(sign_in):
        problems.append(("--administrator", "lower-case letters, digits, dots and hyphens, at most 60"))
    return problems


def begin(data_dir: Path | str, hospital: str, sign_in: str, name: str) -> str | None:
    """Make the record in this folder; the set-up code of the administrator. None: there is a record already."""
    Path(data_dir).mkdir(parents=True, exist_ok=True)
    set_up(data_dir)
    migrate()
    from django.utils import timezone

    from vestry.hospital.access import giving
    from vestry.hospital.access.models import User
    from vestry.hospital.desk.models import Unit
    from vestry.hospital.writing import writing

    with writing():
        if Unit.objects.exists() or User.objects.exists():
            return None
        Unit.objects.create(name=hospital.strip(), invented=False)
        _, code = giving.add(sign_in, name.strip(), ("administrator",), None, timezone.now())
    return code
