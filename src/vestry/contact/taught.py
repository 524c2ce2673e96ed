"""Steps opened and made explicit: `change-gloves` becomes three acts, and each step names its technique.

What comes out has nothing left to choose; the compiler and the reference both start from it.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from vestry.contact.references import unknown_reference
from vestry.contact.surfaces import Worn, place_under_sleeve
from vestry.trade import BadFacts, Catalogue, Order, Problem, Step, Technique

FRESH_GLOVES_KIND = "gloves"


@dataclass(frozen=True)
class TaughtStep:
    """One step with nothing left to choose. `number` is its place in the order as written (from 1)."""

    id: str
    number: int
    act: str
    items: tuple[str, ...]
    technique: Technique
    who: str
    agent: str | None
    to: str | None
    faces: tuple[str, ...]
    touches: tuple[str, str] | None
    seconds: int | None = None


class _Problems:
    def __init__(self, file: str) -> None:
        self.file, self.found = file, list[Problem]()

    def add(self, number: int, field: str, what: str) -> None:
        self.found.append(Problem(self.file, 0, f"steps.{number - 1}.{field}" if number else field, what))


def taught(order: Order, catalogue: Catalogue, file: str = "order") -> tuple[TaughtStep, ...]:
    """The steps of an order with every choice made; BadFacts naming each step that cannot be."""
    problems = _Problems(file)
    _check_header(order, catalogue, problems)
    if problems.found:
        raise BadFacts(problems.found)
    worn: Worn = order.worn
    steps: list[TaughtStep] = []
    for number, step in enumerate(order.steps, 1):
        for part in _opened(step, worn, catalogue, number, problems):
            one = _explicit(part, worn, catalogue, number, problems)
            if one is None:
                continue
            steps.append(one)
            worn = worn_after(one, worn, catalogue)
    if problems.found:
        raise BadFacts(problems.found)
    return _numbered(steps)


def taught_step(step: Step, worn: Worn, catalogue: Catalogue) -> TaughtStep:
    """One step (not `change-gloves`) with every choice made; BadFacts when it cannot be done."""
    problems = _Problems("step")
    one = _explicit(step, worn, catalogue, 0, problems)
    if one is None:
        raise BadFacts(problems.found)
    return one


def worn_after(step: TaughtStep, worn: Worn, catalogue: Catalogue) -> Worn:
    """What is worn once a step is done."""
    if step.act == "doff":
        return tuple(item for item in worn if item not in step.items)
    if step.act == "don":
        for item in step.items:
            worn = place_under_sleeve(catalogue, worn, catalogue.items[item])
    return worn


def gloves_on_top(worn: Worn, catalogue: Catalogue) -> str | None:
    """The pair of gloves that can be touched, or None when the hands are bare."""
    return next((item for item in reversed(worn) if catalogue.items[item].kind == "gloves"), None)


def _check_header(order: Order, catalogue: Catalogue, problems: _Problems) -> None:
    for index, item in enumerate(order.worn):
        if item not in catalogue.items:
            problems.add(0, f"worn.{index}", f"no item is called {item}; `vestry catalog` lists them")
        elif item in order.worn[:index]:
            problems.add(0, f"worn.{index}", f"{item} is worn twice")
    if order.case.hazard is not None and order.case.hazard not in catalogue.hazards:
        problems.add(0, "case.hazard", f"no hazard is called {order.case.hazard}; `vestry catalog` lists them")
    for field, names in (("lane.contaminated", order.lane.contaminated), ("loads", tuple(order.loads or ()))):
        for name in names:
            if not _is_surface(name, catalogue):
                problems.add(0, field, f"no surface is called {name}; write OWNER.FACE, such as place.seat")
    for number, step in enumerate(order.steps, 1):
        for item in step.handled:
            if item not in catalogue.items:
                problems.add(number, "item", f"no item is called {item}; `vestry catalog` lists them")
        if step.agent is not None and step.agent not in catalogue.agents:
            problems.add(number, "agent", f"no hygiene agent is called {step.agent}")


def _is_surface(name: str, catalogue: Catalogue) -> bool:
    owner, _, face = name.partition(".")
    if owner in catalogue.items:
        return catalogue.items[owner].face(face) is not None
    if owner in catalogue.helpers:
        return face in catalogue.helpers[owner].faces
    return face in {"body": catalogue.body, "place": catalogue.places, "air": {"room": 0}}.get(owner, {})


def _opened(step: Step, worn: Worn, catalogue: Catalogue, number: int, problems: _Problems) -> list[Step]:
    if step.act != "change-gloves":
        return [step]
    old = step.item or gloves_on_top(worn, catalogue)
    if old is None:
        problems.add(number, "act", "change-gloves: no gloves are worn")
        return []
    return [
        Step(act="doff", item=old),
        Step(act="hand-hygiene", agent=step.agent if _on_hands(step.agent, catalogue) else None),
        Step(act="don", item="fresh-gloves"),
    ]


def _on_hands(agent: str | None, catalogue: Catalogue) -> bool:
    return agent is not None and "hands" in catalogue.agents[agent].on


def _explicit(step: Step, worn: Worn, catalogue: Catalogue, number: int, problems: _Problems) -> TaughtStep | None:
    before = len(problems.found)
    gloves = gloves_on_top(worn, catalogue)
    _check_possible(step, worn, gloves, catalogue, number, problems)
    technique = _technique(step, gloves, catalogue, number, problems)
    if technique is None or len(problems.found) > before:
        return None
    items = step.handled
    if step.act in ("disinfect-gloves", "hand-hygiene"):
        items = ()
    return TaughtStep(
        id=step_id(step.act, items or ((step.to,) if step.to else ()), technique.id),
        number=number,
        act=step.act,
        items=items,
        technique=technique,
        who=step.who or technique.who or "wearer",
        agent=step.agent or _default_agent(step.act, technique),
        to=step.to,
        faces=step.faces,
        touches=step.touches,
        seconds=step.seconds,
    )


def step_id(act: str, items: tuple[str, ...], technique: str) -> str:
    """A step's id is its content, not its place."""
    return ":".join([act, "+".join(items) or "-", technique])


