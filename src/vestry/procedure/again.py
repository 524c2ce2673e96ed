"""An approved plan on today's facts: assured again, planned again, and what of it is another than was approved."""

from __future__ import annotations

from typing import Literal

from vestry.procedure.approved import Approved
from vestry.procedure.used import Touched
from vestry.sequence import Assurance, NoPlan, Plan, Route, assure, plan_case
from vestry.trade import BadFacts, Catalogue
from vestry.trade.values import Value


class CountChanged(Value):
    """One count of routes that is another now. `size`: how many errors they need; `was`, `now`: how many there are."""

    loads: Literal["all", "high"]
    latent: bool
    endpoint: str
    when: Literal["ever", "at-end"]
    size: int
    was: int
    now: int


class Again(Value):
    """What became of an approved plan on other facts or another model.

    problems      why it can no longer be assured; then there is no assurance
    touched       the facts beneath it that are others
    reached, weak routes as taught, and routes by one error, that are new or gone
    watch         steps of which one error suffices, that are new or gone
    planned       whether the case would be planned the same now; `plan` is the other plan, `refused` why there is none
    """

    facts: str
    model: str
    problems: tuple[str, ...] = ()
    touched: tuple[Touched, ...] = ()
    assurance: Assurance | None = None
    verdict_was: str
    reached_new: tuple[Route, ...] = ()
    reached_gone: tuple[Route, ...] = ()
    weak_new: tuple[Route, ...] = ()
    weak_gone: tuple[Route, ...] = ()
    watch_new: tuple[str, ...] = ()
    watch_gone: tuple[str, ...] = ()
    counts: tuple[CountChanged, ...] = ()
    planned: Literal["same", "other", "refused"]
    plan: Plan | None = None
    refused: str | None = None

    @property
    def assured_otherwise(self) -> bool:
        """Whether the model says anything else of the plan now."""
        return bool(
            self.problems
            or (self.assurance is not None and self.assurance.verdict != self.verdict_was)
            or self.reached_new
            or self.reached_gone
            or self.weak_new
            or self.weak_gone
            or self.watch_new
            or self.watch_gone
            or self.counts
        )

    @property
    def same(self) -> bool:
        """Whether nothing of it is another: neither what the model says nor how the case would be planned."""
        return not self.assured_otherwise and self.planned == "same"


def again(approved: Approved, catalogue: Catalogue, model: str, touched: tuple[Touched, ...] = ()) -> Again:
    """Assure and plan an approved procedure again on these facts. Refusals are part of the answer."""
    was = approved.assurance
    planned = _planned(approved.plan, catalogue)
    common = {"facts": catalogue.digest, "model": model, "touched": touched, "verdict_was": was.verdict, **planned}
    try:
        now = assure(approved.plan, catalogue)
    except (BadFacts, KeyError) as bad:
        problems = [problem.what for problem in bad.problems] if isinstance(bad, BadFacts) else [f"{bad} is not there"]
        return Again.model_validate({**common, "problems": tuple(problems)})
    watched = [{one.step for one in found.steps if one.watch} for found in (was, now)]
    return Again.model_validate(
        {
            **common,
            "assurance": now,
            "reached_new": _only(now.reached, was.reached),
            "reached_gone": _only(was.reached, now.reached),
            "weak_new": _only(now.weak, was.weak),
            "weak_gone": _only(was.weak, now.weak),
            "watch_new": tuple(one.step for one in now.steps if one.step in watched[1] - watched[0]),
            "watch_gone": tuple(one.step for one in was.steps if one.step in watched[0] - watched[1]),
            "counts": tuple(_counts(was, now)),
        }
    )


def _planned(plan: Plan, catalogue: Catalogue) -> dict[str, object]:
    try:
        new = plan_case(plan.case, plan.policy, catalogue)
    except NoPlan as no:
        sites = ", ".join(dict.fromkeys(one.site for one in no.reasons))
        return {"planned": "refused", "refused": no.why if not sites else f"{no.why}: {sites}"}
    except (BadFacts, KeyError, ValueError) as bad:
        return {"planned": "refused", "refused": str(bad)}
    if new.hash == plan.hash:
        return {"planned": "same"}
    return {"planned": "other", "plan": new}


def _only(these: tuple[Route, ...], those: tuple[Route, ...]) -> tuple[Route, ...]:
    """The routes of one list that the other lacks: by where they lead, when, and by which errors."""
    known = {(one.surface, one.when, one.events) for one in those}
    return tuple(one for one in these if (one.surface, one.when, one.events) not in known)


def _counts(was: Assurance, now: Assurance) -> list[CountChanged]:
    before = {(table.loads, table.latent, row.endpoint): row for table in was.tables for row in table.endpoints}
    found = []
    for table in now.tables:
        for row in table.endpoints:
            old = before.get((table.loads, table.latent, row.endpoint))
            rows: tuple[tuple[Literal["ever", "at-end"], tuple[int, ...], tuple[int, ...]], ...] = (
                ("ever", old.ever if old else (), row.ever),
                ("at-end", old.at_end if old else (), row.at_end),
            )
            for when, then, here in rows:
                found += [
                    CountChanged(
                        loads=table.loads, latent=table.latent, endpoint=row.endpoint, when=when, size=size,
                        was=then[size] if size < len(then) else 0, now=count,
                    )
                    for size, count in enumerate(here)
                    if count != (then[size] if size < len(then) else 0)
                ]  # fmt: skip
    return found
