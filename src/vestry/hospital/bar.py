"""The bar over every page: its pages by group, as the visitor may see them. A new page is a line here.

`first` is the first part of the page's address, by which the bar knows that it is shown.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

May = Callable[[str], bool]


@dataclass(frozen=True)
class Page:
    """A page of the bar: shown to those who may do one of these actions, at the address of the first that holds."""

    first: str
    label: str | Promise
    at: tuple[tuple[str, str], ...]

    def address(self, may: May) -> str | None:
        """Where the visitor finds it; None: not for them."""
        return next((address for action, address in self.at if may(action)), None)


@dataclass(frozen=True)
class Group:
    """Pages that belong together. `id`: of the menu in the page."""

    id: str
    label: str | Promise
    pages: tuple[Page, ...]


def _page(first: str, label: str | Promise, action: str, address: str = "") -> Page:
    return Page(first, label, ((action, address or f"/{first}/"),))


GROUPS = (
    Group(
        "tonight",
        _("Tonight"),
        (
            _page("calls", _("Calls"), "see-calls"),
            _page("ready", _("Ready"), "see-ready"),
            _page("board", _("Board"), "see-board"),
            _page("lane", _("Lane"), "see-board"),
            _page("forecast", _("Forecast"), "see-forecast"),
            Page(
                "coverage",
                _("Coverage"),
                (("see-coverage", "/coverage/"), ("see-own-shifts", "/coverage/mine/")),
            ),
        ),
    ),
    Group(
        "procedures",
        _("Procedures"),
        (
            _page("case", _("New case"), "plan-case", "/cases/new/"),
            _page("procedures", _("Procedures"), "see-procedures"),
            _page("orders", _("Orders"), "see-orders"),
            _page("facts", _("Facts"), "see-facts"),
        ),
    ),
    Group(
        "unit",
        _("Unit"),
        (
            Page(
                "people",
                _("People"),
                (
                    ("see-register", "/people/"),
                    ("see-who-can-go-in", "/people/able/"),
                    ("see-people", "/people/roles/"),
                    ("see-registered", "/people/me/"),
                ),
            ),
            _page("stock", _("Stock"), "see-stock"),
            _page("rooms", _("Rooms"), "see-rooms"),
            _page("heat", _("Heat"), "see-heat"),
            _page("tablets", _("Tablets"), "manage-tablets"),
            _page("own-texts", _("Own texts"), "see-own-texts"),
        ),
    ),
    Group(
        "record",
        _("Record"),
        (
            _page("records", _("Records"), "see-records"),
            _page("entry-log", _("Entry log"), "see-entry-log"),
            _page("exposures", _("Exposures"), "see-exposures"),
            _page("first-aid", _("First aid"), "see-first-aid"),
            _page("keeping", _("Keeping"), "see-retention"),
        ),
    ),
)


@dataclass(frozen=True)
class Shown:
    """A link of the bar."""

    label: str | Promise
    address: str
    here: bool


@dataclass(frozen=True)
class ShownGroup:
    """A menu of the bar; with one page it is a link alone. `current`: its page that is shown now."""

    id: str
    label: str | Promise
    pages: tuple[Shown, ...]

    @property
    def current(self) -> Shown | None:
        return next((one for one in self.pages if one.here), None)


def bar(may: May, here: str) -> list[ShownGroup]:
    """The groups that hold something for this visitor. `here`: the first part of the address shown."""
    found = []
    for group in GROUPS:
        pages = tuple(
            Shown(page.label, address, page.first == here)
            for page in group.pages
            if (address := page.address(may)) is not None
        )
        if pages:
            found.append(ShownGroup(group.id, group.label, pages))
    return found
