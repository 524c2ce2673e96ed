"""From an approved procedure to what a tablet carries of it. Takes seconds: make it once for a version and keep it."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from functools import lru_cache
from typing import Any

from vestry.contact.program import Program
from vestry.entry.bundle import (
    Approval,
    BundleCourse,
    BundleLine,
    BundleScene,
    BundleStop,
    BundleView,
    BundleWords,
    Carried,
)
from vestry.entry.courses import PLAN, own_course
from vestry.figure import FigureView, UnknownItem, compose, on_the_person, side_for
from vestry.procedure import Answer, Approved, Scene
from vestry.sequence import Member, PlanStep, say
from vestry.trade import Catalogue
from vestry.trade.words import UnknownWord, Words

HEIGHT = 560
_STROKES = re.compile(r"(?=<(?:path|g|clipPath)\b)")


class _Once:
    """A list in which everything stands once."""

    def __init__(self) -> None:
        self.places: dict[Any, int] = {}

    def place(self, value: Any) -> int:
        return self.places.setdefault(value, len(self.places))

    @property
    def values(self) -> tuple[Any, ...]:
        return tuple(self.places)


def carried(
    approved: Approved,
    program: Program,
    scenes: Mapping[str, tuple[Scene, ...]],
    catalogue: Catalogue,
    words: Words,
    title: str,
) -> Carried:
    """What a tablet carries of this procedure.

    program   the compiled way out that was approved
    scenes    those of each answer, by its name (procedure.recovery_scenes), and of each own way out
              (procedure.own_scenes)
    """
    return _Carrying(approved, program, scenes, catalogue, words).all(title)


class _Carrying:
    def __init__(
        self,
        approved: Approved,
        program: Program,
        scenes: Mapping[str, tuple[Scene, ...]],
        catalogue: Catalogue,
        words: Words,
    ) -> None:
        self.approved, self.program, self.scenes = approved, program, scenes
        self.catalogue, self.words = catalogue, words
        self.steps, self.outfits, self.sets = _Once(), _Once(), _Once()
        self.pieces, self.drawn = _Once(), _Once()
        self.views: list[BundleView] = []
        self.undrawn: set[Any] = set()

    def all(self, title: str) -> Carried:
        plan, approval = self.approved.plan, self.approved.approval
        first = self.approved.scenes[0].worn if self.approved.scenes else ()
        courses = (
            BundleCourse(name=PLAN, worn=first, scenes=self._course(plan.steps, self.approved.scenes)),
            *(self._answer(one) for one in self.approved.answers),
            *(self._own(one) for one in plan.team),
        )
        return Carried(
            plan=plan.hash,
            approval=Approval(
                title=title,
                version=approval.version,
                approved_by=approval.approved_by,
                at=approval.at,
                review_on=approval.review_on,
                facts=approval.facts,
                model=approval.model,
            ),
            steps=self.steps.values,
            courses=courses,
            outfits=self.outfits.values,
            sets=self.sets.values,
            program=self.program.as_json(),
            items=tuple(sorted(self.catalogue.items)),
            words=self._words(),
            pieces=self.pieces.values,
            views=tuple(self.views),
        )

    # ---- courses ----

    def _answer(self, one: Answer) -> BundleCourse:
        recovery = one.recovery
        return BundleCourse(
            name=one.name,
            worn=recovery.worn,
            scenes=self._course(one.steps, self.scenes.get(one.name, ())),
            at=recovery.at,
            happened=recovery.happened,
            assumed=recovery.assumed,
            exposed=recovery.exposed,
            clean=recovery.clean,
        )

    def _own(self, member: Member) -> BundleCourse:
        name, steps = own_course(member.role), tuple(one for one in member.steps if one.phase == "doffing")
        scenes = self._course(steps, self.scenes.get(name, ()))
        return BundleCourse(name=name, worn=member.worn, scenes=scenes, role=member.role)

    def _course(self, steps: tuple[PlanStep, ...], scenes: tuple[Scene, ...]) -> tuple[BundleScene, ...]:
        """Scenes of the steps. Where none were made (facts of old that cannot be read), there is no picture."""
        known = scenes or tuple(Scene(step=step.id) for step in steps)
        return tuple(
            BundleScene(
                step=self.steps.place(step),
                worn=self.outfits.place(scene.worn),
                contaminated=self.sets.place(scene.contaminated),
                view=self._view(scene) if scenes else None,
                slips=scene.slips,
            )
            for step, scene in zip(steps, known, strict=True)
        )

    # ---- the figure ----

    def _view(self, scene: Scene) -> int | None:
        grasp, avoid = on_the_person(scene.grasp), on_the_person(scene.avoid)
        key = (scene.worn, scene.pose, grasp, avoid)
        if key in self.undrawn:
            return None
        if key not in self.drawn.places:
            try:
                made = self._draw(scene, grasp, avoid)
            except (UnknownItem, KeyError, ValueError):
                self.undrawn.add(key)
                return None
            self.drawn.place(key)
            self.views.append(made)
        return self.drawn.places[key]

    def _draw(self, scene: Scene, grasp: tuple[str, ...], avoid: tuple[str, ...]) -> BundleView:
        side: Any = side_for(grasp) if grasp else "front"
        faces = {f"{item}.{face.id}" for item in scene.worn for face in self.catalogue.items[item].faces}
        body = {name for name in self.program.surfaces if name.startswith("body.")}
        view = FigureView(
            worn=scene.worn,
            contaminated=frozenset(faces | body),
            grasp=frozenset(grasp),
            avoid=frozenset(avoid),
            side=side,
            pose=scene.pose,
        )
        parts = tuple(self.pieces.place(part) for part in _STROKES.split(_drawn(view)))
        return BundleView(side=side, pose=scene.pose, grasp=grasp, avoid=avoid, parts=parts)

    # ---- words ----

    def _words(self) -> BundleWords:
        steps: tuple[PlanStep, ...] = self.steps.values
        slips = {slip for one in (self.approved.scenes, *self.scenes.values()) for scene in one for slip in scene.slips}
        happened = {event for one in self.approved.answers for event in one.recovery.happened}
        surfaces = set(self.program.surfaces) | {name for one in self.sets.values for name in one}
        items = {item for outfit in self.outfits.values for item in outfit}
        points = {step.stop_point for step in steps if step.stop_point}
        return BundleWords(
            language=self.words.language.tag,
            direction=self.words.language.direction,
            digest=self.words.digest,
            lines=tuple(self._line(step) for step in steps),
            events=_said(slips | happened, self.words.event),
            surfaces=_said(surfaces, self.words.surface),
            items=_said(items, self.words.item_short),
            stops={
                point: BundleStop(name=self.words.stop(point).name, say=self.words.stop(point).say)
                for point in sorted(points)
            },
            cautions=tuple(self.words.cautions),
        )

    def _line(self, step: PlanStep) -> BundleLine:
        said = say(step, self.words, self.catalogue)
        waste = self.words.waste(step.waste) if step.waste else ""
        return BundleLine(say=said.say, watch=said.watch, short=said.short, waste=waste)


@lru_cache(maxsize=256)
def _drawn(view: FigureView) -> str:
    """A picture, drawn once: procedures and languages share most of theirs, and each takes a tenth of a second."""
    return compose(view, prefix="whole-", height=HEIGHT)


def _said(ids: Iterable[str], say_one: Any) -> dict[str, str]:
    """What each is called; those without a word are left out, and the screen shows the id."""
    found = {}
    for one in sorted(ids):
        try:
            found[one] = str(say_one(one))
        except (UnknownWord, KeyError, ValueError):
            continue
    return found
