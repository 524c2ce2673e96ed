"""The state of an entry while it is being folded."""

from __future__ import annotations

from dataclasses import dataclass, field, replace

from vestry.entry.courses import PLAN, Course, Led
from vestry.entry.events import Event
from vestry.entry.state import (
    Checked,
    Crossing,
    Deviation,
    EntryState,
    Flag,
    Held,
    Injected,
    Noted,
    OwnWay,
    Stage,
    StepRecord,
)
from vestry.sequence.plan import PlanStep


@dataclass
class Now:
    """The state while it is being folded."""

    led: Led
    course: Course
    worn: list[str]
    stage: Stage = "not-opened"
    people: dict[str, str] = field(default_factory=dict)
    times: dict[str, str] = field(default_factory=dict)
    drill: bool = False
    one_press: bool = False
    steps: dict[tuple[str, str], StepRecord] = field(default_factory=dict)
    held: Held | None = None
    holds: list[tuple[str, str | None]] = field(default_factory=list)
    deviations: list[Deviation] = field(default_factory=list)
    near_misses: list[tuple[str, str]] = field(default_factory=list)
    recoveries: list[tuple[str, str]] = field(default_factory=list)
    flags: list[Flag] = field(default_factory=list)
    corrections: list[str] = field(default_factory=list)
    may_go_in: bool | None = None
    checks: dict[tuple[str, str], Checked] = field(default_factory=dict)
    began: bool = False
    noted: list[Noted] = field(default_factory=list)
    crossings: list[Crossing] = field(default_factory=list)
    injected: list[Injected] = field(default_factory=list)
    taken_back: list[str] = field(default_factory=list)
    devices: list[str] = field(default_factory=list)
    leads: str | None = None
    transcribing: list[str] = field(default_factory=list)
    unknown: list[str] = field(default_factory=list)
    lane_done: list[str] = field(default_factory=list)
    own: dict[str, OwnWay] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self.own = {role: OwnWay(role) for role in self.led.team}

    def flag(self, event: Event, what: str) -> None:
        self.flags.append(Flag(event.clock, event.id, what))

    # ---- held, and no longer ----

    def hold(self, event: Event) -> None:
        self.held = Held(event.clock, self.course.name, event.step or "")
        self.holds.append((event.clock, None))

    def let_go(self, event: Event) -> None:
        if self.held is not None:
            self.holds[-1] = (self.holds[-1][0], event.clock)
        self.held = None

    def meet(self, event: Event) -> None:
        """The team answers what was put in for the drill and is not answered yet."""
        self.injected = [one if one.met_at else replace(one, met_at=event.clock) for one in self.injected]

    # ---- where the entry stands ----

    def position(self) -> int:
        # Asked for at nearly every event: what is not recorded is not made only to be asked whether it is done.
        name, steps = self.course.name, self.steps
        for number, step in enumerate(self.course.steps):
            record = steps.get((name, step.id))
            if record is None or record.done_at is None:
                return number
        return len(self.course.steps)

    def of(self, step: str) -> StepRecord:
        known = self.steps.get((self.course.name, step))
        return StepRecord(self.course.name, step) if known is None else known

    def put(self, record: StepRecord) -> None:
        self.steps[record.course, record.step] = record

    def here(self, event: Event) -> PlanStep | None:
        """The step that the event speaks of, in the course led now; flagged when there is none."""
        name = event.step
        found = next((step for step in self.course.steps if step.id == name), None)
        if found is None:
            self.flag(event, "of a step that is not on the way that is led")
        return found

    def in_turn(self, step: PlanStep) -> bool:
        position = self.position()
        if position == len(self.course.steps):
            return False
        return any(one.id == step.id for one in self.led.group(self.course, position))

    def unchecked(self) -> list[str]:
        """What is not confirmed, of the three that come before anyone goes in, where the plan asks for it."""
        asked = {step.topic for step in self.led.plan.steps if step.act == "confirm"}
        return [
            said
            for topic, done, said in (
                ("area-confirmed", "area-confirmed" in self.times, "the doffing area was confirmed"),
                ("person-checked", self.may_go_in is not None, "the person was checked"),
                ("signals-agreed", "signal-checked" in self.times, "signals were checked"),
            )
            if topic in asked and not done
        ]

    def begin(self, event: Event) -> None:
        """The first step of donning is done: what had to be confirmed before it and was not, is flagged."""
        if not self.began:
            self.began = True
            for said in self.unchecked():
                self.flag(event, f"donning began before {said}")

    def wear(self, step: PlanStep) -> None:
        if step.act == "don":
            self.worn += [item for item in step.items if item not in self.worn]
        elif step.act == "doff":
            self.worn = [item for item in self.worn if item not in step.items]
        elif step.act == "change-gloves":
            self.worn = [item for item in self.worn if item not in step.items] + ["fresh-gloves"]

    def finished(self, event: Event) -> None:
        """What a step just done brought to its end: the donning, or somebody's own way out."""
        if self.course.name == PLAN and "dressed" not in self.times:
            donning = [step for step in self.course.steps if step.phase == "donning"]
            if donning and all(self.of(step.id).done for step in donning):
                self.times["dressed"] = event.clock
        own = next((role for role, course in self.led.team.items() if course.name == self.course.name), None)
        if own is not None and self.own[own].done_at is None and self.position() == len(self.course.steps):
            self.own[own] = replace(self.own[own], done_at=event.clock)

    def state(self) -> EntryState:
        position = self.position()
        stage = self.stage
        if stage == "under-way" and position == len(self.course.steps):
            stage = "walked"
        own = [course.name for course in self.led.team.values()]
        order = {name: place for place, name in enumerate([PLAN, *(name for _, name in self.recoveries), *own])}
        return EntryState(
            stage=stage,
            wearer=self.people.get("wearer"),
            observer=self.people.get("observer"),
            assistant=self.people.get("assistant"),
            drill=self.drill,
            one_press=self.one_press,
            opened_at=self.times.get("opened"),
            dressed_at=self.times.get("dressed"),
            entered_at=self.times.get("entered"),
            coming_out_at=self.times.get("coming-out"),
            left_at=self.times.get("left"),
            closed_at=self.times.get("closed"),
            area_confirmed_at=self.times.get("area-confirmed"),
            signals_checked_at=self.times.get("signal-checked"),
            may_go_in=self.may_go_in,
            checks=tuple(self.checks.values()),
            course=self.course.name,
            position=position,
            worn=tuple(self.worn),
            steps=tuple(sorted(self.steps.values(), key=lambda one: order.get(one.course, len(order)))),
            held=self.held,
            holds=tuple(self.holds),
            deviations=tuple(self.deviations),
            near_misses=tuple(self.near_misses),
            recoveries=tuple(self.recoveries),
            flags=tuple(self.flags),
            corrections=tuple(self.corrections),
            noted=tuple(self.noted),
            crossings=tuple(self.crossings),
            injected=tuple(self.injected),
            lane_done=tuple(self.lane_done),
            lane_cleared_at=self.times.get("lane-cleared"),
            team=tuple(self.own.values()),
            taken_back=tuple(self.taken_back),
            devices=tuple(self.devices),
            leads=self.leads,
            transcribed=bool(self.transcribing),
            unknown=tuple(self.unknown),
        )
