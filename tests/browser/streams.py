"""Generated entries and programs, to hold the browser's fold and interpreter against Python's. Seeded."""

from __future__ import annotations

import random
from typing import Any

from vestry.contact.program import Event as ProgramEvent
from vestry.contact.program import Op, Program
from vestry.entry import KINDS, Course, Event, Led
from vestry.sequence import PlanStep

DEVICES = [f"{n}d5c1a52-5d43-4f0a-9b1a-2f6e5b7c8d9{n}" for n in range(3)]
ITEMS = ["gown-isolation", "gloves-long", "goggles", "respirator-disposable", "hood-short"]
ODD: list[Any] = [
    None,
    True,
    False,
    0,
    7,
    "",
    "x",
    [],
    ["b", "a", "a", 3, "é", "𝄞", "\uff5a"],
    [None],
    {},
    {"a": ["b"]},
]


def led(chance: random.Random) -> Led:
    """A plan and a few answers, with groups, and some items taken off that were never on."""
    plan = Course("plan", _steps(chance, "s", chance.randint(0, 8)), tuple(chance.sample(ITEMS, chance.randint(0, 2))))
    answers = {
        f"answer-{n}": Course(
            f"answer-{n}", _steps(chance, f"a{n}-", chance.randint(0, 4)), tuple(chance.sample(ITEMS, 2)), "s1"
        )
        for n in range(chance.randint(0, 3))
    }
    team = {
        role: Course(f"team-{role}", _steps(chance, f"{role}-", chance.randint(0, 3)), tuple(chance.sample(ITEMS, 2)))
        for role in chance.choice([(), ("assistant",), ("assistant", "observer")])
    }
    return Led(plan, answers, team)


def _steps(chance: random.Random, name: str, count: int) -> tuple[PlanStep, ...]:
    return tuple(
        PlanStep(
            id=f"{name}{n}",
            phase=chance.choice(["donning", "doffing"]),
            act=chance.choice(["don", "doff", "change-gloves", "hand-hygiene", "don", "doff", "confirm"]),
            topic=chance.choice([None, "area-confirmed", "person-checked", "signals-agreed"]),
            items=tuple(chance.sample(ITEMS, chance.randint(1, 2))),
            group=chance.choice([None, None, "g1", "g2"]),
        )
        for n in range(count)
    )


def stream(chance: random.Random, way: Led) -> list[Event]:
    """What up to three devices say of an entry, as it came: shuffled, doubled, clocks that jump, odd payloads."""
    ids = [step.id for course in (way.plan, *way.recoveries.values(), *way.team.values()) for step in course.steps] + [
        "nowhere"
    ]
    counters = dict.fromkeys(DEVICES, 0)
    clock = 3600
    found: list[Event] = []
    kinds = [*KINDS, "not-known-here"]
    likely = ["read", "done-seen", "done-seen", "stopped", "deviation", "recovery-taken", "resumed", "pressed-wrongly"]
    likely += ["done-seen", "done-seen", "left", "undressing-begun", "lane-cleared", "drill-injected"]
    for number in range(chance.randint(0, 30)):
        device = chance.choice(DEVICES[: chance.choice([1, 1, 2, 3])])
        counters[device] += chance.choice([0, 1, 1, 1, 2])
        clock += chance.choice([0, 1, 5, 30, -600, 900])
        kind = "opened" if number == 0 and chance.random() < 0.8 else chance.choice(chance.choice([kinds, likely]))
        seconds = max(0, clock) % 86400
        found.append(
            Event(
                id=f"01936f2e-{chance.randrange(16**4):04x}-7000-8000-{number:012x}",
                entry="e",
                kind=kind,
                payload=_payload(chance, kind, ids, [one.id for one in found], list(way.recoveries)),
                actor=chance.choice(["tomas", "ilse"]),
                device=device,
                clock=f"2026-11-25T{seconds // 3600:02d}:{seconds // 60 % 60:02d}:{seconds % 60:02d}.000+00:00",
                counter=counters[device],
                plan="p",
            )
        )
    came = [*found, *chance.sample(found, min(len(found), chance.randint(0, 4)))]
    chance.shuffle(came)
    return came


