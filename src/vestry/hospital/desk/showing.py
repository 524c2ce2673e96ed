"""A worked-out plan as what its page shows: sentences, rows and pictures, as plain data for a template."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from django.utils.safestring import SafeString, mark_safe
from django.utils.translation import gettext

from vestry.figure import FigureView, compose
from vestry.hospital import facts
from vestry.hospital.desk.routes import route_shown
from vestry.hospital.desk.team import team_shown
from vestry.hospital.desk.wall import Column, wall
from vestry.hospital.language import words_now
from vestry.procedure import Scene
from vestry.sequence import Assurance, Plan, Route, say
from vestry.sequence.agents import not_counted, told_not_counted
from vestry.sequence.telling import told_surface
from vestry.trade import Catalogue
from vestry.trade.words import Words


@dataclass(frozen=True)
class PlanShown:
    """What the page of a plan shows."""

    plan: Plan
    title: str
    case: list[tuple[str, str]]
    verdict: str
    clean: bool
    low: str
    figure: SafeString
    layers: list[dict[str, Any]]
    wall: SafeString
    columns: list[dict[str, Any]]
    reached: list[dict[str, Any]]
    cleaned_later: list[dict[str, Any]]
    weak: list[dict[str, Any]]
    steps: list[dict[str, Any]]
    rests_on: list[dict[str, Any]]
    not_counted: list[str]
    gaps: list[str]
    names: list[tuple[str, str]]
    team: dict[str, Any]


def show(plan: Plan, assurance: Assurance, scenes: tuple[Scene, ...], answers: int) -> PlanShown:
    """The page of a plan."""
    return _Shower(plan, assurance, scenes, words_now(), facts.catalogue_of(assurance.facts)).show(answers)


def title_of(plan: Plan, catalogue: Catalogue) -> str:
    """A plan's title in trade words: "Gown, disposable respirator and face shield, for a wet patient"."""
    words = words_now()
    kinds = {"gown", "coverall", "respirator", "mask", "papr-hood", "papr-helmet", "shield", "goggles", "apron"}
    worn = [
        words.item_short(item).lower()
        for item in plan.worn
        if item in catalogue.items and catalogue.items[item].kind in kinds
    ]
    listed = " and ".join([", ".join(worn[:-1]), worn[-1]] if len(worn) > 1 else worn)
    wet = {"dry": gettext("a stable patient"), "wet": gettext("a wet patient")}[plan.case.presentation]
    return gettext("%(upper)s%(listed_1)s, for %(wet)s") % {
        "upper": listed[:1].upper(),
        "listed_1": listed[1:],
        "wet": wet,
    }


