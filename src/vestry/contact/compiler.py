"""From taught steps to a program: each touch resolved against what is worn at that moment.

The rules of the compiler, by number; docs/reference/touch-language.md says them at length.
 1. A reference means the surface that can be touched at that moment (surfaces.touchable).
 2. On arrival the loads are there, latent faults act, what is worn touches what lies beneath, soles touch the floor.
 3. Before an item comes off, whatever lies over it and is not handled in the same step is met first (`drawn_out`).
 4. After an operation that writes to a face with a latent fault, the fault carries on to what lies beneath.
 5. A cleaning fails with its event; cleanings with no touch between them share one event.
 6. An item put on starts clean.
 7. While the air is contaminated and nothing covers nose and mouth, the airways take what the air carries.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, replace
from types import MappingProxyType

from vestry.contact.exposure import Setting, airways_covered, clears, coverage_gaps, in_force, loads_on_arrival
from vestry.contact.program import NO_EVENT, NO_SURFACE, Op, Program, Sort, Tables
from vestry.contact.surfaces import Worn, beneath, endpoint_classes, faces_at, surface, touchable
from vestry.contact.taught import TaughtStep, gloves_on_top, taught, worn_after
from vestry.trade import Catalogue, Order, Touch
from vestry.trade.touches import parse_touch

HYGIENE_ACTS = frozenset({"disinfect-gloves", "hand-hygiene"})
OBSERVER_HELPS = frozenset({"observer", "wearer-and-observer"})


@dataclass(frozen=True)
class Moment:
    """What the compiler carries on: layers, zone, and which surfaces were cleaned and not touched since."""

    worn: Worn
    zone: str
    cleaned: MappingProxyType[str, str]


def setting_of(order: Order, catalogue: Catalogue, switched_off: Iterable[str] = ()) -> Setting:
    """The setting that an order's case asks for."""
    case = order.case
    hazard = catalogue.hazards.get(case.hazard) if case.hazard else None
    air, virus_class = case.air_contaminated, case.virus_class
    if hazard is not None:
        routes = hazard.routes.value or hazard.routes.default or ()
        air = "airborne" in routes if air is None else air
        virus_class = virus_class or hazard.virus_class.value or hazard.virus_class.default
    return Setting(case.presentation, bool(air), virus_class or "enveloped", frozenset(switched_off))


def compile_order(order: Order, catalogue: Catalogue, switched_off: Iterable[str] = (), file: str = "order") -> Program:
    """The program of an order; BadFacts when a step cannot be done."""
    steps = taught(order, catalogue, file)
    return compile_steps(steps, order, catalogue, setting_of(order, catalogue, switched_off))


def compile_steps(steps: tuple[TaughtStep, ...], order: Order, catalogue: Catalogue, setting: Setting) -> Program:
    """The program of steps with nothing left to choose."""
    compiler = Compiler(catalogue, setting)
    loads: dict[str, str] = loads_on_arrival(catalogue, order.worn, setting)
    if order.loads is not None:
        loads = dict(order.loads)
    loads.update(dict.fromkeys(order.lane.contaminated, "high"))
    moment = Moment(order.worn, order.zone, MappingProxyType({}))
    ops = list(compiler.arrival(order.worn))
    worn = [moment.worn]
    for number, step in enumerate(steps):
        new_ops, moment = compiler.step(step, moment, number)
        ops.extend(new_ops)
        worn.append(moment.worn)
    return compiler.program(ops, loads, order.worn, tuple(step.id for step in steps), tuple(worn))


