"""Those beside the wearer and the lane that several share, as the page of a plan shows them."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import Any

from django.utils.translation import gettext

from vestry.hospital.desk.routes import route_shown
from vestry.sequence import Assurance, Member, Plan, Route, say
from vestry.sequence.assurance import LaneFound, MemberFound
from vestry.sequence.telling import told_surface
from vestry.trade import Catalogue
from vestry.trade.words import Words

Where = Callable[[str], str]


def team_shown(plan: Plan, assurance: Assurance, words: Words, catalogue: Catalogue) -> dict[str, Any]:
    """Members with their gear, steps and verdict; the turnaround; the lane. Empty where the plan has neither."""
    shower = _TeamShower(plan, words, catalogue)
    found = {one.role: one for one in assurance.team}
    return {
        "members": [shower.member(one, found.get(one.role)) for one in plan.team],
        "turnaround": [
            {"number": f"T{number}", "say": words.turnaround(key).say, "watch": words.turnaround(key).watch}
            for number, key in enumerate(plan.turnaround, 1)
        ],
        "lane": shower.lane(assurance.lane) if assurance.lane else None,
    }


@dataclass(frozen=True)
class _TeamShower:
    plan: Plan
    words: Words
    catalogue: Catalogue

    def member(self, member: Member, found: MemberFound | None) -> dict[str, Any]:
        letter = member.role[0].upper()
        numbers = {step.id: f"{letter}{number}" for number, step in enumerate(member.steps, 1)}

        def where(step: str) -> str:
            own = f"{member.role}.{step}"
            return gettext("Step %(number)s") % {"number": numbers[own]} if own in numbers else step

        return {
            "role": self.words.term("who", member.role),
            "wears": [self.words.item(item) for item in member.worn],
            "missing": [gettext(" or ").join(self.words.item(item) for item in place) for place in member.missing],
            "steps": [
                {
                    "number": numbers[step.id],
                    "who": self.words.term("who", step.who),
                    "phase": self.words.term("phase", step.phase),
                    "say": said.say,
                    "watch": said.watch,
                }
                for step in member.steps
                for said in [say(step, self.words, self.catalogue)]
            ],
            "verdict": self.words.verdict("clean" if found.clean else "reached").says if found else "",
            "clean": found.clean if found else None,
            "beyond": [self.surface(name) for name in found.beyond] if found else [],
            "reached": self.routes((one for one in found.reached if one.when == "at-end"), where) if found else [],
            "weak": self.routes(found.weak[:8], where) if found else [],
        }

    def lane(self, lane: LaneFound) -> dict[str, Any]:
        numbers = {step.id: number for number, step in enumerate(self.plan.steps, 1)}

        def where(step: str) -> str:
            if step.startswith("turnaround:"):
                return f"Between: {self.words.turnaround(step.split(':')[2]).short}"
            number, _, own = step.partition("/")
            return f"Exit {number}, step {numbers[own]}" if own in numbers else f"Exit {number}"

        return {
            "wearers": lane.wearers,
            "clean": lane.clean,
            "left": [self.surface(name) for name in lane.left],
            "left_after": [self.surface(name) for name in lane.left_after],
            "added": self.routes(lane.added, where),
            "unturned": self.routes(lane.added_unturned, where),
            "weak": self.routes(lane.weak, where),
        }

    def routes(self, routes: Iterable[Route], where: Where) -> list[dict[str, Any]]:
        """No link to the explanation: that one is of the wearer's own way out."""
        return [{**route_shown(route, self.words, where), "surface": ""} for route in routes]

    def surface(self, name: str) -> str:
        return told_surface(name, self.words)
