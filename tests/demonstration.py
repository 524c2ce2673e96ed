"""The invented hospital, as `vestry demo` fills it in a process of its own."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path


def environment() -> dict[str, str]:
    """What a server or command of its own is given: nothing of the tests' own settings."""
    return {name: value for name, value in os.environ.items() if not name.startswith(("DJANGO", "VESTRY"))}


def fill(folder: Path) -> Path:
    """Fill this folder."""
    made = [sys.executable, "-m", "vestry.cli", "demo", "--data", str(folder)]
    subprocess.run(made, check=True, env=environment(), capture_output=True, timeout=300)
    return folder
