"""One worker of several: it is found by its name in a process that was begun anew."""

from __future__ import annotations

import sys
import time
from pathlib import Path

from tests.faults.hospital import Server
from tests.faults.run import Run, Told


def runs(template: Path, folder: Path, seeds: list[int], until: float | None) -> list[Told]:
    """One worker's runs, one after the other, in one browser and with one server's process. Each tells its line."""
    from playwright.sync_api import sync_playwright
    from tests.browser.conftest import CHROMIUM, QUIET

    told = []
    server = Server(template, folder)
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=QUIET)
        for seed in seeds:
            if until and time.monotonic() > until:
                break
            run = Run(browser, server, seed)
            try:
                run.run()
            except Exception as problem:
                run.told.problems.append(f"{type(problem).__name__}: {problem}".splitlines()[0])
            told.append(run.told)
            print(run.told, file=sys.stderr, flush=True)
        browser.close()
    server.end()
    return told