def _payload(chance: random.Random, kind: str, steps: list[str], said: list[str], answers: list[str]) -> dict[str, Any]:
    usual: dict[str, Any] = {
        "step": chance.choice(steps), "events": chance.choice([["b", "a"], ["not-sure"], ["é", "𝄞", "\uff5a", "b"]]),
        "recovery": chance.choice([*answers, "made-up"]), "event": chance.choice([*said, "never-said"]),
        "wearer": "noor", "observer": "tomas", "assistant": "petra", "to": chance.choice(["ilse", "tomas"]),
        "may": chance.random() < 0.5, "drill": chance.random() < 0.5, "pace": chance.choice(["one-press", "usual"]),
        "short": chance.random() < 0.5, "item": chance.choice(ITEMS), "surface": "gloves-long.palm-l",
        "decided-by": "Sander", "signed": chance.choice(["badge-pin", "told"]),
        "note": "seen", "reason": "r", "text": "t", "site": "wrist", "sort": "skin",
        "seconds": "22", "direction": "out", "wiped": chance.random() < 0.5, "label": "17", "receiver": "laboratory",
        "worn": ["b", "a"], "identified": chance.random() < 0.5, "by": "tomas", "who": "observer",
        "untimed": chance.random() < 0.5, "room": "room-1",
        "limit-minutes": "45", "limit-by": "heat", "limit-why": "fresh",
        "what": chance.choice(["torn glove", "lost-air"]),
        "role": chance.choice(["assistant", "observer"]), "how": "mirror",
        "done": chance.choice([["seat"], ["floor"], ["bins", "restock"], ["seat", "floor", "bins", "restock"]]),
        "check": chance.choice(["area", "person"]),
        "says": chance.choice(["in-order", "not-in-order", "goes-on"]), "list": "area-2", "items": ["seat", "bins"],
        "not-in-order": chance.choice([["seat"], []]), "rules": ["area:seat", "no-fit-test"], "alternative": "wait",
        "on": "2040-01-02", "policy": "policy 3", "act": "1", "places": ["3-7 9"], "left": "0" * 64,
    }  # fmt: skip
    fields = [field.name for field in KINDS.get(kind, ())]
    payload = {name: usual[name] for name in fields if chance.random() < 0.9}
    if fields and chance.random() < 0.1:
        payload[chance.choice(fields)] = chance.choice(ODD)
    return payload


def program(chance: random.Random) -> Program:
    """A program of any shape that the compiler could have made, and some that it would not."""
    surfaces = tuple(f"{owner}.{face}" for owner in ["air", "place", "body", *ITEMS[:4]] for face in ("a", "b"))
    steps = tuple(f"s{n}" for n in range(chance.randint(0, 8)))
    events = tuple(
        ProgramEvent(f"latent:{item}:hole" if sort == "latent" else f"e{n}", sort, -1 if sort == "latent" else step)
        for n in range(chance.randint(0, 10))
        for sort in [chance.choice(["slip", "slip", "omission", "latent", "residue"])]
        for item in [chance.choice(ITEMS)]
        for step in [chance.randrange(len(steps)) if steps else -1]
    )
    ops = []
    for step in range(-1, len(steps)):
        for _ in range(chance.randint(0, 6)):
            event = chance.randrange(len(events)) if events and chance.random() < 0.4 else -1
            verb = chance.choice(["contact", "slide", "stir", "breathe", "clean", "fresh"])
            a, b = chance.sample(range(len(surfaces)), 2)
            ops.append(Op(verb, a, -1 if verb in ("clean", "fresh") else b, event, step, "generated"))
    start = tuple((n, chance.choice(["low", "high"])) for n in chance.sample(range(len(surfaces)), 3))
    return Program(surfaces, events, tuple(ops), start, (), steps, tuple(() for _ in range(len(steps) + 1)))


