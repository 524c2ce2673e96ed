"""`vestry prove` over the whole catalogue of cases, as a user runs it: two processes, from nothing."""

from __future__ import annotations

import gzip
import json
import subprocess
import sys
import tempfile
from pathlib import Path

from bench.measured import Floor, Measured, Resources, Table
from bench.size import Size

MOST = 15 * 60.0
WORKERS = 2


def measure(size: Size) -> Measured:
    """Run the command to its end and read its report."""
    used = Resources()
    with tempfile.TemporaryDirectory() as folder:
        out = Path(folder) / "proved.json"
        command = [sys.executable, "-m", "vestry.cli", "prove", "--workers", str(WORKERS), "--out", str(out)]
        command += ["--only", *size.proved] if size.proved else []
        with subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL) as running:
            largest = _watched(running)
        if running.returncode not in (0, 1):
            raise RuntimeError(f"vestry prove ended with {running.returncode}")
        text = out.read_text("utf-8")
    found = json.loads(text)
    if size.report is not None:
        size.report.write_bytes(gzip.compress(text.encode(), mtime=0))
    took = used.used()
    row = (
        str(found["cases"]),
        str(found["planned"]),
        str(found["works"]),
        str(found["programs"]),
        str(found["clean"]),
        f"{took['wall-seconds']:.0f}",
        f"{took['cpu-seconds']:.0f}",
    )
    head = ("cases", "with a plan", "ways out", "distinct programs", "clean as taught", "wall s", "processor s")
    said = (
        f"`vestry prove --workers {WORKERS}`, nothing kept from before. Wall-clock time depends on what else the cores "
        f"do; processor seconds are its own. Largest resident set of one of its processes: {largest:.0f} MB.",
    )
    floor = Floor(
        "vestry prove, wall-clock time",
        f"at most {MOST:.0f} s",
        f"{took['wall-seconds']:.0f} s",
        took["wall-seconds"] <= MOST,
    )
    tables = (Table("All cases" if not size.proved else f"With {' '.join(size.proved)}", head, (row,)),)
    return Measured("prove", "Every case of the catalogue proved", said, (floor,), tables, (), took)


def _watched(running: subprocess.Popen[bytes]) -> float:
    """Wait for its end; the largest resident set of it or a process that it started, in MB, looked at once a second."""
    largest = 0.0
    while True:
        children = _read(f"/proc/{running.pid}/task/{running.pid}/children").split()
        for process in (str(running.pid), *children):
            peak = next((line for line in _read(f"/proc/{process}/status").splitlines() if "VmHWM" in line), "")
            largest = max(largest, int(peak.split()[1]) / 1024 if peak else 0.0)
        try:
            running.wait(1)
            return largest
        except subprocess.TimeoutExpired:
            pass


def _read(path: str) -> str:
    try:
        return Path(path).read_text("utf-8")
    except OSError:
        return ""
