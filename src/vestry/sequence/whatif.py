"""What would a change buy: each change on the same draws as the sequence as it is, ranked.

A published or local minimum is never offered for removal: an observer, a second person, a hygiene act that a rule in
force asks for. What is offered is dropping other hygiene acts, adding some, another agent, a glove change; and, where
they are missing, an observer, reading aloud, training, practice, relief. Nobody is told to change anything.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace

from vestry.contact.amounts import Context
from vestry.contact.amounts.answers import difference
from vestry.contact.taught import TaughtStep, gloves_on_top, taught
from vestry.sequence.amounts import (
    Asked,
    context_value,
    difference_rows,
    first_limit,
    seconds_of,
)
from vestry.sequence.amounts_found import Bought, ChangeKind, Kept, WhatIf
from vestry.sequence.subject import Subject, subject_of_order
from vestry.trade import BadFacts, Catalogue, Order, Step
from vestry.trade.values import Rule

FACE_KINDS = ("shield", "goggles", "mask", "respirator", "papr-hood", "papr-helmet")
HYGIENE = ("disinfect-gloves", "hand-hygiene")
STALE_MONTHS, LONG_MINUTES = 3.0, 60.0
# Which rules ask for a hygiene act, by what the act is.
ASKED_BY = {
    "disinfect-gloves": (
        "disinfect-gloves-before-first-removal",
        "disinfect-gloves-between-removals",
        "disinfect-gloves-after-flap",
        "both-disinfect-after-powered-hood",
        "helper-hygiene-at-once",
    ),
    "hand-hygiene": (
        "hand-hygiene-at-the-end",
        "hand-hygiene-when-soiled",
        "hand-hygiene-after-every-item",
        "clean-hands-before-inner-gloves",
    ),
}
PEOPLE = ("observer-at-every-step", "observer-reads-sees-records", "assistant-for-powered-unit-or-coverall")


@dataclass(frozen=True)
class Change:
    """A change: other steps, or other circumstances."""

    kind: ChangeKind
    at: str | None = None
    to: str | None = None
    steps: tuple[Step, ...] | None = None
    context: Context | None = None


def what_if(asked: Asked, progress: Callable[[int, int], bool | None] | None = None) -> WhatIf:
    """Every change that can be offered, by what it takes off the chance of exposure, then by minutes.

    Changes of steps are compared without recoveries on both sides, since another sequence has other ones; changes of
    circumstances with the recoveries that an observer calls for.
    """
    plain = replace(asked, recoveries=())
    offered = [*changes(asked)]
    bought: list[Bought] = []
    for done, change in enumerate(offered):
        if progress is not None and progress(done, len(offered)) is False:
            break
        one = _buy(asked, plain, change)
        if one is not None:
            bought.append(one)
    base = difference(plain.question, plain.question)
    return WhatIf(
        name=asked.subject.name,
        draws=asked.draws,
        seed=asked.seed,
        limit=first_limit(asked.limits),
        context=context_value(asked.context),
        base={row.endpoint: row.a for row in difference_rows(base)},
        changes=tuple(
            sorted(bought, key=lambda one: (one.exposure.difference.value, one.minutes, one.kind, one.at or ""))
        ),
        kept=kept(asked.subject),
    )


def _buy(asked: Asked, plain: Asked, change: Change) -> Bought | None:
    if change.steps is not None:
        order = asked.subject.order.model_copy(update={"steps": change.steps})
        try:
            other = subject_of_order(order, asked.subject.name, asked.subject.catalogue)
        except BadFacts:
            return None  # it cannot be carried out; nothing to offer
        here, there = plain, replace(plain, subject=other)
    else:
        assert change.context is not None
        here, there = asked, replace(asked, context=change.context)
    rows = difference_rows(difference(here.question, there.question))
    exposure = next(row for row in rows if row.endpoint == "exposure")
    return Bought(
        kind=change.kind,
        at=change.at,
        to=change.to,
        rows=rows,
        minutes=round(_minutes(there.subject) - _minutes(here.subject), 2),
        clear=exposure.interval[0] > 0 or exposure.interval[1] < 0,
    )


def _minutes(subject: Subject) -> float:
    return sum(seconds_of(step, subject.catalogue) for step in taught(subject.order, subject.catalogue)) / 60


# ---- what is never offered --------------------------------------------------------------------------------------


def rules_of(subject: Subject) -> dict[str, Rule]:
    """The published rules that hold for the subject's hazard and are not switched off; all when no hazard is named."""
    catalogue, hazard = subject.catalogue, subject.order.case.hazard
    family = catalogue.hazards[hazard].family if hazard else None
    off = subject.plan.policy.switched_off if subject.plan else ()
    return {
        rule.id: rule
        for rule in catalogue.rules.values()
        if rule.default_on
        and rule.id not in off
        and (family is None or not rule.for_families or family in rule.for_families)
    }


