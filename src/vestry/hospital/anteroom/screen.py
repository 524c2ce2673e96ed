"""What the observer's tablet shows now: a step, a held step, the approved answer, the hold card, or the end.

Only what is needed at this moment. No margins and no quantities: they read as permission.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from typing import Any, Literal

from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from vestry.entry import Course, EntryState, Led, StepRecord
from vestry.entry.courses import PLAN
from vestry.hospital import facts
from vestry.hospital.anteroom.answers import NOT_SURE, SOMETHING_ELSE, offered
from vestry.hospital.anteroom.picture import Picture, picture
from vestry.hospital.anteroom.presses import next_own
from vestry.hospital.desk.mapper import answer_scenes_of, own_scenes_of
from vestry.hospital.language import words_now
from vestry.hospital.record.models import Entry
from vestry.procedure import Answer, Approved, Scene
from vestry.sequence import PlanStep, say
from vestry.trade.words import UnknownWord

LANE_WORDS = {
    "seat": _("Seat wiped"),
    "floor": _("Floor wiped"),
    "bins": _("Bins closed and changed"),
    "restock": _("Restocked"),
}
"""The parts of the lane's turnaround (entry.LANE_TASKS), as a key says them."""

Kind = Literal["stop-point", "step", "held", "answer", "hold-card", "walked", "over"]


@dataclass(frozen=True)
class Line:
    """One step in words, as a screen shows it."""

    id: str
    number: int
    who: str
    does: str
    say: str
    watch: str
    short: str
    waste: str = ""

    @property
    def sentences(self) -> tuple[str, ...]:
        """What is read aloud, a line for each sentence."""
        return sentences(self.say)

    @property
    def size(self) -> str:
        """How large the letters may be: a CSS class."""
        return size(self.say)


def sentences(text: str) -> tuple[str, ...]:
    """The sentences of a text."""
    return tuple(re.split(r"(?<=[.?!])\s+", text.strip()))


_SIZES = (("short", 22, 3), ("middle", 28, 4), ("long", 36, 5))
"""CSS classes of letters, largest first: about how many of them go on a line, and how many lines there is room for."""


