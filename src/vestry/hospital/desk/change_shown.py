"""A changed case as its page shows it: sentences, rows and pictures, as plain data for a template."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from django.utils.safestring import SafeString, mark_safe
from django.utils.translation import gettext

from vestry.contact.exposure import loads_on_arrival
from vestry.figure import FigureView, UnknownItem, compose
from vestry.sequence import CaseChange, say
from vestry.sequence.case_change import Exit, Person
from vestry.sequence.change_telling import (
    told_adding,
    told_afterwards,
    told_asked,
    told_case,
    told_exit,
    told_lane,
    told_loads,
    told_next_in,
    told_person,
    told_site,
    told_title,
    told_turn,
)
from vestry.sequence.setting import setting_for
from vestry.sequence.telling import told_change, told_surface
from vestry.trade import Catalogue
from vestry.trade.words import Words

_OFF_THE_PERSON = frozenset({"place", "air", "assistant", "observer"})


def show(found: CaseChange, names: Mapping[str, str], words: Words, catalogue: Catalogue) -> dict[str, Any]:
    """Everything that the page shows of a finding."""
    return _Shower(found, names, words, catalogue).show()


@dataclass(frozen=True)
class _Shower:
    found: CaseChange
    names: Mapping[str, str]
    words: Words
    catalogue: Catalogue

    def show(self) -> dict[str, Any]:
        found, words = self.found, self.words
        return {
            "title": told_title(found, words),
            "told": told_case(found, words),
            "asked": told_asked(found, words),
            "afterwards": told_afterwards(found, words),
            "next_in": told_next_in(found, words),
            "unapproved": words.finding("case.unapproved"),
            "enough": found.enough,
            "ruled_out": found.ruled_out is not None and bool(found.people),
            "turns": [self.turn(number) for number in range(len(found.order))],
            "lane": told_lane(found, self.names, words),
            "lane_clean": found.lane is None or found.lane.clean,
            "people": [self.person(self.by_code(turn.code)) for turn in found.order],
        }

    def by_code(self, code: str) -> Person:
        return next(one for one in self.found.people if one.code == code)

    def turn(self, number: int) -> dict[str, Any]:
        turn = self.found.order[number]
        _, *told = told_turn(turn, self.names[turn.code], self.words)
        return {
            "name": self.names[turn.code],
            "code": turn.code,
            "must": turn.must,
            "reason": self.words.term("because-first", turn.because),
            "told": told,
            "late": turn.late,
        }

    def person(self, person: Person) -> dict[str, Any]:
        way, words = self.found.exit_of(person), self.words
        return {
            "code": person.code,
            "name": self.names[person.code],
            "enough": person.enough,
            "out": person.out,
            "stays": person.stays,
            "wears": [words.item_short(item) for item in person.worn if item in self.catalogue.items],
            "told": told_person(person, words, self.catalogue),
            "loads": told_loads(person, words),
            "adding": told_adding(person, words),
            "exit": told_exit(person, way, words),
            "clean": way is not None and (way.clean or way.take is not None),
            "figure": self.figure(person, way),
            "sites": [self.site(one) for one in person.sites],
            "way": self.way(way) if way else None,
        }

    def site(self, one: Any) -> dict[str, Any]:
        return {
            "site": told_site(one.site, self.words),
            "load": self.words.term("load", one.load),
            "by": told_surface(one.by, self.words) if one.by else self.words.term("cover", one.cover),
            "through": self.words.term("load", one.through),
            "more": one.through != "none" and one.through != one.was,
            "open": one.cover in ("nothing", "clothing") and one.through != "none",
        }

    def way(self, way: Exit) -> dict[str, Any]:
        taken = next((one for one in way.practised if one.name == way.take), None)
        procedure = taken.name.removeprefix("procedure:") if taken and taken.approved else ""
        changes, beside = [], None
        if way.comparison is not None:
            changes = [
                (row.change, told_change(row, self.words, self.catalogue))
                for row in way.comparison.steps
                if row.change != "kept"
            ]
            beside = way.comparison.a.title
        return {
            "procedure": procedure,
            "title": taken.title if taken else "",
            "computed": taken is None or not taken.same,
            "changes": changes,
            "beside": beside,
            "steps": [
                {
                    "number": number,
                    "who": self.words.term("who", step.who),
                    "says": say(step, self.words, self.catalogue).say,
                }
                for number, step in enumerate(way.plan.steps, 1)
            ],
            "hash": way.plan.hash,
        }

    def figure(self, person: Person, way: Exit | None) -> SafeString | None:
        """The person as dressed now, with what the case now puts on them; None where a piece cannot be drawn."""
        case = self.found.after or self.found.before
        dirty = set(loads_on_arrival(self.catalogue, person.worn, setting_for(case, self.catalogue)))
        start = way.plan.start if way else None
        if start is not None:
            dirty = set(start.contaminated) if start.alone else dirty | set(start.contaminated)
        marked = sorted(name for name in dirty if name.partition(".")[0] not in _OFF_THE_PERSON)
        names = ", ".join(told_surface(one, self.words) for one in marked)
        view = FigureView(
            worn=person.worn,
            contaminated=frozenset(marked),
            title=gettext("%(code)s now") % {"code": self.names[person.code]},
            desc=gettext("May be contaminated: %(names)s.") % {"names": names} if names else "",
        )
        try:
            return mark_safe(compose(view, prefix=f"p-{person.code}-", height=420))  # our own drawing
        except (UnknownItem, KeyError, ValueError):
            return None
