"""The files that the tablet's page is made of, and their version: the service worker keeps exactly these."""

from __future__ import annotations

import hashlib
from functools import lru_cache
from pathlib import Path

from django.conf import settings

from vestry.hospital.language import for_tablets

WEB = Path(__file__).parent / "web"
PAGE = "/tablet/"
TEXTS = "/tablet/texts.json"
STYLES = ("tokens.css", "tablet.css", "mark.svg", "fonts/atkinson-hyperlegible-next-latin-wght-normal.woff2")


def shell_files() -> list[str]:
    """Addresses of all of them, the page first."""
    modules = sorted(path.name for path in WEB.iterdir() if path.suffix in (".js", ".css"))
    return [
        PAGE,
        TEXTS,
        *(f"{settings.STATIC_URL}vestry/tablet/{name}" for name in modules),
        *(f"{settings.STATIC_URL}vestry/{name}" for name in STYLES),
    ]


@lru_cache(maxsize=1)
def shell_version() -> str:
    """Another text whenever one of them is another. They do not change while the server runs."""
    digest = hashlib.sha256(for_tablets().encode())
    static, templates = settings.HERE / "static" / "vestry", settings.HERE / "templates" / "anteroom"
    paths = [
        *sorted(WEB.iterdir()),
        *(static / name for name in STYLES),
        templates / "tablet.html",
        templates / "sw.js",
    ]
    for path in paths:
        if path.is_file():
            digest.update(path.name.encode() + b"\0" + path.read_bytes())
    return digest.hexdigest()[:16]
