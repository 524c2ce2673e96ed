"""Papers of rooms: the card of what was made up, to hang by the bucket; the list of bags on hold, to sign on."""

from __future__ import annotations

import hashlib
import uuid
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

import rfc8785
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache

from vestry import papers
from vestry.hospital.access.door import door
from vestry.hospital.access.table import ROLE_NAMES, Role
from vestry.hospital.desk.models import Unit
from vestry.hospital.language import words_now
from vestry.hospital.rooms.mapper import bags, operations, rooms
from vestry.hospital.rooms.models import MadeUp
from vestry.papers.record import Part
from vestry.papers.sheet import short_hash
from vestry.room.bags import Bag
from vestry.room.waste import who_may

WHEN = "%Y-%m-%d %H:%M UTC"
EMPTY_ROWS = 4


def hash_of(said: Any) -> str:
    """The name of what stands on a paper: SHA-256 of its canonical JSON. The page shows it too."""
    return hashlib.sha256(rfc8785.dumps(said)).hexdigest()


# ---- the card ----


def card_hash(made: MadeUp) -> str:
    return hash_of(
        {
            "id": str(made.pk),
            "room": made.code,
            "stock": made.stock,
            "wanted": made.wanted,
            "recipe": made.recipe,
            "facts": made.operations,
            "at": made.at.isoformat(),
            "discard": made.discard_at.isoformat(),
        }
    )


@never_cache
@door(GET="see-rooms")
def card(request: HttpRequest, key: uuid.UUID) -> HttpResponse:
    made = get_object_or_404(MadeUp.objects.select_related("by"), pk=key)
    return _paper(card_of(made), f"disinfectant-{made.at:%Y-%m-%d}.pdf")


def card_of(made: MadeUp) -> papers.Posted:
    """What the card says. The recipe is as it was worked out then, never worked out again."""
    recipe, names = made.recipe, {one.code: one.name for one in rooms()}
    standing = [_("Past its time: discard it.")] if made.discard_at <= timezone.now() else []
    return papers.Posted(
        title=_("Disinfectant: %(gives)s") % {"gives": recipe["gives"]},
        standing=" · ".join([*standing, *_invented()]),
        lead=[recipe["from"]],
        large=[
            (_("In the end"), _("%(litres)s litres") % {"litres": recipe["litres"]}),
            (_("Contact time"), recipe["contact"]),
            (_("Made up"), made.at.strftime("%Y-%m-%d %H:%M")),
            (_("Discard at, UTC"), made.discard_at.strftime("%Y-%m-%d %H:%M")),
        ],
        pairs=[
            (_("Made up by"), made.by.name),
            (_("For"), names.get(made.code, made.code)),
            (_("Strength that was wanted"), _strength(made.wanted)),
            (_("Strength it was made from"), _strength(made.stock, made.form)),
            *([(_("Note"), made.note)] if made.note else []),
        ],
        lists=[
            (_("What goes into it"), True, recipe["lines"]),
            (_("Where it goes wrong"), False, [*told_traps(recipe.get("traps", ())), *recipe["notes"]]),
        ],
        blanks=[_("Checked by a second person: name, time")],
        names=[
            _("Recipe %(hash)s") % {"hash": short_hash(card_hash(made))},
            _("Facts %(hash)s") % {"hash": short_hash(made.operations)},
        ],
    )


def _strength(written: str, form: str = "") -> str:
    """As it was typed; a bare number with what it is of."""
    if not written.replace(".", "", 1).isdigit():
        return written
    return _("%(mg)s mg of chlorine in a tablet") % {"mg": written} if form == "tablet" else f"{written} %"


