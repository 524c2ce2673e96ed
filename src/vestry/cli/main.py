"""The command line: one module per command, brought in when it is asked for."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from importlib import import_module
from types import ModuleType

from vestry.cli.running import NO, plainly, run

NAMES = (
    "plan",
    "check",
    "explain",
    "compare",
    "substitute",
    "change",
    "rules",
    "scan",
    "recover",
    "catalog",
    "overlay",
    "amounts",
    "whatif",
    "evidence",
    "validate",
    "orders",
    "prove",
    "forecast",
    "roster",
    "ready",
    "sheet",
    "air",
    "dilute",
    "waste",
    "heat",
    "begin",
    "serve",
    "demo",
    "verify-record",
    "backup",
    "restore",
    "purge",
)
# Asked in passing, and answered without the planner, whose start takes a second.
QUICK = frozenset({"air", "dilute", "waste", "heat"})
COMMANDS: tuple[ModuleType, ...]
"""Every command's module, in the order of the help; see `__getattr__`."""


def __getattr__(name: str) -> tuple[ModuleType, ...]:
    if name != "COMMANDS":
        raise AttributeError(name)
    return tuple(map(_module, NAMES))


def _module(name: str) -> ModuleType:
    return import_module(f"vestry.cli.commands.{name.replace('-', '_')}")


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command; returns its exit status."""
    given = sys.argv[1:] if argv is None else argv
    if given and given[0] in QUICK:
        return run([_module(given[0])], given)
    from vestry.sequence import NoPlan

    try:
        return run(map(_module, NAMES), given)
    except NoPlan as none:
        print(plainly(f"No way on: {none.why}"), file=sys.stderr)
        return NO