def kept(subject: Subject) -> tuple[Kept, ...]:
    """What a published or local minimum asks for: never offered for removal."""
    rules = rules_of(subject)
    people = tuple(rule for rule in PEOPLE if rule in rules)
    found = [
        Kept(what="observer", rules=tuple(rule for rule in people if rule.startswith("observer")) or ("local-policy",)),
        Kept(what="second-person", rules=tuple(r for r in people if r.startswith("assistant")) or ("local-policy",)),
    ]
    for act, asking in ASKED_BY.items():
        ids = tuple(rule for rule in asking if rule in rules)
        if ids:
            found.append(Kept(what=act, rules=ids))
    return tuple(found)


# ---- what is offered --------------------------------------------------------------------------------------------


def changes(asked: Asked) -> Iterator[Change]:
    """The changes that can be offered for a sequence in its circumstances."""
    yield from _circumstances(asked.context)
    steps = opened(asked.subject.order, asked.subject.catalogue)
    made = taught(asked.subject.order, asked.subject.catalogue)
    yield from _dropped(asked.subject, steps, made)
    yield from _added(asked.subject, steps, made)
    yield from _agents(asked.subject, steps, made)
    yield from _gloves(asked.subject, steps, made)


def opened(order: Order, catalogue: Catalogue) -> tuple[Step, ...]:
    """The steps of an order with every choice written down, one for each taught step."""
    found = []
    for one in taught(order, catalogue):
        spoken = one.act in ("doff", "don", "wipe", "release", "inspect", "sit")
        found.append(
            Step(
                act=one.act,  # type: ignore[arg-type]
                items=one.items if spoken else (),
                technique=None if one.act == "touch" else one.technique.id,
                who=one.who,  # type: ignore[arg-type]
                agent=one.agent,
                seconds=one.seconds,
                to=one.to,  # type: ignore[arg-type]
                faces=one.faces,
                touches=one.touches,
            )
        )
    return tuple(found)


def _circumstances(context: Context) -> Iterator[Change]:
    """Only what makes fewer go wrong; the other way is never offered."""
    if not context.observer:
        yield Change("observer", context=replace(context, observer=True))
    if not context.read_aloud:
        yield Change("read-aloud", context=replace(context, read_aloud=True))
    if not context.trained:
        yield Change("training", context=replace(context, trained=True))
    if context.months >= STALE_MONTHS:
        yield Change("practice", context=replace(context, months=0.0))
    if context.minutes >= LONG_MINUTES:
        yield Change("relief", context=replace(context, minutes=0.0))


def _dropped(subject: Subject, steps: tuple[Step, ...], made: tuple[TaughtStep, ...]) -> Iterator[Change]:
    asked_for = {one.what for one in kept(subject)}
    for number, step in enumerate(made):
        if step.act in HYGIENE and step.act not in asked_for:
            yield Change("drop-hygiene", at=step.id, steps=(*steps[:number], *steps[number + 1 :]))


def _added(subject: Subject, steps: tuple[Step, ...], made: tuple[TaughtStep, ...]) -> Iterator[Change]:
    """A hygiene act after each removal that none follows, and a second one after each that there is."""
    for number, step in enumerate(made, 1):
        if step.act not in ("doff", *HYGIENE):
            continue
        if step.act == "doff" and number < len(made) and made[number].act in HYGIENE:
            continue
        act = "disinfect-gloves" if gloves_on_top(subject.program.worn[number], subject.catalogue) else "hand-hygiene"
        agent = next((one.agent for one in made if one.act == act and one.agent), "alcohol-rub")
        at = made[number].id if number < len(made) else None
        extra = Step(act=act, agent=agent, who="wearer")  # type: ignore[arg-type]
        yield Change("add-hygiene", at=at, to=agent, steps=(*steps[:number], extra, *steps[number:]))


def _agents(subject: Subject, steps: tuple[Step, ...], made: tuple[TaughtStep, ...]) -> Iterator[Change]:
    """Another agent for all glove disinfections, or for all hand hygiene."""
    for act, on in (("disinfect-gloves", "gloves"), ("hand-hygiene", "hands")):
        used = {one.agent for one in made if one.act == act}
        if not used:
            continue
        for agent in subject.catalogue.agents.values():
            if on in agent.on and used != {agent.id}:
                other = tuple(
                    step.model_copy(update={"agent": agent.id}) if step.act == act else step for step in steps
                )
                yield Change("agent", at=act, to=agent.id, steps=other)


def _gloves(subject: Subject, steps: tuple[Step, ...], made: tuple[TaughtStep, ...]) -> Iterator[Change]:
    """Gloves changed before each removal from the face that is done in gloves worn in the room."""
    for number, step in enumerate(made):
        kinds = {subject.catalogue.items[item].kind for item in step.items}
        top = gloves_on_top(subject.program.worn[number], subject.catalogue)
        if step.act != "doff" or not kinds & set(FACE_KINDS) or top is None:
            continue
        if subject.catalogue.items[top].layer == "fresh" or "fresh-gloves" in subject.program.worn[number]:
            continue
        extra = Step(act="change-gloves")
        yield Change("change-gloves", at=step.id, steps=(*steps[:number], extra, *steps[number:]))
