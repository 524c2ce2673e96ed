"""The record of a data folder, opened for a command."""

from __future__ import annotations

import os
from pathlib import Path

from vestry.trade import BadFacts, Problem


def open_record(data: Path) -> None:
    """Set the server up on this folder; BadFacts when neither it nor the settings name a record that was begun."""
    if not (data / "db.sqlite3").exists() and not os.environ.get("VESTRY_DATABASE"):
        raise BadFacts([Problem(str(data), 0, "", "holds no record yet")])
    from vestry.hospital.setting_up import set_up

    set_up(data)
