"""The bar over the pages: a page of it is reached through its group, where that is a menu."""

from __future__ import annotations

from typing import Any


def to(page: Any, group: str, name: str) -> None:
    """Open the group's menu and follow the link to a page of it."""
    bar = page.locator("nav.bar")
    bar.get_by_role("button", name=group).click()
    bar.get_by_role("link", name=name, exact=True).click()
