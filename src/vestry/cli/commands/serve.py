"""Serve the pages on this machine (loopback). Ends with Ctrl-C.

Exit status: 0 ended; 1 the port is taken or there is no database yet; 2 wrong use.
"""

from __future__ import annotations

import argparse
from pathlib import Path


def arguments(parser: argparse.ArgumentParser) -> None:
    """The options of the command."""
    parser.add_argument("--host", default="127.0.0.1")
    parser.add_argument("--port", type=int, default=8400)
    parser.add_argument("--data", type=Path, default=Path("data"), help="the folder that holds the record")
    parser.add_argument("--json", action="store_true", help="say the address as JSON")


def run(options: argparse.Namespace) -> int:
    """Serve."""
    from vestry.hospital.serving import serve

    return int(serve(options.host, options.port, options.data) or 0)
