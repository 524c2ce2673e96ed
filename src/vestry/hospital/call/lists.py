"""The unit's own lists: what is looked at before anyone goes in, and the calls to make. Versions are written once."""

from __future__ import annotations

import re
import unicodedata
from typing import Any

from django.http import Http404, HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as _later
from pydantic import ValidationError

from vestry.hospital.access.door import door
from vestry.hospital.access.people import visitor
from vestry.hospital.call.forms import ListForm
from vestry.hospital.call.models import UnitListVersion
from vestry.hospital.writing import writing
from vestry.trade.first_hour import LIST_NAMES, LONGEST_SAYING, MOST_ITEMS, ListItem, ListName, UnitList

TITLES = {
    "area": _later("The area before anyone goes in"),
    "person": _later("The person"),
    "signals": _later("Communication and signals"),
    "calls": _later("Calls to make"),
}
ALONE = "(alone)"
"""At the end of a line about the person: answered alone, so that only may or may not is said."""


@door(GET="see-calls")
def lists(request: HttpRequest) -> HttpResponse:
    shown = []
    for name in LIST_NAMES:
        number, listed = UnitListVersion.in_force(name)
        shown.append({"name": name, "title": TITLES[name], "number": number, "items": listed.items})
    return render(request, "call/lists.html", {"lists": shown})


@door(GET="see-calls", POST="edit-unit-lists")
def unit_list(request: HttpRequest, name: str) -> HttpResponse:
    known = next((one for one in LIST_NAMES if one == name), None)
    if known is None:
        raise Http404
    number, listed = UnitListVersion.in_force(known)
    if request.method != "POST":
        return _page(request, known, ListForm(initial={"items": as_text(listed)}))
    form = ListForm(request.POST)
    if form.is_valid():
        try:
            made = as_list(known, form.cleaned_data["items"], listed)
        except ValueError as bad:
            form.add_error("items", str(bad))
        else:
            with writing():
                UnitListVersion.objects.create(
                    name=known,
                    number=number + 1,
                    items=[one.model_dump(mode="json", by_alias=True) for one in made.items],
                    reason=form.cleaned_data["reason"],
                    by=visitor(request),
                    at=timezone.now(),
                )
            return HttpResponseRedirect(f"/calls/lists/{known}/")
    return _page(request, known, form, 422)


def _page(request: HttpRequest, name: ListName, form: ListForm, status: int = 200) -> HttpResponse:
    number, listed = UnitListVersion.in_force(name)
    history = UnitListVersion.objects.filter(name=name).select_related("by")
    context: dict[str, Any] = {"name": name, "title": TITLES[name], "number": number, "items": listed.items}
    return render(request, "call/list.html", context | {"form": form, "history": history}, status=status)


def as_text(listed: UnitList) -> str:
    """A list as it is typed."""
    return "\n".join(
        one.say + (f" | {one.else_do}" if one.else_do else "") + (f" {ALONE}" if one.alone else "")
        for one in listed.items
    )


def as_list(name: ListName, text: str, before: UnitList) -> UnitList:
    """What was typed as a list; an item that says what it said keeps its id. ValueError with what would be right."""
    ids = {one.say: one.id for one in before.items}
    items: list[ListItem] = []
    lines = [one.strip() for one in text.splitlines() if one.strip()]
    if len(lines) > MOST_ITEMS:
        raise ValueError(_("At most %(n)d items.") % {"n": MOST_ITEMS})
    for number, line in enumerate(lines, 1):
        alone = name == "person" and line.endswith(ALONE)
        say, _bar, else_do = (line.removesuffix(ALONE) if alone else line).partition("|")
        say, else_do = say.strip(), else_do.strip()
        if not 1 <= len(say) <= LONGEST_SAYING or len(else_do) > LONGEST_SAYING:
            raise ValueError(
                _("Line %(n)d: at most %(most)d letters on each side.") % {"n": number, "most": LONGEST_SAYING}
            )
        items.append(
            ListItem(
                id=_id(ids.get(say) or say, {one.id for one in items}, number), say=say, else_do=else_do, alone=alone
            )
        )
    try:
        return UnitList(name=name, items=tuple(items))
    except ValidationError as bad:
        raise ValueError("; ".join(str(one["msg"]) for one in bad.errors())) from None


def _id(text: str, taken: set[str], number: int) -> str:
    plain = unicodedata.normalize("NFKD", text).encode("ascii", "ignore").decode().lower()
    made = re.sub(r"[^a-z0-9]+", "-", plain).strip("-")[:40].strip("-") or f"item-{number}"
    while made in taken:
        made = f"{made}-{number}"
    return made