@dataclass(frozen=True)
class _Shower:
    plan: Plan
    assurance: Assurance
    scenes: tuple[Scene, ...]
    words: Words
    catalogue: Catalogue

    def show(self, answers: int) -> PlanShown:
        found = self.assurance
        columns = self.columns()
        watch = [str(one.number) for one in found.steps if one.watch]
        later = [one for one in found.reached if one.when == "ever" and one.endpoint == "skin"]
        return PlanShown(
            plan=self.plan,
            title=title_of(self.plan, self.catalogue),
            case=self.case(),
            verdict=self.words.verdict(found.verdict).says,
            clean=found.clean,
            low=(
                gettext("One further error can, at %(len)s of the %(len2)s steps of the way out: %(join)s.")
                % {"len": len(watch), "len2": len(found.steps), "join": ", ".join(watch)}
                if watch
                else gettext("At every step more than one further error is needed.")
            ),
            figure=self.figure(),
            layers=self.layers(),
            wall=mark_safe(wall([column for column, _ in columns])),  # escaped where it is made
            columns=[row for _, row in columns],
            reached=[self.route(one) for one in found.reached if one not in later],
            cleaned_later=[self.route(one) for one in later],
            weak=[self.route(one) for one in found.weak[:12]],
            steps=self.steps(),
            rests_on=self.rests_on(),
            not_counted=[
                told_not_counted(one, self.plan, self.words, self.catalogue)
                for one in not_counted(self.plan, self.catalogue)
            ],
            gaps=[told_surface(f"body.{one}", self.words) for one in found.gaps],
            names=[
                (gettext("Plan"), self.plan.hash),
                (gettext("Facts"), found.facts),
                (gettext("Contact model"), found.model_version),
                (gettext("Answers to deviations"), str(answers)),
            ],
            team=team_shown(self.plan, found, self.words, self.catalogue),
        )

    def case(self) -> list[tuple[str, str]]:
        case, policy = self.plan.case, self.plan.policy
        gear = (
            gettext("%(len)s kinds named") % {"len": len(case.gear)}
            if case.gear
            else gettext("every kind that the unit knows")
        )
        return [
            (gettext("Hazard"), self.words.hazard(case.hazard)),
            (gettext("Presentation"), self.words.term("presentation", case.presentation)),
            (gettext("Go in together"), str(case.wearers)),
            (gettext("Tasks"), ", ".join(self.words.term("task", one) for one in case.tasks)),
            (gettext("Gear at hand"), gear),
            (
                gettext("Order"),
                {
                    "own-order": gettext("the unit's own"),
                    "published-rules": gettext("from published rules"),
                    "given": gettext("as given"),
                    "searched": gettext("searched under the rules in force"),
                }[self.plan.origin],
            ),
            (gettext("Limit inside"), gettext("%(limit_minutes)s minutes") % {"limit_minutes": policy.limit_minutes}),
            (gettext("Country's rules"), self.words.jurisdiction(policy.jurisdiction)),
        ]

    def figure(self) -> SafeString:
        scene = next(
            (one for one, step in zip(self.scenes, self.plan.steps, strict=True) if step.phase == "doffing"),
            self.scenes[-1],
        )
        view = FigureView(
            worn=scene.worn,
            contaminated=frozenset(name for name in scene.contaminated if _drawn(name)),
            title=gettext("The ensemble from the front"),
            desc=gettext("Hatched: may be contaminated after the work at the bedside."),
        )
        return mark_safe(compose(view, prefix="ensemble-", height=560))  # our own drawing

    def layers(self) -> list[dict[str, Any]]:
        rows = [
            {
                "number": number,
                "name": self.words.item(one.item),
                "reasons": [
                    {"why": self.words.why(reason.why), "source": self.source(reason.source)} for reason in one.reasons
                ],
            }
            for number, one in enumerate(self.plan.ensemble, 1)
        ]
        return rows[::-1]

    def source(self, source: str) -> str:
        known = self.catalogue.sources.get(source)
        return (
            f"{known.publisher}, {known.year}"
            if known and known.year != "unknown"
            else (known.publisher if known else source)
        )

    def columns(self) -> list[tuple[Column, dict[str, Any]]]:
        by_id = {step.id: step for step in self.plan.steps}
        rows = []
        for one in self.assurance.steps:
            short = say(by_id[one.step], self.words, self.catalogue).short
            column = Column(one.number, short, one.further, one.with_fault, one.watch)
            rows.append(
                (
                    column,
                    {
                        "number": one.number,
                        "step": one.step,
                        "short": short,
                        "further": self.count(one.further),
                        "with_fault": self.count(one.with_fault),
                        "watch": one.watch,
                        "endpoint": self.words.endpoint(one.endpoint) if one.endpoint else "",
                    },
                )
            )
        return rows

    def count(self, number: int | None) -> str:
        return gettext("more than %(order)s") % {"order": self.assurance.order} if number is None else str(number)

    def steps(self) -> list[dict[str, Any]]:
        rows = []
        for number, step in enumerate(self.plan.steps, 1):
            said = say(step, self.words, self.catalogue)
            rows.append(
                {
                    "number": number,
                    "say": said.say,
                    "watch": said.watch,
                    "short": said.short,
                    "who": self.words.term("who", step.who),
                    "phase": self.words.term("phase", step.phase),
                    "group": step.group,
                    "waste": self.words.waste(step.waste) if step.waste else "",
                    "stop": self.words.stop(step.stop_point).name if step.stop_point else "",
                }
            )
        return rows

    def rests_on(self) -> list[dict[str, Any]]:
        rows = []
        for one in self.assurance.conventions:
            named = self.words.convention(one)
            flips = one in self.assurance.flips
            rows.append({"name": named.name, "says": named.says, "flips": flips})
        return sorted(rows, key=lambda row: not row["flips"])

    def route(self, route: Route) -> dict[str, Any]:
        return route_shown(route, self.words, self.where)

    def where(self, step: str) -> str:
        for number, one in enumerate(self.plan.steps, 1):
            if one.id == step:
                return gettext("Step %(number)s, %(say)s") % {
                    "number": number,
                    "say": say(one, self.words, self.catalogue).short,
                }
        return step


def _drawn(surface: str) -> bool:
    """Whether a surface is on the person at all."""
    return surface.partition(".")[0] not in ("place", "air", "assistant", "observer")
