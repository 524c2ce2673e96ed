"""Steps, people and events of one entry by their names, as its record tells them."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any

from django.utils.translation import gettext as _

from vestry.entry import Course, Deviation, Event, Led
from vestry.entry.removing import REMOVED
from vestry.hospital import facts
from vestry.hospital.access.models import User
from vestry.hospital.call.models import UnitListVersion
from vestry.hospital.desk.mapper import approved_of
from vestry.hospital.language import words_now
from vestry.hospital.record.first_aid import KINDS, SITE_WORDS, WHO
from vestry.hospital.record.kind_words import CHECK_SAYS, KIND_WORDS, LANE_SAID, signed_told
from vestry.hospital.record.models import Entry
from vestry.hospital.record.told_words import DIRECTIONS, HOW, INJECTED, item_told, reason_told, rule_told
from vestry.hospital.rooms.heat_now import told as limit_told
from vestry.sequence import say
from vestry.trade.first_hour import LIST_NAMES, shipped_list
from vestry.trade.words import UnknownWord

_TOLD = (
    "reason", "decided-by", "text", "note", "to", "item", "by", "what", "seconds", "direction", "label", "receiver",
)  # fmt: skip


def clock(moment: str) -> str:
    """The time of day that a device's clock said."""
    return datetime.fromisoformat(moment).astimezone(UTC).strftime("%H:%M:%S")


