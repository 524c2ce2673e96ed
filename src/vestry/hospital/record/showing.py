"""A record as its page shows it: what went otherwise, who was there, and the timeline, a page of it at a time."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Any

from django.core.paginator import Page, Paginator
from django.utils.translation import gettext as _

from vestry.entry import EntryState, Event, Injected, contradictions, fold, in_order
from vestry.entry.events import LARGEST_COUNTER as LAST
from vestry.entry.removing import REMOVED, STILL_SAYS, removal_of
from vestry.hospital.anteroom.models import Tablet
from vestry.hospital.desk.mapper import approved_of
from vestry.hospital.record.flag_words import flag_told
from vestry.hospital.record.kind_words import KIND_WORDS, LOUD, STAGES
from vestry.hospital.record.mapper import led_of
from vestry.hospital.record.models import Entry, paper_of, remover_of
from vestry.hospital.record.naming import Namer, clock
from vestry.hospital.record.replaying import Moment, moment
from vestry.hospital.record.store import emptied_of, events_of
from vestry.hospital.record.told_words import SAYS_APART
from vestry.hospital.rooms.heat_now import minutes_of
from vestry.hospital.rooms.mapper import rooms

ON_A_PAGE = 150
Row = dict[str, Any]


@dataclass(frozen=True)
class RecordShown:
    """What the page of a record shows. `rows`: those of one page of the timeline; `page` is None where all are."""

    state: EntryState
    stage: Any
    took: str
    rows: list[Row]
    page: Page[tuple[int, Event]] | None
    deviations: list[Row]
    near_misses: list[Row]
    flags: list[Row]
    people: list[tuple[str, str]]
    clocks: list[tuple[str, str]]
    checks: list[Row]
    decided: list[Row]
    reached: list[Row]
    injected: list[Row]
    signed: list[Row]
    may_sign: tuple[str, ...]
    contradicted: list[Row]
    corrections: list[Row]
    removed: list[Row]
    emptied: int
    moment: Moment
    moment_says: str
    moment_step: str
    moment_injected: str


def show(entry: Entry, page: str | None = "1", at: int | None = None) -> RecordShown:
    """The page of a record, from its events alone. page: of the timeline; None: all of it, as printed."""
    return _Showing(entry).all(page, at)


class _Showing:
    def __init__(self, entry: Entry) -> None:
        self.entry, self.led = entry, led_of(entry.version)
        self.events = in_order(events_of(entry))
        self.emptied = emptied_of(entry)
        self.still = tuple(one for one in self.events if one.id not in self.emptied or one.kind in STILL_SAYS)
        self.state = fold(self.led, self.still)
        self.namer = Namer(entry, self.led)
        self.by_id = {one.id: one for one in self.events}
        self.flags: dict[str, list[str]] = defaultdict(list)
        # Where content was removed, what departs from how an entry is led cannot be told any more.
        self.told_flags = () if self.emptied else self.state.flags
        for flag in self.told_flags:
            self.flags[flag.event].append(flag_told(flag.what, self.namer.rule))
        self.devices = {str(one.pk): one.name for one in Tablet.objects.filter(pk__in=list(self.state.devices))}
        self.corrected: dict[str, list[Row]] = defaultdict(list)
        for one in self.events:
            if one.kind == "correction" and one.text("event"):
                self.corrected[one.text("event")].append(self.correction(one))

    def all(self, page: str | None, at: int | None) -> RecordShown:
        numbered = list(enumerate(self.events, 1))
        late = self.late_from()
        shown = Paginator(numbered, ON_A_PAGE).get_page(page) if page is not None else None
        now = moment(self.entry, self.still, len(self.still) if at is None else at, self.namer.words)
        state = self.state
        return RecordShown(
            state=state,
            stage=STAGES[state.stage],
            took=_took(state.opened_at, state.closed_at),
            rows=[self.row(number, one, late) for number, one in (shown if shown is not None else numbered)],
            page=shown,
            deviations=[self.namer.deviation(one) for one in state.deviations],
            near_misses=[{"at": clock(at_), "step": self.namer.step(step)} for at_, step in state.near_misses],
            flags=[{"at": clock(one.at), "what": flag_told(one.what, self.namer.rule)} for one in self.told_flags],
            people=self.people(),
            clocks=self.clocks(),
            checks=self.kinds("area-confirmed", "person-checked", "signal-checked", "inspected", "lane-cleared"),
            decided=[self.brief(one) for one in self.events if one.text("decided-by")],
            reached=self.kinds("breach", "exposure", "unwell"),
            injected=[self.injected(one) for one in state.injected],
            signed=self.kinds("signed"),
            may_sign=self.may_sign(),
            contradicted=[self.contradiction(one) for one in contradictions(self.still)],
            corrections=[self.correction(one) for one in self.events if one.kind == "correction"],
            removed=[self.removal(one) for one in self.events if one.kind == REMOVED],
            emptied=len(self.emptied),
            moment=now,
            moment_says=self.told(now.event),
            moment_step=self.namer.step(now.step) if now.step else "",
            moment_injected="; ".join(
                self.namer.injected(one.what, one.surface) for one in now.state.injected if not one.met_at
            ),
        )

    # ---- parts ----

    def people(self) -> list[tuple[str, str]]:
        entry, state = self.entry, self.state
        found = [(_("Wearer"), entry.wearer.name), (_("Trained observer"), entry.observer.name)]
        if state.observer and state.observer != entry.observer.sign_in:
            found.append((_("Observer at the end"), self.namer.person(state.observer)))
        found.append((_("Doffing assistant"), entry.assistant.name if entry.assistant else _("none")))
        found.append((_("Room"), self.room()))
        return found

    def room(self) -> str:
        if not self.entry.room:
            return _("not said")
        return next((one.name for one in rooms() if one.code == self.entry.room), self.entry.room)

    def clocks(self) -> list[tuple[str, str]]:
        state = self.state
        untimed = {one.kind for one in self.events if one.flag("untimed")}
        found = [
            (name, _("time not written") if kind in untimed else clock(at) if at else _("not said"))
            for name, kind, at in (
                (_("Opened"), "opened", state.opened_at),
                (_("Went in"), "entered", state.entered_at),
                (_("Came out"), "left", state.left_at),
                (_("Closed"), "closed", state.closed_at),
            )
        ]
        if state.entered_at and state.left_at and not untimed & {"entered", "left"}:
            opened = next((one.payload for one in self.events if one.kind == "opened"), {})
            limit = minutes_of(opened, approved_of(self.entry.version_id).plan.policy.limit_minutes)
            inside = _took(state.entered_at, state.left_at)
            found.append(
                (_("Inside"), _("%(inside)s, the unit's limit %(limit)s min") % {"inside": inside, "limit": limit})
            )
        short = sum(one.kind == "hygiene-timed" and one.note == "short" for one in state.noted)
        if short:
            found.append((_("Hygiene ended early"), str(short)))
        return found

    def may_sign(self) -> tuple[str, ...]:
        """Sign-in names of those whose signature is still wanted: observer and wearer, once it is over."""
        if not self.state.over or self.emptied:
            return ()
        wanted = {self.entry.wearer.sign_in, self.entry.observer.sign_in, self.state.observer or ""} - {""}
        return tuple(sorted(wanted - {one.actor for one in self.events if one.kind == "signed"}))

    def kinds(self, *kinds: str) -> list[Row]:
        return [self.brief(one) for one in self.events if one.kind in kinds]

    def brief(self, one: Event) -> Row:
        step = self.namer.step(one.step) if one.step else ""
        return {
            "at": clock(one.clock),
            "kind": self.kind(one),
            # Without its content an event says nothing: not even that somebody may not go in.
            "says": _("content removed") if one.id in self.emptied else self.namer.says(one),
            "step": step,
            "by": self.namer.person(one.actor),
        }

    def injected(self, one: Injected) -> Row:
        return {
            "at": clock(one.at),
            "what": self.namer.injected(one.what, one.surface),
            "step": self.namer.step(one.step) if one.step else "",
            "met": _("answered after %(took)s") % {"took": _took(one.at, one.met_at)}
            if one.met_at
            else _("not answered"),
        }

    def kind(self, one: Event) -> str:
        return str(KIND_WORDS.get(one.kind, _("%(kind)s (kept, not known here)") % {"kind": one.kind}))

    def told(self, one: Event | None) -> str:
        if one is None:
            return _("Before anything was said")
        parts = [clock(one.clock), self.kind(one), self.namer.step(one.step) if one.step else "", self.namer.says(one)]
        return " · ".join(part for part in parts if part)

    def correction(self, one: Event) -> Row:
        before = self.by_id.get(one.text("event"))
        return {
            "at": _day(one.clock),
            "by": self.namer.person(one.actor),
            "text": one.text("text"),
            "reason": one.text("reason"),
            "before": self.told(before) if before else "",
        }

    def removal(self, one: Event) -> Row:
        said = removal_of(LAST, {"entry": one.entry, "kind": one.kind, "payload": one.payload})
        if said is None:
            return {"on": "", "policy": "", "act": "", "places": 0}
        return {"on": said.on, "policy": said.policy, "act": said.act, "places": said.places}

    def contradiction(self, one: Any) -> Row:
        about = {"person": _("whether the person may go in"), "end": _("how it ended")}
        return {
            "about": about.get(one.about) or self.namer.step(one.about),
            "sides": [
                {
                    "device": self.device(event),
                    "says": str(SAYS_APART.get(says, says)),
                    "at": clock(event.clock),
                    "by": self.namer.person(event.actor),
                }
                for event, says in zip((one.first, one.second), one.says, strict=True)
            ],
        }

    def device(self, one: Event) -> str:
        if one.device == paper_of(self.entry):
            return _("printed sheet")
        if one.device == remover_of(self.entry):
            return _("the server")
        return self.devices.get(one.device, _("plain page %(part)s") % {"part": one.device[:8]})

    def late_from(self) -> dict[str, int]:
        """From which of its own numbers on a device wrote down what was on paper first."""
        found: dict[str, int] = {}
        for one in self.events:
            if one.kind == "late-transcribed":
                found.setdefault(one.device, one.counter)
        return found

    def row(self, number: int, event: Event, late: dict[str, int]) -> Row:
        named = event.text("course")
        course = self.led.course(named) if named else None
        actor = "" if event.actor == self.entry.observer.sign_in else self.namer.person(event.actor)
        gone = event.id in self.emptied
        from_paper = event.device in late and event.counter >= late[event.device]
        return {
            "number": number,
            "id": event.id,
            "at": "" if event.flag("untimed") else clock(event.clock),
            "kind": self.kind(event),
            "loud": event.kind in LOUD,
            "prompted": event.kind == "prompted",
            "step": self.namer.step(event.step, course) if event.step else "",
            "says": _("content removed") if gone else self.namer.says(event),
            "by": actor,
            "removed": gone,
            "device": self.device(event) if len(self.state.devices) > 1 else "",
            "late": from_paper,
            "gone": event.id in self.state.taken_back,
            "flags": self.flags.get(event.id, []),
            "corrected": self.corrected.get(event.id, []),
        }


def _took(since: str | None, until: str | None) -> str:
    if not (since and until):
        return ""
    took: timedelta = datetime.fromisoformat(until) - datetime.fromisoformat(since)
    minutes, seconds = divmod(int(took.total_seconds()), 60)
    if not minutes:
        return _("%(seconds)s s") % {"seconds": seconds}
    return _("%(minutes)s min %(seconds)02d s") % {"minutes": minutes, "seconds": seconds}


def _day(moment_: str) -> str:
    return datetime.fromisoformat(moment_).astimezone(UTC).strftime("%Y-%m-%d %H:%M")
