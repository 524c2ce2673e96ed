"""UUIDs of version 7: unique, and sorted by the time at which they were made."""

from __future__ import annotations

import secrets
import time
import uuid


def uuid7() -> uuid.UUID:
    """A new one, from this machine's clock."""
    milliseconds = time.time_ns() // 1_000_000
    value = (milliseconds & (2**48 - 1)) << 80 | 0x7 << 76 | secrets.randbits(12) << 64 | 0b10 << 62
    return uuid.UUID(int=value | secrets.randbits(62))