class Namer:
    """Names what one entry speaks of."""

    def __init__(self, entry: Entry, led: Led) -> None:
        self.entry, self.led = entry, led
        self.words, self.catalogue = words_now(), facts.catalogue_of(entry.version.facts)
        self.people = dict(User.objects.values_list("sign_in", "name"))
        self.approved = approved_of(entry.version.pk)
        self._steps: dict[tuple[str, str | None], str] = {}
        self._lines: dict[tuple[str, str], str] = {}

    def step(self, step: str, course: Course | None = None) -> str:
        key = (step, course.name if course else None)
        if key not in self._steps:
            self._steps[key] = self._step(step, course)
        return self._steps[key]

    def _step(self, step: str, course: Course | None) -> str:
        for one in (course or self.led.plan, self.led.plan, *self.led.recoveries.values(), *self.led.team.values()):
            found = next((number for number, step_ in enumerate(one.steps, 1) if step_.id == step), None)
            if found is not None:
                short = say(one.steps[found - 1], self.words, self.catalogue).short
                role = next((role for role, own in self.led.team.items() if own is one), None)
                if role:
                    return _("Own way out, %(role)s, %(n)s. %(short)s") % {
                        "role": _known(WHO, role),
                        "n": found,
                        "short": short,
                    }
                if one is self.led.plan:
                    return f"{found}. {short}"
                return _("Answer, %(number)s. %(short)s") % {"number": found, "short": short}
        return step

    def person(self, sign_in: str | None) -> str:
        return self.people.get(sign_in, sign_in) if sign_in else ""

    def happened(self, events: tuple[str, ...]) -> str:
        return "; ".join(self.event(one) for one in events) or _("not sure what")

    def event(self, event: str) -> str:
        if event in ("not-sure", "something-else"):
            return {"not-sure": _("not sure what"), "something-else": _("something else")}[event]
        try:
            return self.words.event(event)
        except UnknownWord:
            return event

    def touched(self, name: str) -> str:
        for naming in (self.words.item, self.words.surface):
            try:
                return naming(name)
            except UnknownWord:
                continue
        return name

    def checked(self, check: str, item: str) -> str:
        """A line of the unit's list, as it said when the entry was opened; or what the tablet asks beside it."""
        return item_told(check, item, self._line)

    def rule(self, rule: str) -> str:
        """A rule that was overridden by name."""
        return rule_told(rule, self._line)

    def _line(self, check: str, item: str) -> str:
        if not self._lines:
            self._lines = lines_at(self.entry.created_at)
        return self._lines.get((check, item), item).rstrip(".")

    def crossed(self, item: str) -> str:
        """A thing that crossed the door: of the sorts that the tablet offers, or as it was typed."""
        try:
            return self.words.term("door-thing", item)
        except UnknownWord:
            return item

    def injected(self, what: str, surface: str | None) -> str:
        """What was put in for a drill, and where."""
        return ", ".join([*([self.touched(surface)] if surface else []), _known(INJECTED, what)])

    def trouble(self, what: str) -> str:
        try:
            return self.words.term("prepared", what)
        except UnknownWord:
            return what

    def deviation(self, one: Deviation) -> dict[str, Any]:
        answer = self.approved.answer_named(one.answered_by) if one.answered_by else None
        what = self.happened(one.events) if one.kind == "deviation" else str(KIND_WORDS[one.kind])
        if one.touched:
            what = f"{what}: {self.touched(one.touched)}"
        taken = _("the approved answer to this step, %(count)s steps") % {"count": len(answer.steps)} if answer else ""
        return {"at": clock(one.at), "step": self.step(one.step), "what": what, "note": one.note, "answer": taken}

    def says(self, event: Event) -> str:
        parts: list[str] = []
        if event.kind == "deviation":
            parts = [self.happened(event.texts("events"))]
        elif event.kind == "opened":
            parts = [self.person(event.text(who)) for who in ("wearer", "observer", "assistant")]
            if event.text("limit-why"):
                parts.append(limit_told(event.payload, self.approved.plan.policy.limit_minutes))
        elif event.kind == REMOVED:
            return _("on %(on)s, under %(policy)s") % {"on": event.text("on"), "policy": event.text("policy")}
        elif event.kind == "item-checked":
            parts = [self.checked(event.text("check"), event.text("item")), _known(CHECK_SAYS, event.text("says"))]
        elif event.kind == "overridden":
            parts = [
                *map(self.rule, event.texts("rules")),
                event.text("alternative"),
                signed_told(event.text("signed")),
            ]
        elif event.kind == "person-checked":
            parts = [_("may go in") if event.flag("may") else _("may not go in")]
        elif event.kind in ("breach", "exposure"):
            parts = [
                _known(KINDS, event.text("sort")),
                _known(SITE_WORDS, event.text("site")),
                _known(WHO, event.text("who")),
            ]
        elif event.kind in ("tear", "soiling"):
            parts = [self.touched(event.text("item") or event.text("surface"))]
        elif event.kind in ("lane-cleared", "undressing-begun", "undressing-left-out"):
            done = [_known(LANE_SAID, one) for one in event.texts("done")]
            parts = [*done, _known(WHO, event.text("role")), _known(HOW, event.text("how"))]
        elif event.kind == "drill-injected":
            parts = [self.injected(event.text("what"), event.text("surface"))]
        told = {name: event.text(name) for name in _TOLD if event.kind not in ("breach", "exposure")}
        if event.kind in ("observer-handed-over", "late-transcribed"):
            told = {name: self.person(one) if name in ("to", "by") else one for name, one in told.items()}
        if event.kind == "overridden":
            told["decided-by"] = self.person(told["decided-by"])
        if event.kind in ("tear", "item-checked"):
            told["item"] = ""
        if event.kind == "drill-injected":
            told["what"] = ""
        if event.kind == "item-crossed":
            told["item"] = self.crossed(told["item"])
        if event.kind == "pressed-wrongly" and told["note"] == "STOP":
            told["note"] = str(KIND_WORDS["stopped"])
        if event.kind == "coming-out":
            told["note"] = reason_told(told["note"])
        if "reason" in event.payload:
            told["reason"] = reason_told(told["reason"])
        if told.get("direction"):
            told["direction"] = _known(DIRECTIONS, told["direction"])
        if event.kind == "unwell":
            told["what"] = "" if told["what"] == event.kind else self.trouble(told["what"])
        return ", ".join(part for part in [*parts, *told.values()] if part)


def _known(words: Any, said: str) -> str:
    return str(words.get(said, said))


def lines_at(moment: datetime) -> dict[tuple[str, str], str]:
    """What each line of the unit's lists said then, by list and line; what was shipped where none was written."""
    found: dict[tuple[str, str], str] = {}
    for name in LIST_NAMES:
        found |= {(name, one.id): _(one.say) for one in shipped_list(name).items}
    for version in UnitListVersion.objects.filter(at__lte=moment).order_by("number"):
        found |= {(version.name, one["id"]): _(one["say"]) for one in version.items}
    return found
