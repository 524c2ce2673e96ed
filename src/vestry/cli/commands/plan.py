"""Plan a case: ensemble with reasons, donning, doffing, and what the contact model says of it.

Exit status: 0 a plan that is clean as taught; 1 no plan, or a plan with a route as taught; 2 wrong use or bad input.
"""

from __future__ import annotations

import argparse
import json
from typing import Any, TypeVar, get_args

from pydantic import BaseModel, ValidationError

from vestry.cli import files, output
from vestry.sequence import Assurance, Case, NoPlan, Plan, Policy, assure, plan_case, say
from vestry.sequence.agents import not_counted, told_not_counted
from vestry.sequence.case import Task
from vestry.sequence.policy import GarmentChoice, GloveChange, HandsOn, RespiratorChoice
from vestry.trade import BadFacts, Catalogue, Problem
from vestry.trade.words import Words, load_words

Model = TypeVar("Model", bound=BaseModel)


def arguments(parser: argparse.ArgumentParser) -> None:
    """The options of the command."""
    case_arguments(parser)
    parser.add_argument("--out", metavar="FILE", help="write the JSON there as well")
    files.facts_argument(parser)
    parser.add_argument("--json", action="store_true")


def case_arguments(parser: argparse.ArgumentParser) -> None:
    """The options that say the case and the policy."""
    parser.add_argument("--case", metavar="FILE", help="the case as a TOML or JSON file (- for standard input)")
    parser.add_argument("--hazard", help="hazard id; `vestry catalog` lists them")
    parser.add_argument("--presentation", choices=("dry", "wet"))
    parser.add_argument("--task", action="append", choices=get_args(Task), help="may be given several times")
    parser.add_argument("--wearers", type=int, metavar="N", help="how many come out through one lane (1 to 4)")
    parser.add_argument("--gear", nargs="+", metavar="ITEM", help="item ids at hand; all of them when left out")
    parser.add_argument("--policy", metavar="FILE", help="the unit's policy as a TOML or JSON file")
    parser.add_argument("--respirator", choices=get_args(RespiratorChoice))
    parser.add_argument("--garment", choices=get_args(GarmentChoice))
    parser.add_argument("--glove-change", choices=get_args(GloveChange))
    parser.add_argument("--hands-on", choices=get_args(HandsOn), help="who may touch the wearer in doffing")
    parser.add_argument("--doffing-zone", choices=("doffing-area", "anteroom", "room"))
    parser.add_argument("--glove-agent", metavar="AGENT", help="what gloves are disinfected with")
    parser.add_argument("--hand-agent", metavar="AGENT", help="what bare hands are cleaned with")
    for option in ("apron", "hair-cover", "hood", "foot-covers"):
        parser.add_argument(f"--with-{option}", action=argparse.BooleanOptionalAction, default=None)
    parser.add_argument("--mask-for-stable-haemorrhagic", action=argparse.BooleanOptionalAction, default=None)
    parser.add_argument("--own-order", nargs="+", metavar="KIND", help="the unit's own order of removals, by kind")
    parser.add_argument(
        "--jurisdiction", help="whose rules hold where they differ by country; `vestry catalog` lists them"
    )
    parser.add_argument("--rule-off", nargs="+", metavar="RULE", help="published rules not followed, by id")
    parser.add_argument("--rule-on", nargs="+", metavar="RULE", help="published rules that are off, followed, by id")


def run(options: argparse.Namespace) -> int:
    """Plan, assure, print."""
    if options.out:
        files.check_place(options.out)
    catalogue, words = files.facts_of(options).catalogue, load_words("en")
    (case, case_lines), (policy, policy_lines) = case_of(options), policy_of(options)
    try:
        with (
            files.blamed_on(options.case or "plan", case_lines, "case."),
            files.blamed_on(options.policy or "plan", policy_lines, "policy."),
        ):
            plan = plan_case(case, policy, catalogue, None if options.json else output.progress)
    except NoPlan as none:
        return output.no_plan(none, options.json, words)
    found = assure(plan, catalogue)
    document = {"hash": plan.hash, "plan": plan.as_json(), "assurance": found.as_json()}
    if options.out:
        files.write(options.out, json.dumps(document, indent=1, ensure_ascii=False).encode())
    if options.json:
        output.print_json(document)
    else:
        print("\n".join(describe(plan, found, words, catalogue)))
    return 0 if found.clean else 1


def describe(plan: Plan, found: Assurance, words: Words, catalogue: Catalogue) -> list[str]:
    """The plan as it is read in a terminal."""
    further = {one.step: one for one in found.steps}
    case = f"{words.hazard(plan.case.hazard)}, {words.term('presentation', plan.case.presentation)}"
    lines = [
        f"Plan {plan.hash[:16]}  {case}",
        f"Rules of waste and respirators: {words.jurisdiction(plan.policy.jurisdiction)}",
        "Unapproved: a computed plan is a desk tool until the programme lead approves it.",
        "",
        "Ensemble, in donning order:",
    ]
    for one in plan.ensemble:
        reasons = "; ".join(words.why(reason.why) for reason in one.reasons)
        lines.append(f"  {words.item(one.item)}: {reasons}")
    phase = ""
    for number, step in enumerate(plan.steps, 1):
        if step.phase != phase:
            phase = step.phase
            lines += ["", words.term("phase", phase).capitalize()]
        if step.stop_point:
            lines.append(f"      -- {words.stop(step.stop_point).say}")
        mark = ""
        if step.id in further and further[step.id].watch:
            mark = "  [watch this: one error here reaches " + words.endpoint(further[step.id].endpoint or "skin") + "]"
        said = say(step, words, catalogue)
        lines.append(f"  {number:>3}  {words.term('who', step.who)}: {said.say}{mark}")
    weak = [output.paragraph(told_not_counted(one, plan, words, catalogue)) for one in not_counted(plan, catalogue)]
    lines += ["", *weak] if weak else []
    others = _others(found, words)
    return [*lines, *_team_lines(plan, words, catalogue), *others, "", *output.verdict_lines(found, words)]


