"""A process that has Django loaded and forks the server, so that a start costs a fork and not a second of imports.

    python -m tests.faults.zygote FOLDER [PLANTED]

It reads one JSON document a line: {"do": "serve", "port": N} answers {"pid": N}; {"do": "ended", "pid": N} waits for
that process; {"do": "ask", "code": "..."} runs code with the hospital at hand and answers what it put into `answer`.
What is forked is the real server, `vestry.hospital.serving.serve`; only the amounts' compiler is not warmed up.
"""

from __future__ import annotations

import contextlib
import json
import os
import signal
import sys
import traceback
from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import Any


def main(folder: str, planted: str = "") -> None:
    """Answer until the input ends."""
    from vestry.hospital.setting_up import set_up

    set_up(folder)
    import gunicorn.app.base
    import gunicorn.workers.gthread  # noqa: F401
    from django.db import connection, connections
    from django.urls import get_resolver

    from vestry.hospital import serving, wsgi
    from vestry.hospital.jobs import amounts
    from vestry.trade import load_catalogue

    get_resolver().url_patterns  # noqa: B018 (loads every view)
    load_catalogue()
    assert wsgi.application
    amounts.warm_up = lambda: None
    _draw_the_tablets_pictures()
    connections.close_all()
    if planted:
        from tests.faults.planted import ON_THE_SERVER

        ON_THE_SERVER[planted]()
    assert connection.connection is None, "a connection must not be shared by a fork"

    def serve(port: int) -> None:
        os.setsid()
        log = os.open(Path(folder) / "server.log", os.O_WRONLY | os.O_CREAT | os.O_APPEND)
        os.dup2(log, 1)
        os.dup2(log, 2)
        os.dup2(os.open(os.devnull, os.O_RDONLY), 0)
        serving.serve("127.0.0.1", port, folder)

    print(json.dumps({"ready": True}), flush=True)
    served: set[int] = set()
    while line := sys.stdin.readline():
        asked = json.loads(line)
        if asked["do"] == "serve":
            answer: Any = {"pid": _forked(partial(serve, asked["port"]))}
            served.add(answer["pid"])
        elif asked["do"] == "ended":
            os.waitpid(asked["pid"], 0)
            served.discard(asked["pid"])
            answer = {}
        else:
            answer = _told(asked["code"], connections.close_all)
        print(json.dumps(answer), flush=True)
    for pid in served:  # whoever asked is gone, in whatever way
        with contextlib.suppress(ProcessLookupError):
            os.killpg(pid, signal.SIGKILL)


def _draw_the_tablets_pictures() -> None:
    """What a server keeps after its first tablet. Drawn here once, or each start would draw it again for seconds."""
    from django.utils import timezone

    from vestry.hospital.access.models import User
    from vestry.hospital.anteroom.bundling import bundle_of
    from vestry.hospital.desk.models import ProcedureVersion
    from vestry.hospital.record.models import Entry

    someone, now = User.objects.first(), timezone.now()
    version = ProcedureVersion.objects.order_by("at").first()
    bundle_of(Entry(version=version, wearer=someone, observer=someone, drill=True, created_at=now))


def _forked(work: Callable[[], None]) -> int:
    pid = os.fork()
    if pid:
        return pid
    status = 1
    try:
        work()
        status = 0
    except BaseException:
        traceback.print_exc()
    finally:
        os._exit(status)


def _told(code: str, close: Callable[[], None]) -> Any:
    """What a child found, so that this process never opens the database."""
    reading, writing = os.pipe()

    def work() -> None:
        names: dict[str, Any] = {}
        exec(code, names)  # the harness's own code
        close()
        with os.fdopen(writing, "w") as out:
            json.dump(names["answer"], out)

    pid = _forked(work)
    os.close(writing)
    with os.fdopen(reading) as told:
        text = told.read()
    os.waitpid(pid, 0)
    return json.loads(text) if text else {"failed": "see the errors above"}


if __name__ == "__main__":
    main(*sys.argv[1:])
