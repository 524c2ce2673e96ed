"""A record as its page shows it: the timeline with times, what went otherwise, who was there."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Any

from vestry.entry import Course, EntryState, Event, Led, fold, in_order
from vestry.hospital import facts
from vestry.hospital.access.models import User
from vestry.hospital.desk.mapper import approved_of
from vestry.hospital.language import words_now
from vestry.hospital.record.mapper import led_of
from vestry.hospital.record.models import Entry
from vestry.hospital.record.store import events_of
from vestry.hospital.rooms.heat_now import told as limit_told
from vestry.sequence import say
from vestry.trade.words import UnknownWord

KIND_WORDS = {
    "opened": "Entry opened",
    "area-confirmed": "Doffing area confirmed",
    "person-checked": "Person checked",
    "signal-checked": "Signals agreed",
    "stop-said": "Stop spoken",
    "read": "Read",
    "acknowledged": "Acknowledged",
    "done-seen": "Done and seen",
    "done-not-seen": "Done, not seen",
    "prompted": "Prompted just in time",
    "stopped": "STOP",
    "resumed": "Resumed",
    "deviation": "Deviation",
    "tear": "Tear",
    "soiling": "Soiling",
    "zone-crossed": "Line crossed",
    "unwell": "Unwell",
    "recovery-taken": "Approved answer taken",
    "glove-changed": "Gloves changed",
    "hygiene-timed": "Hygiene timed",
    "entered": "Went in",
    "relief-called": "Relief called",
    "coming-out": "Way out begun",
    "left": "Came out",
    "item-crossed": "Item crossed the door",
    "lane-cleared": "Lane cleared",
    "undressing-begun": "Own way out begun",
    "undressing-left-out": "Own way out left out",
    "breach": "Breach",
    "exposure": "Exposure",
    "inspected": "Inspected",
    "observer-handed-over": "Observer handed over",
    "device-taken-over": "Device taken over",
    "pressed-wrongly": "Pressed wrongly",
    "correction": "Correction",
    "signed": "Signed",
    "abandoned": "Abandoned",
    "closed": "Entry closed",
    "late-transcribed": "Transcribed late",
    "drill-injected": "Put in for the drill",
}
LOUD = {
    "stopped",
    "deviation",
    "tear",
    "soiling",
    "zone-crossed",
    "breach",
    "exposure",
    "recovery-taken",
    "abandoned",
    "unwell",
}


@dataclass(frozen=True)
class RecordShown:
    """What the page of a record shows."""

    state: EntryState
    stage: str
    took: str
    rows: list[dict[str, Any]]
    deviations: list[dict[str, Any]]
    near_misses: list[dict[str, str]]
    flags: list[dict[str, str]]
    people: list[tuple[str, str]]


STAGES = {
    "not-opened": "not opened",
    "under-way": "under way",
    "held": "held",
    "walked": "last step done, not closed",
    "closed": "closed",
    "abandoned": "abandoned",
}


def show(entry: Entry) -> RecordShown:
    """The page of a record, from its events alone."""
    led, events = led_of(entry.version), events_of(entry)
    state = fold(led, events)
    namer = _Namer(entry, led)
    rows = [namer.row(event, state) for event in in_order(events)]
    return RecordShown(
        state=state,
        stage=STAGES[state.stage],
        took=_took(state),
        rows=rows,
        deviations=[namer.deviation(one) for one in state.deviations],
        near_misses=[{"at": clock(at), "step": namer.step(step)} for at, step in state.near_misses],
        flags=[{"at": clock(one.at), "what": one.what} for one in state.flags],
        people=[
            ("Wearer", entry.wearer.name),
            ("Trained observer", entry.observer.name),
            ("Doffing assistant", entry.assistant.name if entry.assistant else "none"),
        ],
    )


def clock(moment: str) -> str:
    """The time of day that a device's clock said."""
    return datetime.fromisoformat(moment).astimezone(UTC).strftime("%H:%M:%S")


def _took(state: EntryState) -> str:
    if not (state.opened_at and state.closed_at):
        return ""
    took: timedelta = datetime.fromisoformat(state.closed_at) - datetime.fromisoformat(state.opened_at)
    minutes, seconds = divmod(int(took.total_seconds()), 60)
    return f"{minutes} min {seconds:02d} s" if minutes else f"{seconds} s"


class _Namer:
    """Names steps, people and events of one entry."""

    def __init__(self, entry: Entry, led: Led) -> None:
        self.entry, self.led = entry, led
        self.words, self.catalogue = words_now(), facts.catalogue_of(entry.version.facts)
        self.people = dict(User.objects.values_list("sign_in", "name"))
        self.numbers = {step.id: number for number, step in enumerate(led.plan.steps, 1)}
        self.approved = approved_of(entry.version.pk)

    def step(self, step: str, course: Course | None = None) -> str:
        for one in (course or self.led.plan, self.led.plan, *self.led.recoveries.values(), *self.led.team.values()):
            found = next((number for number, step_ in enumerate(one.steps, 1) if step_.id == step), None)
            if found is not None:
                short = say(one.steps[found - 1], self.words, self.catalogue).short
                role = next((role for role, own in self.led.team.items() if own is one), None)
                where = f"Own way out, {role}, " if role else "" if one is self.led.plan else "Answer, "
                return f"{where}{found}. {short}"
        return step

    def happened(self, events: tuple[str, ...]) -> str:
        return "; ".join(self._event(one) for one in events) or "not sure what"

    def _event(self, event: str) -> str:
        if event in ("not-sure", "something-else"):
            return {"not-sure": "not sure what", "something-else": "something else"}[event]
        try:
            return self.words.event(event)
        except UnknownWord:
            return event

    def deviation(self, one: Any) -> dict[str, Any]:
        answer = self.approved.answer_named(one.answered_by) if one.answered_by else None
        return {
            "at": clock(one.at),
            "step": self.step(one.step),
            "what": self.happened(one.events),
            "note": one.note,
            "kind": KIND_WORDS[one.kind],
            "answer": f"the approved answer to this step, {len(answer.steps)} steps" if answer else "",
        }

    def row(self, event: Event, state: EntryState) -> dict[str, Any]:
        flags = [one.what for one in state.flags if one.event == event.id]
        return {
            "at": clock(event.clock),
            "kind": KIND_WORDS.get(event.kind, f"{event.kind} (kept, not known here)"),
            "loud": event.kind in LOUD,
            "prompted": event.kind == "prompted",
            "step": self.step(event.step, self._course(event)) if event.step else "",
            "says": self._says(event),
            "by": "" if event.actor == self.entry.observer.sign_in else self.people.get(event.actor, event.actor),
            "flags": flags,
        }

    def _course(self, event: Event) -> Course | None:
        named = event.payload.get("course")
        return self.led.course(str(named)) if named else None

    def _says(self, event: Event) -> str:
        if event.kind == "deviation":
            parts = [self.happened(tuple(str(one) for one in event.payload["events"]))]
        elif event.kind == "opened":
            parts = [self.people.get(str(event.payload.get(who)), "") for who in ("wearer", "observer", "assistant")]
            if event.payload.get("limit-why"):
                parts.append(limit_told(event.payload, approved_of(self.entry.version_id).plan.policy.limit_minutes))
        else:
            parts = []
        told = ("reason", "decided-by", "text", "note", "to", "item", "site")
        if event.kind in ("lane-cleared", "undressing-begun", "undressing-left-out"):
            parts += [*event.texts("done"), event.text("role"), event.text("how")]
        parts += [str(event.payload[name]) for name in told if event.payload.get(name)]
        return ", ".join(part for part in parts if part)