def _default_agent(act: str, technique: Technique) -> str | None:
    if not any(touch.touch.startswith("clean") for touch in technique.touches):
        return None
    return "disinfectant-wipe" if act == "wipe" else "alcohol-rub"


def _check_possible(
    step: Step, worn: Worn, gloves: str | None, catalogue: Catalogue, number: int, problems: _Problems
) -> None:
    for item in step.handled:
        if step.act == "doff" and item not in worn:
            problems.add(number, "item", f"{item} is not worn at this step")
        if step.act == "don" and item in worn:
            problems.add(number, "item", f"{item} is already worn at this step")
        if step.act in ("wipe", "release") and item not in worn:
            problems.add(number, "item", f"{item} is not worn at this step")
    if step.act in ("don", "doff", "release") and not step.handled:
        problems.add(number, "item", f"{step.act} needs an item")
    if len(set(step.handled)) != len(step.handled):
        problems.add(number, "items", "an item stands twice")
    if step.act == "disinfect-gloves" and gloves is None and step.who not in ("assistant", "observer"):
        problems.add(number, "act", "disinfect-gloves: the hands are bare; hand-hygiene is for bare hands")
    if step.act == "hand-hygiene" and gloves is not None:
        problems.add(number, "act", f"hand-hygiene: the hands wear {gloves}; disinfect-gloves is for gloved hands")
    if step.act == "move" and step.to is None:
        problems.add(number, "to", "move needs a zone in `to`")
    if step.act == "touch" and step.touches is None:
        problems.add(number, "touches", "touch needs two surfaces in `touches`")
    for ref in step.touches or ():
        if wrong := unknown_reference(ref, step.handled, catalogue):
            problems.add(number, "touches", wrong)
    if step.agent is not None and step.act in ("disinfect-gloves", "hand-hygiene", "wipe"):
        on = {"disinfect-gloves": "gloves", "hand-hygiene": "hands", "wipe": "surfaces"}[step.act]
        if on not in catalogue.agents[step.agent].on:
            problems.add(number, "agent", f"{step.agent} is not for {on}")
    for face in step.faces:
        if not any(catalogue.items[item].face(face) for item in step.handled):
            problems.add(number, "faces", f"{'/'.join(step.handled)} has no face called {face}")


def _technique(
    step: Step, gloves: str | None, catalogue: Catalogue, number: int, problems: _Problems
) -> Technique | None:
    if step.act == "touch":
        return _SPOKEN_TOUCH
    kinds = tuple(catalogue.items[item].kind for item in step.handled)
    fitting = [t for t in catalogue.techniques if t.act == step.act and _fits(t, kinds)]
    if step.technique is not None:
        named = [t for t in fitting if t.id == step.technique]
        if not named:
            names = ", ".join(sorted({t.id for t in fitting})) or "none"
            problems.add(number, "technique", f"no technique {step.technique} for this act; there are: {names}")
            return None
        return max(named, key=lambda t: _closeness(t, _hands(gloves, catalogue), step.who))
    candidates = [t for t in fitting if t.taught]
    if not candidates:
        what = "+".join(step.handled) or "nothing"
        problems.add(number, "act", f"no taught technique for {step.act} of {what}; take the items one by one")
        return None
    return max(candidates, key=lambda t: _closeness(t, _hands(gloves, catalogue), step.who))


def _fits(technique: Technique, kinds: tuple[str, ...]) -> bool:
    if technique.together:
        return sorted(technique.together) == sorted(kinds)
    if "any" in technique.for_:
        return True
    if not kinds:
        return "place" in technique.for_ and technique.taught
    return len(kinds) == 1 and kinds[0] in technique.for_


def _closeness(technique: Technique, hands: str, who: str | None) -> tuple[int, int, int, int]:
    """Which technique is meant: possible with these hands, for this person, for this very kind; else the general one.

    Clean hands (bare, or in fresh gloves) take the technique for clean hands where there is one.
    """
    possible = (
        technique.hands
        in {"bare": ("any", "bare", "clean"), "fresh": ("any", "gloved", "clean"), "gloved": ("any", "gloved")}[hands]
    )
    wanted = {"observer": "assistant", "wearer-and-observer": "both"}.get(who or "", who)
    person = 2 if technique.who == (wanted or "wearer") else 1 if technique.who is None else 0
    closeness = {"any": 0, "clean": 2}.get(technique.hands, 1)
    return (int(possible), person, closeness, int("any" not in technique.for_))


def _hands(gloves: str | None, catalogue: Catalogue) -> str:
    if gloves is None:
        return "bare"
    return "fresh" if catalogue.items[gloves].layer == "fresh" else "gloved"


def _numbered(steps: list[TaughtStep]) -> tuple[TaughtStep, ...]:
    """Equal steps get ~2, ~3 behind their id, in order."""
    seen: dict[str, int] = {}
    numbered = []
    for step in steps:
        seen[step.id] = seen.get(step.id, 0) + 1
        numbered.append(step if seen[step.id] == 1 else replace(step, id=f"{step.id}~{seen[step.id]}"))
    return tuple(numbered)


_SPOKEN_TOUCH = Technique.model_validate(
    {
        "id": "as-written",
        "act": "touch",
        "for": ("any",),
        "source": "judgement",
        "certainty": "judgement",
        "touches": (),
    }
)
