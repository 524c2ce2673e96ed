"""Codes that are handed over and typed: letters and digits that are not taken for one another.

And what is kept of a secret: a proof, never itself.
"""

from __future__ import annotations

import hashlib
import secrets

LETTERS = "ABCDEFGHJKMNPQRTUVWXYZ2346789"


def new_code(length: int) -> str:
    """A code that nobody guesses: almost five bits a sign."""
    return "".join(secrets.choice(LETTERS) for _ in range(length))


def plain(typed: str) -> str:
    """What was typed, as the code was made: without case, hyphens and spaces."""
    return "".join(letter for letter in typed.upper() if letter.isalnum())


def proof_of(secret: str) -> str:
    """What is kept of a long random secret or code. Nothing slow is needed, since nothing can be guessed."""
    return hashlib.sha256(secret.encode()).hexdigest()
