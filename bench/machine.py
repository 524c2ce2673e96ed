"""The machine and the software that a run belongs to. No path and no host name."""

from __future__ import annotations

import datetime
import os
import platform
import subprocess
from importlib.metadata import version
from pathlib import Path
from typing import Any

LIBRARIES = ("clingo", "ortools", "numpy", "pydantic")
ROOT = Path(__file__).parent.parent


def machine() -> dict[str, Any]:
    """Processor, cores, memory, system, Python and library versions, and how busy the machine is now."""
    return {
        "processor": _processor(),
        "cores": len(os.sched_getaffinity(0)),
        "memory-gb": round(os.sysconf("SC_PAGE_SIZE") * os.sysconf("SC_PHYS_PAGES") / 2**30),
        "system": f"{platform.system()} {platform.machine()}",
        "python": platform.python_version(),
        "libraries": {name: version(name) for name in LIBRARIES},
        "load-at-start": round(os.getloadavg()[0], 1),
    }


def when() -> str:
    """Today, by the machine's clock, UTC."""
    return datetime.datetime.now(datetime.UTC).strftime("%Y-%m-%d")


def commit() -> str:
    """The commit that is run, and whether files differ from it; `unknown` outside a clone."""
    try:
        head = _git("rev-parse", "--short=12", "HEAD")
        return f"{head} with changes" if _git("status", "--porcelain", "--untracked-files=no") else head
    except (OSError, subprocess.CalledProcessError):
        return "unknown"


def _git(*words: str) -> str:
    return subprocess.run(["git", *words], cwd=ROOT, capture_output=True, text=True, check=True).stdout.strip()


def _processor() -> str:
    try:
        lines = Path("/proc/cpuinfo").read_text("utf-8").splitlines()
    except OSError:
        return platform.processor() or "unknown"
    return next((line.partition(":")[2].strip() for line in lines if line.startswith("model name")), "unknown")