class Compiler:
    """Compiles steps one by one; surfaces and events are numbered in tables shared by all steps."""

    def __init__(self, catalogue: Catalogue, setting: Setting) -> None:
        self.catalogue, self.setting, self.tables = catalogue, setting, Tables()

    def program(
        self, ops: list[Op], loads: dict[str, str], worn_first: Worn, steps: tuple[str, ...], worn: tuple[Worn, ...]
    ) -> Program:
        """The finished program."""
        everything = {item for items in worn for item in items}
        classes = endpoint_classes(self.catalogue, (*worn_first, *sorted(everything - set(worn_first))), loads)
        if self.setting.air:
            loads = {**loads, "air.room": "high"}
        start = tuple((self.tables.surface(name), load) for name, load in sorted(loads.items()) if load != "none")
        endpoints = tuple((self.tables.surface(name), kind) for name, kind in sorted(classes.items()))
        return Program(
            surfaces=tuple(self.tables.surfaces),
            events=self.tables.event_list(),
            ops=tuple(ops),
            start=start,
            endpoints=endpoints,
            steps=steps,
            worn=worn,
            gaps=coverage_gaps(self.catalogue, worn_first, self.setting.air, loads),
            conventions=tuple(in_force(self.catalogue, self.setting)),
        )

    def arrival(self, worn: Worn) -> Iterator[Op]:
        """Rule 2. From the outermost item inwards."""
        emit = _Emitter(self, worn, -1)
        for item in reversed(worn):
            for latent in self.catalogue.items[item].latent:
                emit.latent(item, latent.from_)
        for item in reversed(worn):
            for face in self.catalogue.items[item].faces:
                for site in face.inside:
                    emit.touch("contact", surface(item, face.id), beneath(self.catalogue, worn, item, site))
        for sole in touchable(self.catalogue, worn, "soles"):
            emit.touch("contact", sole, "place.floor")
        return iter(emit.ops)

    def step(self, step: TaughtStep, moment: Moment, number: int) -> tuple[list[Op], Moment]:
        """The operations of one step, and the moment after it."""
        emit = _Emitter(self, moment.worn, number)
        run = _Step(self.catalogue, self.setting, step, moment, emit)
        run.compile()
        worn = worn_after(step, moment.worn, self.catalogue)
        zone = step.to if step.act == "move" and step.to else moment.zone
        if self.setting.air and zone == "room" and not airways_covered(self.catalogue, worn):
            emit.worn = worn
            emit.touch("breathe", "air.room", "body.nose-mouth")
        return emit.ops, replace(moment, worn=worn, zone=zone, cleaned=MappingProxyType(run.cleaned))


class _Emitter:
    """Writes operations, and after each the latent faults that it sets off (rule 4)."""

    def __init__(self, compiler: Compiler, worn: Worn, number: int) -> None:
        self.catalogue, self.tables, self.worn, self.number = compiler.catalogue, compiler.tables, worn, number
        self.ops: list[Op] = []
        self.written: Callable[[str], None] = lambda name: None

    def touch(self, verb: str, a: str, b: str, event: int = NO_EVENT, source: str = "judgement") -> None:
        if a == b:
            return
        self._op(verb, a, b, event, source)
        for name in (a, b) if verb == "contact" else (b,):
            self.written(name)
            owner, _, face = name.partition(".")
            if owner in self.worn:
                self.latent(owner, face)
            elif owner in self.catalogue.helpers:
                self._helper_latent(owner, face)

    def clean(self, name: str, event: int, source: str) -> None:
        self._op("clean", name, None, event, source)

    def fresh(self, name: str) -> None:
        self._op("fresh", name, None, NO_EVENT, "judgement")

    def latent(self, item: str, face: str) -> None:
        for latent in self.catalogue.items[item].latent:
            if latent.from_ != face:
                continue
            below = beneath(self.catalogue, self.worn, item, latent.at)
            event = self.tables.event(f"latent:{item}:{latent.id}", "latent", -1)
            for through in (*self._lining(item, latent.at), below):
                self._op("slide", surface(item, face), through, event, latent.source)
            owner, _, under_face = below.partition(".")
            if owner in self.worn:
                self.latent(owner, under_face)

    def _lining(self, item: str, site: str) -> list[str]:
        return [surface(item, face.id) for face in self.catalogue.items[item].faces if site in face.inside]

    def _helper_latent(self, helper: str, face: str) -> None:
        for latent in self.catalogue.helpers[helper].latent:
            if latent.from_ == face:
                event = self.tables.event(f"latent:{helper}:{latent.id}", "latent", -1)
                self._op("slide", surface(helper, face), surface(helper, latent.to), event, latent.source)

    def _op(self, verb: str, a: str, b: str | None, event: int, source: str) -> None:
        to = NO_SURFACE if b is None else self.tables.surface(b)
        self.ops.append(Op(verb, self.tables.surface(a), to, event, self.number, source))  # type: ignore[arg-type]


