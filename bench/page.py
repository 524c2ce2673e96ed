"""A kept run as a page of the documentation."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from bench.measured import Measured, Table, from_json

HEAD = """<!-- Made by python -m bench; not to be edited. -->

# Benchmarks

One run of `python -m bench`, in one process. Seconds belong to the machine; ratios are of ways timed in turn.
Where two ways to one answer differ, the run fails. A floor that is missed stands here as missed.
"""


def page(run: dict[str, Any]) -> str:
    """The page of a run."""
    found = [from_json(one) for one in run["benchmarks"]]
    return "\n".join([HEAD, *_machine(run), *_floors(found), *(line for one in found for line in _section(one))])


def _machine(run: dict[str, Any]) -> Iterator[str]:
    its = run["machine"]
    libraries = ", ".join(f"{name} {number}" for name, number in its["libraries"].items())
    yield f"- {run['date']}, commit `{run['commit']}`"
    yield f"- {its['processor']}, {its['cores']} cores, {its['memory-gb']} GB, {its['system']}"
    yield f"- Python {its['python']}, {libraries}"
    yield f"- load average when it began: {its['load-at-start']} (other work shares the cores where this is above 0)"
    yield ""


def _floors(found: list[Measured]) -> Iterator[str]:
    floors = [floor for one in found for floor in one.floors]
    if floors:
        yield "| floor | wanted | found | |"
        yield "| --- | --- | --- | --- |"
        for floor in floors:
            yield f"| {floor.what} | {floor.wanted} | {floor.found} | {'met' if floor.met else '**missed**'} |"
        yield ""


def _section(one: Measured) -> Iterator[str]:
    yield f"## {one.title}\n"
    for sentence in one.said:
        yield f"{sentence}\n"
    for difference in one.unequal:
        yield f"**Not equal**: {difference}\n"
    if not one.unequal and one.name in ("cut-sets", "enumeration"):
        yield "All answers were equal.\n"
    for table in one.tables:
        yield from _table(table)
    used = one.resources
    yield (
        f"This benchmark: {used['wall-seconds']:g} s of wall-clock time, {used['cpu-seconds']:g} s of processor time; "
        f"largest resident set of the process until its end {used['peak-mb']:g} MB.\n"
    )


def _table(table: Table) -> Iterator[str]:
    yield f"<details><summary>{table.title}</summary>\n" if table.long else f"{table.title}:\n"
    yield f"| {' | '.join(table.head)} |"
    yield "|" + " --- |" * len(table.head)
    for row in table.rows:
        yield f"| {' | '.join(row)} |"
    yield "\n</details>\n" if table.long else ""