def told_traps(found: Sequence[Mapping[str, Any]]) -> Iterator[str]:
    """Traps as they are kept with the recipe, in words. A code of another version is left out."""
    words = words_now()
    own = {
        "made-up-to": _("Made up to %(litres)s litres in all. Never added to %(litres)s litres: it would be too weak."),
        "parts-either-way": _(
            "That is 1 part in %(whole)s of the whole. "
            "Read as 1 part and %(whole)s parts of water it would be %(gives)s %%."
        ),
        "usual-strength": _("Nobody read the label: %(percent)s %% is the usual strength of this product. Read it."),
        "spoons": _("A spoon holds more or less: weigh it where there is a scale."),
    }
    for one in found:
        if one["code"] in own:
            yield own[one["code"]] % one
        elif one["code"] in ("label", "whole-tablets"):
            yield words.term("dilution", one["code"])


# ---- the list ----


def list_hash(held: Sequence[Bag]) -> str:
    return hash_of([[one.number, one.case, one.room, one.stream, one.holds, one.amount, one.case_result or ""]
                    for one in held])  # fmt: skip


def on_hold() -> list[Bag]:
    return [one for one in bags() if one.stands == "on-hold"]


@never_cache
@door(GET="see-rooms")
def bags_on_hold(request: HttpRequest) -> HttpResponse:
    return _paper(list_of(on_hold()), "bags-on-hold.pdf")


def list_of(held: Sequence[Bag]) -> papers.Posted:
    """The list of these bags, with empty rows for those that come until it is printed again."""
    names = {one.code: one.name for one in rooms()}
    may, may_downgrade = (_roles(act) for act in ("release", "downgrade"))
    return papers.Posted(
        title=_("Waste on hold"),
        standing=" · ".join([_("Nothing leaves before the result of its case is there."), *_invented()]),
        lead=[
            _("Bags on hold: %(count)s.") % {"count": len(held)},
            _("Who may let one go: %(who)s. Into another stream: %(other)s, and only once the result is negative.")
            % {"who": may, "other": may_downgrade},
        ],
        table=Part(
            _("Bags"),
            (
                _("Number"),
                _("What, which stream"),
                _("From"),
                _("Weight or volume"),
                _("Held until"),
                _("Let go by: name, time"),
            ),
            (24, 0, 27, 22, 33, 34),
            [*(_row(one, names) for one in held), *[("",) * 6] * EMPTY_ROWS],
        ),
        blanks=[_("Counted against the bags that stand there: name, time"), _("Handed over to, and by: names, time")],
        names=[
            _("List %(hash)s") % {"hash": short_hash(list_hash(held))},
            _("Facts %(hash)s") % {"hash": short_hash(operations().digest)},
        ],
    )


def _row(bag: Bag, names: Mapping[str, str]) -> tuple[str, ...]:
    words = words_now()
    closed = next((one for one in bag.events if one.act == "closed"), None)
    told = {
        None: _("result of %(case)s"),
        "inconclusive": _("result of %(case)s; so far inconclusive"),
        "negative": _("result of %(case)s is negative: may be let go"),
        "positive": _("result of %(case)s is positive: may be let go in its stream"),
    }[bag.case_result] % {"case": bag.case}
    stream = words.waste(bag.stream) if bag.stream else ""
    when = closed.at[:16].replace("T", " ") if closed else ""
    return (
        bag.number,
        "; ".join(filter(None, (bag.holds, stream))),
        "\n".join(filter(None, (names.get(bag.room, bag.room), when))),
        bag.amount,
        told,
        "",
    )


def _roles(act: str) -> str:
    known: Sequence[Role] = [one for one in who_may(act, operations()) if one in ROLE_NAMES]  # type: ignore[arg-type,misc]
    return _(" or ").join(str(ROLE_NAMES[one]) for one in known)


def _invented() -> list[str]:
    return [_("Invented for demonstration")] if Unit.current().invented else []


def _paper(paper: papers.Posted, name: str) -> HttpResponse:
    unit = Unit.current()
    printed = papers.posted_pdf(paper, words_now(), unit=unit.name, printed_on=timezone.now().strftime(WHEN))
    response = HttpResponse(printed, content_type="application/pdf")
    response["Content-Disposition"] = f'inline; filename="{name}"'
    return response