def size(text: str) -> str:
    """The class for letters as large as a text allows."""
    for name, across, most in _SIZES:
        if sum(-(-len(one) // across) for one in sentences(text)) <= most:
            return name
    return "longer"


@dataclass(frozen=True)
class Mark:
    """One mark on the floor line: a step walked, where we are, or still ahead; a post at a spoken stop."""

    at: float
    sort: Literal["walked", "here", "ahead"]
    post: bool


@dataclass(frozen=True)
class Screen:
    """Everything that the tablet shows at one moment."""

    kind: Kind
    course: str
    number: int = 0
    count: int = 0
    lines: tuple[Line, ...] = ()
    stop_name: str = ""
    stop_say: str = ""
    read: bool = False
    acknowledged: bool = False
    prompted: int = 0
    happened: str = ""
    clean_side_yet: bool = False
    deviations: tuple[tuple[str, str, str], ...] = ()
    answer: Answer | None = None
    answer_lines: tuple[Line, ...] = ()
    exposed: tuple[str, ...] = ()
    floor: tuple[Mark, ...] = ()
    picture: Picture | None = None
    held_since: str = ""
    entered: str = ""
    phase: str = ""
    own: str = ""
    own_name: str = ""
    lane: tuple[tuple[str, str, bool], ...] = ()

    @property
    def line(self) -> Line | None:
        """The step that is led, or the first of its group."""
        return self.lines[0] if self.lines else None

    @property
    def last_number(self) -> int:
        """The number of the last step of the group."""
        return self.number + len(self.lines) - 1

    @property
    def watches(self) -> tuple[str, ...]:
        """The one thing to watch; of a group, that of its last step."""
        return tuple(one.watch for one in self.lines[-1:])

    @property
    def stop_sentences(self) -> tuple[str, ...]:
        """What is said at a spoken stop, a line for each sentence."""
        return sentences(self.stop_say)

    @property
    def stop_size(self) -> str:
        """How large its letters may be."""
        return size(self.stop_say)

    @property
    def near_fits(self) -> bool:
        """Whether there is room for the near view beside what is read."""
        if self.kind != "step" or self.picture is None or self.picture.near is None or self.line is None:
            return False
        return len(self.lines) == 1 and self.line.size in ("short", "middle")

    @property
    def dark(self) -> bool:
        """Whether everything is held."""
        return self.kind in ("held", "answer", "hold-card")


def screen(entry: Entry, approved: Approved, led: Led, state: EntryState) -> Screen:
    """The screen for this state."""
    shown = _Screens(entry, approved, led, state).now()
    return replace(shown, entered=_clock(state.entered_at), held_since=_clock(state.held.at if state.held else None))


def _clock(moment: str | None) -> str:
    return datetime.fromisoformat(moment).astimezone(UTC).strftime("%H:%M") if moment else ""


class _Screens:
    def __init__(self, entry: Entry, approved: Approved, led: Led, state: EntryState) -> None:
        self.entry, self.approved, self.led, self.state = entry, approved, led, state
        self.course: Course = led.course(state.course) or led.plan
        self.words, self.catalogue = words_now(), facts.catalogue_of(approved.approval.facts)

    def now(self) -> Screen:
        if self.state.over:
            return Screen("over", self.course.name)
        if self.state.held is not None:
            return self.held()
        if self.state.position >= len(self.course.steps):
            return self.walked()
        return self.step()

    # ---- the screens ----

    def walked(self) -> Screen:
        """The last step of a way out is done: whose own way is next, and the turnaround of the lane."""
        role = next_own(self.state)
        person = {"observer": self.entry.observer, "assistant": self.entry.assistant}.get(role or "")
        done = self.state.lane_done
        return Screen(
            "walked",
            self.course.name,
            floor=self.floor(),
            count=len(self.course.steps),
            own=role or "",
            own_name=person.given if person else f"the {role}" if role else "",
            lane=tuple((one, str(says), one in done) for one, says in LANE_WORDS.items()) if self.state.left_at else (),
        )

    def step(self) -> Screen:
        steps = self.led.group(self.course, self.state.position)
        first, record = steps[0], self.record(steps[0])
        point = self.words.stop(first.stop_point) if first.stop_point else None
        waiting = point is not None and record.stop_said_at is None
        return Screen(
            "stop-point" if waiting else "step",
            self.course.name,
            number=self.state.position + 1,
            count=len(self.course.steps),
            lines=self.lines(steps),
            read=record.read_at is not None or self.state.one_press,
            acknowledged=record.acknowledged_at is not None,
            prompted=record.prompted,
            stop_name=point.name if point else "",
            stop_say=point.say if point else "",
            floor=self.floor(),
            picture=self.picture(self.state.position, plain=waiting),
            phase=first.phase,
        )

    def held(self) -> Screen:
        held = self.state.held
        assert held is not None
        place = next((n for n, one in enumerate(self.course.steps) if one.id == held.step), self.state.position)
        place = min(place, len(self.course.steps) - 1)
        steps = self.led.group(self.course, place)
        common: dict[str, Any] = {
            "number": place + 1,
            "count": len(self.course.steps),
            "floor": self.floor(),
            "picture": self.picture(place, plain=True),
            "lines": self.lines(steps),
            "clean_side_yet": steps[0].phase in ("before", "donning"),
        }
        if held.happened is None:
            return Screen("held", self.course.name, deviations=self.deviations(place, steps), **common)
        happened = " · ".join(self.event(one) for one in held.happened.events)
        found = offered(self.approved, self.state)
        if found is None:
            return Screen("hold-card", self.course.name, happened=happened, **common)
        at = next(one for one in self.led.plan.steps if one.id == held.happened.step)
        return Screen(
            "answer",
            self.course.name,
            happened=happened,
            answer=found,
            answer_lines=tuple(self.line(step, number) for number, step in enumerate(found.steps, 1)),
            exposed=tuple(self.words.surface(one) for one in found.recovery.exposed),
            **(common | {"lines": (self.line(at, place + 1),)}),
        )

    # ---- their parts ----

    def record(self, step: PlanStep) -> StepRecord:
        return self.state.record(step.id, self.course.name) or StepRecord(self.course.name, step.id)

    def lines(self, steps: tuple[PlanStep, ...]) -> tuple[Line, ...]:
        return tuple(self.line(step, self.number(step)) for step in steps)

    def number(self, step: PlanStep) -> int:
        return next(n for n, one in enumerate(self.course.steps, 1) if one.id == step.id)

    def line(self, step: PlanStep, number: int) -> Line:
        said = say(step, self.words, self.catalogue)
        names = {
            "wearer": self.entry.wearer.given,
            "observer": self.entry.observer.given,
            "assistant": self.entry.assistant.given if self.entry.assistant else gettext("The assistant"),
        }
        who = names.get(step.who, self.entry.wearer.given)
        helps = {"both": "assistant", "wearer-and-observer": "observer"}.get(step.who)
        if helps:
            does = gettext("%(who)s and %(other)s do this") % {"who": names["wearer"], "other": names[helps]}
        elif step.act == "inspect":
            does = gettext("%(who)s looks") % {"who": who}
        elif step.act == "confirm":
            does = gettext("%(who)s confirms") % {"who": who}
        else:
            does = gettext("%(who)s does this") % {"who": who}
        return Line(
            step.id,
            number,
            who,
            does,
            said.say,
            said.watch,
            said.short,
            self.words.waste(step.waste) if step.waste else "",
        )

    def deviations(self, place: int, steps: tuple[PlanStep, ...]) -> tuple[tuple[str, str, str], ...]:
        """(step, event, words) for the few deviations of this step, or of each step of the group."""
        scenes = self.scenes()
        return tuple(
            (step.id, event, self.event(event))
            for offset, step in enumerate(steps)
            for event in scenes[place + offset].slips
        )

    def event(self, event: str) -> str:
        known = {NOT_SURE: gettext("not sure what happened"), SOMETHING_ELSE: gettext("something else")}
        if event in known:
            return known[event]
        try:
            return self.words.event(event)
        except UnknownWord:
            return event

    def floor(self) -> tuple[Mark, ...]:
        count = len(self.course.steps)
        here = self.state.position
        return tuple(
            Mark(
                round(2 + 96 * number / max(count - 1, 1), 2),
                "here" if number == here else "walked" if self.record(step).done else "ahead",
                step.stop_point is not None,
            )
            for number, step in enumerate(self.course.steps)
        )

    def scenes(self) -> tuple[Scene, ...]:
        if self.course.name == PLAN:
            return self.approved.scenes
        role = next((role for role, one in self.led.team.items() if one.name == self.course.name), None)
        if role is not None:
            return own_scenes_of(self.entry.version.pk, role) or self.bare_scenes()
        scenes = answer_scenes_of(self.entry.version.pk, self.course.name)
        return scenes or self.bare_scenes()

    def bare_scenes(self) -> tuple[Scene, ...]:
        return tuple(Scene(step=step.id, worn=self.state.worn) for step in self.course.steps)

    def picture(self, place: int, plain: bool = False) -> Picture | None:
        return picture(self.scenes()[place], self.words, plain)
