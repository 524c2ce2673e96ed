"""The plain reading of docs/reference/touch-language.md: one named surface after the other, one touch at a time.

Slow on purpose. It shares nothing with the compiler but the data and the opened steps, so that tests can compare them.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Set
from dataclasses import dataclass
from itertools import product

from vestry.contact.taught import TaughtStep, taught
from vestry.trade import Catalogue, Face, Order
from vestry.trade.touches import parse_touch
from vestry.trade.values import Latent

CLASSES = ("none", "low", "high")
HYGIENE = ("disinfect-gloves", "hand-hygiene")


@dataclass(frozen=True)
class Run:
    """Surfaces contaminated at some time and at the end, and the ids of all events that could have happened."""

    ever: frozenset[str]
    at_end: frozenset[str]
    events: frozenset[str]


def run(
    order: Order,
    catalogue: Catalogue,
    happening: Set[str] = frozenset(),
    *,
    switched_off: Set[str] = frozenset(),
    high_only: bool = False,
) -> Run:
    """The order carried out with these events happening and these conventions switched off."""
    steps = taught(order, catalogue)
    scene = _Scene(order, catalogue, happening, switched_off)
    scene.arrive("high" if high_only else "low")
    for step in steps:
        scene.carry_out(step)
    return Run(frozenset(scene.ever), frozenset(scene.dirty), frozenset(scene.events))


class _Scene:
    step: TaughtStep

    def __init__(self, order: Order, catalogue: Catalogue, happening: Set[str], switched_off: Set[str]) -> None:
        self.order, self.catalogue, self.items = order, catalogue, catalogue.items
        self.happening, self.switched_off = happening, switched_off
        self.worn, self.zone = list(order.worn), str(order.zone)
        self.dirty, self.ever, self.events = set[str](), set[str](), set[str]()
        self.cleaned = dict[str, str]()  # surface -> event of its last cleaning, until something else writes on it
        case, hazard = order.case, catalogue.hazards[order.case.hazard] if order.case.hazard else None
        routes = (hazard.routes.value or hazard.routes.default or ()) if hazard else ()
        self.air = "airborne" in routes if case.air_contaminated is None else case.air_contaminated
        virus_class = (hazard.virus_class.value or hazard.virus_class.default) if hazard else None
        self.virus_class = case.virus_class or virus_class or "enveloped"

    # ---- where faces lie ----

    def at(self, item: str, site: str) -> list[Face]:
        return [face for face in self.items[item].faces if site in face.at]

    def lying(self, item: str, site: str) -> list[str]:
        return [f"{item}.{face.id}" for face in self.at(item, site)]

    def linings(self, item: str, site: str) -> list[str]:
        return [f"{item}.{face.id}" for face in self.items[item].faces if site in face.inside]

    def touchable(self, site: str, leaving_out: Iterable[str] = ()) -> list[str]:
        narrow = list[str]()
        for item in reversed([item for item in self.worn if item not in leaving_out]):
            for face in reversed(self.at(item, site)):  # a later face of an item lies over an earlier one
                if face.cover != "narrow":
                    return [f"{item}.{face.id}", *narrow]
                narrow.append(f"{item}.{face.id}")
        return [f"body.{site}", *narrow]

    def from_upwards(self, item: str) -> list[str]:
        return self.worn[self.worn.index(item) :]

    def beneath(self, item: str, site: str) -> str:
        return self.touchable(site, self.from_upwards(item))[0]

    def surfaces(self, reference: str) -> list[str]:
        step, (head, _, name), (word, _, site) = self.step, reference.partition("."), reference.partition("@")
        if reference == "hand":
            return [*self.touchable("hand-l")[:1], *self.touchable("hand-r")[:1]]
        if reference in ("hand-l", "hand-r"):
            return self.touchable(reference)[:1]
        if reference == "agent":
            first = self.catalogue.agents[step.agent].touches_first if step.agent else None
            return [first] if first else []
        if word in ("outer", "under"):
            return self.touchable(site, step.items if word == "under" else ())
        if head == "helper":
            return [f"{'observer' if 'observer' in step.who else 'assistant'}.{name}"]
        owners = list(step.items)
        if reference == "self.*":
            return [
                f"{item}.{face.id}"
                for item in owners
                for face in self.items[item].faces
                if (face.id in step.faces if step.faces else face.at)
            ]
        if head in ("body", "place", "air", *self.catalogue.helpers):
            return [reference]
        if head != "self":
            of_kind = [item for item in (*owners, *reversed(self.worn)) if self.items[item].kind == head]
            owners = [*of_kind, *(item for item in self.worn if item == head)][:1]
        return [surface for owner in owners for surface in self.named(owner, name)]

    def named(self, item: str, name: str) -> list[str]:
        """The face of this name, else its left and right ones."""
        sides = [name] if self.items[item].face(name) else [f"{name}-l", f"{name}-r"]
        return [f"{item}.{face}" for face in sides if self.items[item].face(face)]

    # ---- what happens to them ----

    def soil(self, surfaces: Iterable[str]) -> None:
        self.dirty.update(surfaces)
        self.ever |= self.dirty

    def event(self, name: str) -> str:
        step = self.step
        event = f"{step.act}:{'+'.join(step.items) or step.to or '-'}:{step.technique.id}:{name}@{step.id}"
        self.events.add(event)
        return event

    def touch(
        self, first: list[str], second: list[str], verb: str = "contact", slip: str | None = None, never: bool = False
    ) -> None:
        for a, b in product(first, second):
            if a == b:
                continue
            happens = not never and (slip is None or self.event(slip) in self.happening)
            written = [a, b] if verb == "contact" else [b]
            if happens and (a in self.dirty or (verb == "contact" and b in self.dirty)):
                self.soil(written)
            for surface in written:
                if self.cleaned and self.step.act not in HYGIENE:
                    self.cleaned.pop(surface, None)
                self.faults(surface)

    def faults(self, surface: str) -> None:
        owner, _, face = surface.partition(".")
        if owner in self.worn:
            for fault in self.items[owner].latent:
                if fault.from_ == face:
                    self.fault(owner, fault)
        elif owner in self.catalogue.helpers:
            for hole in self.catalogue.helpers[owner].latent:
                if hole.from_ == face:
                    self.leak(f"latent:{owner}:{hole.id}", surface, [f"{owner}.{hole.to}"])

    def fault(self, item: str, fault: Latent) -> None:
        below = self.beneath(item, fault.at)
        self.leak(f"latent:{item}:{fault.id}", f"{item}.{fault.from_}", [*self.linings(item, fault.at), below])
        self.faults(below)

    def leak(self, event: str, source: str, targets: list[str]) -> None:
        self.events.add(event)
        if event in self.happening and source in self.dirty:
            self.soil(targets)

    def clean(self, surface: str) -> None:
        owner, _, face = surface.partition(".")
        gloves = owner in self.items and self.items[owner].kind == "gloves"
        on = "hands" if owner == "body" else "gloves" if gloves or owner in self.catalogue.helpers else "surfaces"
        log10 = getattr(self.catalogue.agents[self.step.agent], f"log10_{on}") if self.step.agent else {}
        unknown = self.virus_class == "unknown"
        classes = ("enveloped", "non-enveloped", "bacteria") if unknown else (self.virus_class,)
        works = min(log10.get(one, 0) for one in classes) >= 2 and "cleaning-clears" not in self.switched_off
        if not works or (gloves and not face.startswith("palm")):
            return
        event = self.cleaned[surface] = self.cleaned.get(surface) or self.event("left-out-or-short")
        if event not in self.happening:
            self.dirty.discard(surface)

    # ---- on arrival ----

    def arrive(self, least: str) -> None:
        loads: Mapping[str, str] | None = self.order.loads
        if loads is None:
            loads = {f"{it}.{face.id}": self.load(it, face) for it in self.worn for face in self.items[it].faces}
        self.soil(surface for surface, load in loads.items() if CLASSES.index(load) >= CLASSES.index(least))
        self.soil([*self.order.lane.contaminated, *(["air.room"] if self.air else [])])
        for item in reversed(self.worn):
            for fault in self.items[item].latent:
                self.fault(item, fault)
        for item in reversed(self.worn):
            for face in self.items[item].faces:
                for site in face.inside:
                    self.touch([f"{item}.{face.id}"], [self.beneath(item, site)])
        self.touch(self.touchable("soles"), ["place.floor"])

    def load(self, item: str, face: Face) -> str:
        zone = self.catalogue.zones[face.zone]
        full = CLASSES.index(zone.wet if self.order.case.presentation == "wet" else zone.dry)
        if zone.counts_clean in self.switched_off:
            full = max(full, CLASSES.index(zone.without or "none"))
        highest = 0
        for site in face.at:
            covers = [over.cover for later in self.from_upwards(item)[1:] for over in self.at(later, site)]
            highest = max(highest, 0 if "sealing" in covers else full - 1 if "open" in covers else full)
        return CLASSES[highest]

    # ---- a step ----

    def carry_out(self, step: TaughtStep) -> None:
        self.step = step
        if step.act == "don":
            for item in step.items:
                self.dirty -= {f"{item}.{face.id}" for face in self.items[item].faces}
                self.worn.insert(self.place_for(item), item)
        if step.act == "doff":
            for item in step.items:
                for other in self.from_upwards(item):
                    if other not in step.items:
                        self.draw_out(item, other)
        if step.touches:
            self.touch(self.surfaces(step.touches[0]), self.surfaces(step.touches[1]))
        for line in step.technique.touches:
            parsed = parse_touch(line.touch)
            if parsed.verb == "clean":
                for surface in self.surfaces(parsed.a):
                    self.clean(surface)
            else:
                a, b = self.surfaces(parsed.a), self.surfaces(parsed.b)
                self.touch(a, b, parsed.verb, line.slip, line.residue is not None)
        if step.act == "doff":
            self.worn = [item for item in self.worn if item not in step.items]
        if step.act == "move" and step.to:
            self.zone = step.to
        sealed = any(face.cover == "sealing" for item in self.worn for face in self.at(item, "nose-mouth"))
        if self.air and self.zone == "room" and not sealed:
            self.soil(["body.nose-mouth"])

    def place_for(self, item: str) -> int:
        if self.items[item].kind == "gloves" and self.items[item].under_sleeve:
            for place, other in enumerate(self.worn):
                if self.items[other].kind != "gloves" and self.at(other, "wrist-l"):
                    return place
        return len(self.worn)

    def draw_out(self, item: str, other: str) -> None:
        shared = [site for face in self.items[item].faces for site in face.at if self.at(other, site)]
        drags, hand, gone = self.items[item].drags, self.surfaces("hand"), [item, *self.from_upwards(other)]
        if self.items[item].kind in self.items[other].traps:
            if not shared:
                self.touch(hand, [f"{other}.{face.id}" for face in self.items[other].faces if face.at])
            for site in dict.fromkeys(shared):
                self.touch(hand, self.lying(other, site))
                self.touch(self.lying(other, site), self.touchable(site, gone))
            return
        for site in dict.fromkeys(shared):
            linings = self.linings(other, site)
            dragged = [f"{item}.{face}" for drag in drags if site in drag.at for face in drag.faces]
            self.touch(dragged, linings, slip="drags-out")
            self.touch(self.lying(item, site), linings)
            self.touch(linings, self.touchable(site, gone)[:1])
