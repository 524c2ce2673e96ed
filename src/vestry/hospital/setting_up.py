"""Django for one data folder, whoever starts it: the command line, the demonstration, the server."""

from __future__ import annotations

import os
from pathlib import Path

import django


def set_up(data_dir: Path | str) -> None:
    """Point the settings at this folder and start Django, once for a process."""
    os.environ["VESTRY_DATA"] = str(Path(data_dir).resolve())
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "vestry.hospital.settings")
    django.setup()


def migrate() -> None:
    """Bring the database to the shape that this version needs."""
    from django.core.management import call_command

    call_command("migrate", verbosity=0, interactive=False)
