"""The secret key: made once, kept beside the database, readable by its owner only."""

from __future__ import annotations

import os
import secrets
from pathlib import Path

FILE = "secret-key"


def secret_key(data: Path | None) -> str:
    """The key of this data folder, made if there is none. Without a folder: one for this process only."""
    if data is None:
        return secrets.token_urlsafe(50)
    data.mkdir(mode=0o700, parents=True, exist_ok=True)
    path = data / FILE
    try:
        handle = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    except FileExistsError:
        return path.read_text("utf-8").strip()
    with os.fdopen(handle, "w", encoding="utf-8") as file:
        key = secrets.token_urlsafe(50)
        file.write(key)
    return key