def forced(chance: random.Random, one: Program) -> tuple[list[int], dict[int, list[int]]]:
    """Events that happen, and surfaces seen soiled after steps."""
    happening = [n for n in range(len(one.events)) if one.events[n].sort != "residue" and chance.random() < 0.4]
    seen = {
        step: chance.sample(range(len(one.surfaces)), 2) for step in range(-1, len(one.steps)) if chance.random() < 0.2
    }
    return happening, seen


# ---- as the browser reads them ----


def led_document(way: Led) -> dict[str, Any]:
    return {
        "plan": _course(way.plan),
        "recoveries": [_course(one) for one in way.recoveries.values()],
        "team": [[role, _course(one)] for role, one in way.team.items()],
    }


def _course(one: Course) -> dict[str, Any]:
    steps = [
        {"id": s.id, "phase": s.phase, "act": s.act, "topic": s.topic, "items": list(s.items), "group": s.group}
        for s in one.steps
    ]
    return {"name": one.name, "worn": list(one.worn), "steps": steps}


def event_document(event: Event) -> dict[str, Any]:
    return {
        "id": event.id, "entry": event.entry, "kind": event.kind, "payload": dict(event.payload),
        "actor": event.actor, "device": event.device, "clock": event.clock, "counter": event.counter,
        "plan": event.plan,
    }  # fmt: skip


def walk(chance: random.Random, way: Led, slips: dict[str, tuple[str, ...]], surfaces: tuple[str, ...]) -> list[Event]:
    """An entry along a real plan: led in order up to some step, then something goes wrong there, and what follows."""
    said: list[tuple[str, dict[str, Any]]] = [("opened", {"wearer": "noor", "observer": "tomas"})]
    steps = way.plan.steps
    out = next(n for n, step in enumerate(steps) if step.phase == "doffing")
    stop = chance.randrange(out if chance.random() < 0.8 else 0, len(steps))
    for step in steps[:stop]:
        said += [("read", {"step": step.id}), (chance.choice(["done-seen"] * 9 + ["done-not-seen"]), {"step": step.id})]
    if chance.random() < 0.1:
        said.append(("done-seen", {"step": chance.choice(steps).id}))
    at = steps[stop]
    said += [("read", {"step": at.id}), ("stopped", {"step": at.id})]
    known = slips.get(at.id, ())
    sort = chance.choice(["deviation"] * 6 + ["tear", "soiling", "zone-crossed"])
    events = [chance.choice([*known, *known, "not-sure", "something-else"])]
    more = {"deviation": {"events": events}, "tear": {"item": chance.choice(at.items or ("outer-gloves-long",))}}
    said.append((sort, {"step": at.id, **more.get(sort, {"surface": chance.choice(surfaces)})}))
    if chance.random() < 0.2:
        said.append(("deviation", {"step": at.id, "events": ["not-sure"]}))
    fitting = [name for name, one in way.recoveries.items() if one.at == at.id]
    if fitting and chance.random() < 0.4:
        name = chance.choice(fitting)
        said += [("done-seen", {"step": at.id}), ("recovery-taken", {"step": at.id, "recovery": name})]
        for step in way.recoveries[name].steps[: chance.randint(0, 5)]:
            said += [("read", {"step": step.id}), ("done-seen", {"step": step.id})]
    elif chance.random() < 0.4:
        said += [("resumed", {"step": at.id, "decided-by": "Sander"}), ("done-seen", {"step": at.id})]
    return [
        Event(
            f"01936f2e-{number:04x}-7000-8000-{number:012x}", "e", kind, payload, "tomas", DEVICES[0],
            f"2026-11-25T02:{number // 60:02d}:{number % 60:02d}.000+00:00", number, "p",
        )
        for number, (kind, payload) in enumerate(said)
    ]  # fmt: skip
