"""Serving the pages: one process with several threads, on loopback unless told otherwise."""

from __future__ import annotations

import socket
import sys
from pathlib import Path
from typing import Any

from vestry.hospital.setting_up import migrate, set_up

THREADS = 8


def serve(host: str, port: int, data_dir: Path | str) -> int:
    """Serve until interrupted; 0, or 1 where the port is taken. One process: its lock for writers is the only one."""
    if _taken(host, port):
        print(f"Something else listens on {host}, port {port}. Choose another with --port.", file=sys.stderr)
        return 1
    set_up(data_dir)
    migrate()
    from django.core.management import call_command

    call_command("check")
    print(f"Vestry serves on http://{host}:{port}/ and ends with Ctrl-C", file=sys.stderr, flush=True)
    _Server(
        {
            "bind": f"[{host}]:{port}" if ":" in host else f"{host}:{port}",
            "workers": 1,
            "threads": THREADS,
            "worker_class": "gthread",
            "timeout": 120,
            "graceful_timeout": 10,
            "keepalive": 30,
            "loglevel": "warning",
            "limit_request_line": 4094,
            "control_socket_disable": True,
        }
    ).run()
    return 0


def _taken(host: str, port: int) -> bool:
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    with socket.socket(family, socket.SOCK_STREAM) as trial:
        trial.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            trial.bind((host, port))
        except OSError:
            return True
    return False


class _Server:
    """gunicorn, configured here and nowhere else."""

    def __init__(self, options: dict[str, Any]) -> None:
        self.options = options

    def run(self) -> None:
        from gunicorn.app.base import BaseApplication  # type: ignore[import-untyped]

        options = self.options

        class Application(BaseApplication):
            def load_config(self) -> None:
                for name, value in options.items():
                    if name in self.cfg.settings:
                        self.cfg.set(name, value)

            def load(self) -> Any:
                from vestry.hospital.jobs.amounts import warm_up
                from vestry.hospital.wsgi import application

                warm_up()
                return application

        Application().run()
