"""What each published rule costs or buys for a case: the best order with it and the best order without it.

Exit status: 0 weighed; 1 the gear cannot protect, or no order keeps the rules in force; 2 wrong use or bad input.
"""

from __future__ import annotations

import argparse
import datetime

from vestry.cli import files, output
from vestry.cli.commands.plan import case_arguments, case_of, policy_of
from vestry.sequence import NoPlan, Weighing, weigh
from vestry.sequence.telling import told_weighed
from vestry.trade import BadFacts, Catalogue, Problem
from vestry.trade.words import Words, load_words

CASE_OPTIONS = ("case", "hazard", "policy")


def arguments(parser: argparse.ArgumentParser) -> None:
    """The options of the command."""
    parser.add_argument("plan", nargs="?", metavar="PLAN", help="a plan as JSON: its case and policy; or say them")
    case_arguments(parser)
    parser.add_argument("--sheet", metavar="FILE", help="write it there as well, as an accessible PDF")
    files.facts_argument(parser)
    parser.add_argument("--json", action="store_true")


def run(options: argparse.Namespace) -> int:
    """Weigh and print."""
    if options.sheet:
        files.check_place(options.sheet)
    catalogue, words = files.facts_of(options).catalogue, load_words("en")
    try:
        found = _weighed(options, catalogue, words)
    except NoPlan as none:
        return output.no_plan(none, options.json, words)
    if options.sheet:
        from vestry.papers import rules_pdf

        today = datetime.date.today().isoformat()
        files.write(options.sheet, rules_pdf(found, words, catalogue, printed_on=today))
    if options.json:
        output.print_json(found.as_json())
    else:
        print("\n".join(describe(found, words, catalogue)))
    return 0 if found.base is not None else 1


def _weighed(options: argparse.Namespace, catalogue: Catalogue, words: Words) -> Weighing:
    progress = None if options.json else lambda done, all_: output.progress("rules", done)
    if options.plan is None:
        (case, case_lines), (policy, policy_lines) = case_of(options), policy_of(options)
        with (
            files.blamed_on(options.case or "rules", case_lines, "case."),
            files.blamed_on(options.policy or "rules", policy_lines, "policy."),
        ):
            return weigh(case, policy, catalogue, progress)
    told_twice = [name for name in CASE_OPTIONS if getattr(options, name)]
    if told_twice:
        what = f"--{told_twice[0]} beside a plan: the plan says its case and policy"
        raise BadFacts([Problem("rules", 0, told_twice[0], what)])
    plan = files.read_plan(options.plan, catalogue, words)
    return weigh(plan.case, plan.policy, catalogue, progress)


def describe(found: Weighing, words: Words, catalogue: Catalogue) -> list[str]:
    """A weighing as it is read in a terminal."""
    lines = [
        f"{words.hazard(found.case.hazard)}, {words.term('presentation', found.case.presentation)}",
        "Worn: " + ", ".join(words.item_short(item).lower() for item in found.worn),
        "",
    ]
    if found.base is None:
        lines += ["No order of removals keeps every rule in force.", ""]
    for one in found.rules:
        rule = words.rule(one.rule)
        source = catalogue.sources.get(one.source)
        certainty = words.term("certainty", one.certainty)
        lines.append(f"{rule.name} ({one.rule}): {'in force' if one.in_force else 'off'}")
        lines.append(
            output.paragraph(f"{rule.says} {source.publisher if source else one.source}; {certainty}.", "    ")
        )
        lines += [output.paragraph(line, "    ") for line in told_weighed(one, words)]
        lines.append("")
    lines.append("Not weighed: " + ", ".join(words.rule(one.rule).name for one in found.not_weighed))
    return [*lines, "", *(output.paragraph(caution) for caution in words.cautions)]