class _Step:
    """One step being compiled."""

    def __init__(
        self, catalogue: Catalogue, setting: Setting, step: TaughtStep, moment: Moment, emit: _Emitter
    ) -> None:
        self.catalogue, self.setting, self.step, self.emit = catalogue, setting, step, emit
        self.worn = moment.worn
        self.cleaned = dict(moment.cleaned)
        self.base = step.id.partition("~")[0]
        if step.act not in HYGIENE_ACTS:
            emit.written = self._written

    def _written(self, name: str) -> None:
        self.cleaned.pop(name, None)

    def compile(self) -> None:
        step = self.step
        if step.act == "don":
            self._put_on()
        if step.act == "doff":
            self._drawn_out()
        if step.touches is not None:
            for a in self._resolve(step.touches[0]):
                for b in self._resolve(step.touches[1]):
                    self.emit.touch("contact", a, b)
        for touch in step.technique.touches:
            self._touch(touch)

    def _put_on(self) -> None:
        """Rule 6; from here on the references mean the layers with the item on."""
        for item in self.step.items:
            for face in self.catalogue.items[item].faces:
                self.emit.fresh(surface(item, face.id))
        self.worn = worn_after(self.step, self.worn, self.catalogue)
        self.emit.worn = self.worn

    def _touch(self, touch: Touch) -> None:
        parsed = parse_touch(touch.touch)
        if parsed.verb == "clean":
            for name in self._resolve(parsed.a):
                self._clean(name, touch.from_)
            return
        pairs = [(a, b) for a in self._resolve(parsed.a) for b in self._resolve(parsed.b) if a != b]
        if not pairs:
            return
        event = NO_EVENT
        if touch.slip is not None:
            event = self._event(touch.slip, "slip")
        elif touch.residue is not None:
            event = self._event(touch.residue, "residue")
        for a, b in pairs:
            self.emit.touch(parsed.verb, a, b, event, touch.from_)

    def _event(self, name: str, sort: Sort) -> int:
        return self.emit.tables.event(f"{self.base}:{name}@{self.step.id}", sort, self.emit.number)

    def _clean(self, name: str, source: str) -> None:
        """Rule 5."""
        owner, _, face = name.partition(".")
        kind = self.catalogue.items[owner].kind if owner in self.catalogue.items else owner
        if kind == "gloves" and not face.startswith("palm"):
            return
        on = (
            "hands"
            if kind == "body"
            else "gloves"
            if kind == "gloves" or owner in self.catalogue.helpers
            else "surfaces"
        )
        if self.step.agent is None or not clears(self.catalogue, self.step.agent, on, self.setting):
            return
        event_id = self.cleaned.get(name) or f"{self.base}:left-out-or-short@{self.step.id}"
        self.emit.clean(name, self.emit.tables.event(event_id, "omission", self.emit.number), source)
        self.cleaned[name] = event_id

    def _drawn_out(self) -> None:
        """Rule 3: what lies over the item and stays on is met as the item is drawn out from beneath it."""
        for item in self.step.items:
            above = self.worn[self.worn.index(item) + 1 :]
            for over in above:
                if over in self.step.items:
                    continue
                if self.catalogue.items[item].kind in self.catalogue.items[over].traps:
                    self._from_under_a_trap(item, over)
                else:
                    self._from_under_a_cover(item, over)

    def _from_under_a_trap(self, item: str, over: str) -> None:
        sites = self._shared_sites(item, over)
        if not sites:
            for face in self.catalogue.items[over].faces:
                if face.at:
                    self._all("contact", self._resolve("hand"), [surface(over, face.id)])
        for site in sites:
            lying = [surface(over, f.id) for o, f in faces_at(self.catalogue, self.worn, site) if o == over]
            under = touchable(self.catalogue, self.worn, site, self._from(over, item))
            self._all("contact", self._resolve("hand"), lying)
            self._all("contact", lying, under)

    def _from_under_a_cover(self, item: str, over: str) -> None:
        for site in self._shared_sites(item, over):
            linings = [surface(over, f.id) for f in self.catalogue.items[over].faces if site in f.inside]
            drawn = [surface(item, f.id) for o, f in faces_at(self.catalogue, self.worn, site) if o == item]
            under = touchable(self.catalogue, self.worn, site, self._from(over, item))[:1]
            for drag in self.catalogue.items[item].drags:
                if site in drag.at and linings:
                    for face in drag.faces:
                        self._all("contact", [surface(item, face)], linings, self._event("drags-out", "slip"))
            self._all("contact", drawn, linings)
            self._all("contact", linings, under)

    def _from(self, over: str, item: str) -> set[str]:
        """The item, and everything from `over` upwards."""
        return {item, *self.worn[self.worn.index(over) :]}

    def _shared_sites(self, item: str, over: str) -> list[str]:
        mine = [site for face in self.catalogue.items[item].faces for site in face.at]
        theirs = {site for face in self.catalogue.items[over].faces for site in face.at}
        return list(dict.fromkeys(site for site in mine if site in theirs))

    def _all(self, verb: str, many_a: list[str], many_b: list[str], event: int = NO_EVENT) -> None:
        for a in many_a:
            for b in many_b:
                self.emit.touch(verb, a, b, event)

    # ---- references (rule 1) --------------------------------------------------------------------------------

    def _resolve(self, ref: str) -> list[str]:
        if ref == "hand":
            return [*self._resolve("hand-l"), *self._resolve("hand-r")]
        if ref in ("hand-l", "hand-r"):
            return touchable(self.catalogue, self.worn, ref)[:1]
        if ref == "agent":
            first = self.catalogue.agents[self.step.agent].touches_first if self.step.agent else None
            return [first] if first else []
        head, at, site = ref.partition("@")
        if at:
            without = self.step.items if head == "under" else ()
            return touchable(self.catalogue, self.worn, site, without)
        owner, _, face = ref.partition(".")
        if owner == "helper":
            return [surface("observer" if self.step.who in OBSERVER_HELPS else "assistant", face)]
        if owner == "self":
            return [name for item in self.step.items for name in self._faces(item, face)]
        if owner in ("body", "place", "air", *self.catalogue.helpers):
            return [ref]
        item = self._of_kind(owner) or (owner if owner in self.worn else None)
        return self._faces(item, face) if item is not None else []

    def _of_kind(self, kind: str) -> str | None:
        ordered = (*self.step.items, *reversed(self.worn))
        return next((item for item in ordered if self.catalogue.items[item].kind == kind), None)

    def _faces(self, item: str, face: str) -> list[str]:
        faces = self.catalogue.items[item].faces
        if face == "*":
            wanted = [f for f in faces if (f.id in self.step.faces if self.step.faces else bool(f.at))]
        else:
            wanted = [f for f in faces if f.id == face] or [f for f in faces if f.id in (f"{face}-l", f"{face}-r")]
        return [surface(item, f.id) for f in wanted]


def hands_are_bare(worn: Worn, catalogue: Catalogue) -> bool:
    """Whether no gloves are worn."""
    return gloves_on_top(worn, catalogue) is None