def _team_lines(plan: Plan, words: Words, catalogue: Catalogue) -> list[str]:
    """What those beside the wearer do, and what is done between two exits."""
    lines: list[str] = []
    if plan.turnaround:
        lines += ["", f"Between two of the {plan.case.wearers} exits through the lane"]
        for number, one in enumerate(plan.turnaround, 1):
            lines.append(f"  T{number:<2}  {words.turnaround(one).say}")
    for member in plan.team:
        lines += ["", f"{words.term('who', member.role).capitalize()}, own donning and doffing"]
        lines.append("  wears " + ", ".join(words.item(item) for item in member.worn))
        for place in member.missing:
            lines.append("  nothing at hand of: " + " or ".join(words.item(item) for item in place))
        for number, step in enumerate(member.steps, 1):
            said = say(step, words, catalogue)
            lines.append(f"  {member.role[0].upper()}{number:<3} {words.term('who', step.who)}: {said.say}")
    return lines


def _others(found: Assurance, words: Words) -> list[str]:
    """What the model says of those beside the wearer, and of the lane."""
    lines: list[str] = []
    for one in found.team:
        named = words.verdict("clean" if one.clean else "reached")
        lines += ["", f"{words.term('who', one.role).capitalize()}, own way out: {named.short}"]
        for name in one.beyond:
            lines.append(f"  more than assumed: {words.surface(name)} may be reached by the wearers' way out")
        if not one.clean:
            lines += [f"  {output.route_title(route, words)}" for route in one.reached]
    if found.lane is not None:
        lane = found.lane
        lines += ["", f"One lane, {lane.wearers} wearers:"]
        for title, names in (("left by the first", lane.left), ("still there after the turnaround", lane.left_after)):
            lines.append(f"  {title}: " + (", ".join(words.surface(name) for name in names) or "nothing"))
        for title, routes in (
            ("reached as taught through what another left", lane.added),
            ("the same without any turnaround", lane.added_unturned),
            ("reached by one error at another's exit or between", lane.weak),
        ):
            lines.append(f"  {title}: " + ("; ".join(output.route_title(one, words) for one in routes) or "nothing"))
    return lines


def case_of(options: argparse.Namespace) -> tuple[Case, files.Lines]:
    """The case that the options say, and its lines where it came out of a file."""
    given: dict[str, Any] = {}
    lines: files.Lines = {}
    if options.case:
        read, lines = files.read_model(Case, options.case)
        given = read.model_dump(by_alias=True)
    for key, value in (
        ("hazard", options.hazard),
        ("presentation", options.presentation),
        ("tasks", options.task),
        ("gear", options.gear),
        ("wearers", options.wearers),
    ):
        if value is not None:
            given[key] = value
    if "hazard" not in given:
        raise BadFacts([Problem("plan", 0, "hazard", "name a hazard with --hazard or a case file with --case")])
    return _valid(Case, given), lines


def policy_of(options: argparse.Namespace) -> tuple[Policy, files.Lines]:
    """The policy that the options say, and its lines where it came out of a file."""
    given: dict[str, Any] = {}
    lines: files.Lines = {}
    if options.policy:
        read, lines = files.read_model(Policy, options.policy)
        given = read.model_dump(by_alias=True)
    named = {
        "respirator": options.respirator,
        "garment": options.garment,
        "glove-change": options.glove_change,
        "hands-on": options.hands_on,
        "doffing-zone": options.doffing_zone,
        "glove-agent": options.glove_agent,
        "hand-agent": options.hand_agent,
        "with-apron": options.with_apron,
        "with-hair-cover": options.with_hair_cover,
        "with-hood": options.with_hood,
        "with-foot-covers": options.with_foot_covers,
        "mask-for-stable-haemorrhagic": options.mask_for_stable_haemorrhagic,
        "doffing-order": options.own_order,
        "switched-off": options.rule_off,
        "switched-on": options.rule_on,
        "jurisdiction": options.jurisdiction,
    }
    given.update({key: value for key, value in named.items() if value is not None})
    return _valid(Policy, given), lines


def _valid(model: type[Model], given: dict[str, Any]) -> Model:
    try:
        return model.model_validate(given)
    except ValidationError as error:
        raise BadFacts(
            [
                Problem("plan", 0, ".".join(map(str, one["loc"])), f"{one['msg']} (got {str(one['input'])[:60]!r})")
                for one in error.errors()
            ]
        ) from None
