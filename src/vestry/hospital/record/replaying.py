"""The figure of a record, event by event: what was worn and may have been contaminated then, by the contact model.

The same pure fold and program as in the anteroom, over the first so many events in the order in which they count.
"""

from __future__ import annotations

import uuid
from dataclasses import dataclass
from functools import lru_cache

from vestry.contact.program import Program
from vestry.entry import Course, EntryState, Event, Led, fold, in_order
from vestry.entry.actual import actual, still_here
from vestry.entry.courses import PLAN
from vestry.entry.offering import worn_after
from vestry.hospital import facts
from vestry.hospital.anteroom.picture import Picture, picture
from vestry.hospital.desk.mapper import answer_scenes_of, approved_of
from vestry.hospital.desk.models import ApprovalBasis
from vestry.hospital.record.mapper import led_of
from vestry.hospital.record.models import Entry
from vestry.procedure import Scene
from vestry.sequence import program_of
from vestry.trade.words import UnknownWord, Words


@dataclass(frozen=True)
class Moment:
    """One moment of a replay: after event `at` of `of`. `step`: the step that is next, or held; None at the end.

    whole   False where more may be contaminated than the program can know
    """

    at: int
    of: int
    event: Event | None
    state: EntryState
    step: str | None
    picture: Picture | None
    contaminated: tuple[str, ...]
    worn: tuple[str, ...]
    whole: bool


@lru_cache(maxsize=16)
def _program(version: uuid.UUID) -> Program:
    basis = ApprovalBasis.objects.filter(version=version).first()
    if basis:
        return Program.from_json(basis.program)
    approved = approved_of(version)
    return program_of(approved.plan, facts.catalogue_of(approved.approval.facts))


def moment(entry: Entry, events: tuple[Event, ...], at: int, words: Words) -> Moment:
    """The moment after the first `at` events; beyond the last it is the last."""
    ordered = in_order(events)
    at = max(0, min(at, len(ordered)))
    led = led_of(entry.version)
    state = fold(led, ordered[:at])
    course = led.course(state.course) or led.plan
    place, scene = _scene(entry, state, course, led)
    contaminated, whole = _contaminated(entry, state, course, scene)
    drawn = None
    if scene is not None:
        now = replace_scene(scene, state.worn, contaminated)
        drawn = picture(now, words, plain=True)
    step = course.steps[place].id if place is not None else None
    return Moment(
        at,
        len(ordered),
        ordered[at - 1] if at else None,
        state,
        step,
        drawn,
        tuple(sorted(_name(words.surface, one) for one in contaminated)),
        tuple(_name(words.item, one) for one in state.worn),
        whole,
    )


def replace_scene(scene: Scene, worn: tuple[str, ...], contaminated: frozenset[str]) -> Scene:
    """A scene as it was, not as it was planned. What was discarded by then is no longer drawn."""
    return scene.model_copy(update={"worn": worn, "contaminated": tuple(sorted(contaminated))})


def _scene(entry: Entry, state: EntryState, course: Course, led: Led) -> tuple[int | None, Scene | None]:
    if not course.steps:
        return None, None
    held = state.held.step if state.held and state.held.course == course.name else None
    place = next((n for n, one in enumerate(course.steps) if one.id == held), state.position)
    known = approved_of(entry.version_id).scenes
    scenes = known if course.name == PLAN else answer_scenes_of(entry.version_id, course.name)
    last = min(place, len(course.steps) - 1)
    scene = scenes[last] if last < len(scenes) else Scene(step=course.steps[last].id)
    return (None if place >= len(course.steps) else place), scene


def _contaminated(entry: Entry, state: EntryState, course: Course, scene: Scene | None) -> tuple[frozenset[str], bool]:
    """By the program run with what was said; on the way of an answer, what the answer assumes there."""
    items = frozenset(facts.catalogue_of(entry.version.facts).items)
    if course.name != PLAN:
        assumed = frozenset(scene.contaminated) if scene else frozenset()
        return still_here(assumed, frozenset(state.worn), items), True
    now = actual(_program(entry.version_id), state)
    held = state.held.happened if state.held else None
    worn = frozenset(state.worn)
    if held is not None and held.step in now.after:
        step = next(one for one in course.steps if one.id == held.step)
        return still_here(
            now.before[held.step] | now.after[held.step], worn | worn_after(state, step), items
        ), now.whole
    over = state.position >= len(course.steps)
    here = course.steps[min(state.position, len(course.steps) - 1)].id
    if here not in now.before:  # donning, and inside: the plan's own scenes
        return frozenset(scene.contaminated) if scene and not over else frozenset(), now.whole
    return still_here((now.after if over else now.before)[here], worn, items), now.whole


def _name(naming: object, what: str) -> str:
    try:
        return str(naming(what))  # type: ignore[operator]
    except UnknownWord:
        return what
