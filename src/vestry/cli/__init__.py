"""The same things from a terminal.

Exit status: 0 yes; 1 no (not clean, not ready, cannot); 2 wrong use or bad input.
"""

from vestry.cli.main import main

__all__ = ["main"]
