"""Computes what the contact model says of every shipped order, of edits of them, and of the techniques line by line.

    .venv/bin/python -m tools.make_evidence_pages              all pages and the pinned facts
    .venv/bin/python -m tools.make_evidence_pages orders ...   some of: pinned orders disagreements mutants

Writes docs/explanation/published-orders.md, disagreements.md and mutants.md, and tests/contact/pinned.json. No number
in them is typed by hand; tests hold that they are up to date.
"""

from __future__ import annotations

import hashlib
import json
import sys
from collections import Counter
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, replace
from functools import cache
from itertools import pairwise
from pathlib import Path

from vestry.contact.check import SEVERITY, Loads, Reached, as_taught, count_class
from vestry.contact.compiler import compile_order
from vestry.contact.cutsets import NEVER, Antichain, cut_sets, run_cut_sets
from vestry.contact.program import Op, Program
from vestry.contact.taught import gloves_on_top, taught, taught_step, worn_after
from vestry.trade import BadFacts, Catalogue, Order, Step, load_catalogue, read_order
from vestry.trade.orders import packaged_orders

ROOT = Path(__file__).parent.parent
PAGES = ROOT / "docs" / "explanation"
PINNED = ROOT / "tests" / "contact" / "pinned.json"
TOUCH_SHARE = 0.8
SIZE = 2  # cut sets of up to so many events
HYGIENE = ("disinfect-gloves", "hand-hygiene", "wipe", "change-gloves")
TABLES: tuple[tuple[Loads, bool], ...] = (("all", False), ("all", True), ("high", False), ("high", True))


# ---- the orders ----------------------------------------------------------------------------------------------------


@cache
def doffing_orders() -> dict[str, Order]:
    """Every shipped order for taking off, published or common practice."""
    orders = {name: read_order(text, f"{name}.toml") for name, text in packaged_orders().items()}
    return {name: order for name, order in orders.items() if order.published is None or order.published.kind == "doff"}


def for_presentation(order: Order, presentation: str) -> Order:
    """The order, judged for a dry or a wet patient."""
    return order.model_copy(update={"case": order.case.model_copy(update={"presentation": presentation})})


def presentations(order: Order) -> tuple[str, ...]:
    """Those the order is published for; practice is written for dry."""
    return order.published.for_presentations if order.published else (order.case.presentation,)


# ---- edits ---------------------------------------------------------------------------------------------------------


def at(order: Order, act: str, item: str | None = None, nth: int = 0) -> int:
    """Where the nth step with this act (and this item) stands."""
    found = [n for n, step in enumerate(order.steps) if step.act == act and (item is None or item in step.handled)]
    return found[nth]


def with_steps(order: Order, steps: Iterable[Step]) -> Order:
    """The order with other steps."""
    return order.model_copy(update={"steps": tuple(steps)})


def without(order: Order, *places: int) -> Order:
    """The order with the steps at these places left out."""
    return with_steps(order, (step for n, step in enumerate(order.steps) if n not in places))


def inserted(order: Order, place: int, *steps: Step) -> Order:
    """The order with steps put in before the one at this place."""
    return with_steps(order, (*order.steps[:place], *steps, *order.steps[place:]))


def changed(order: Order, place: int, **changes: object) -> Order:
    """The order with the step at this place done otherwise."""
    steps = list(order.steps)
    steps[place] = steps[place].model_copy(update=changes)
    return with_steps(order, steps)


def moved(order: Order, places: int | tuple[int, ...], after: int) -> Order:
    """The order with the steps at these places moved to just after the one at `after` (counted before moving)."""
    taken = (places,) if isinstance(places, int) else places
    steps = [step for n, step in enumerate(order.steps[: after + 1]) if n not in taken]
    rest = [step for n, step in enumerate(order.steps) if n > after and n not in taken]
    return with_steps(order, (*steps, *(order.steps[n] for n in taken), *rest))


# ---- what the model says -------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Judged:
    """Verdict, zero-slip reaches, and count vectors by (loads, latent faults, when)."""

    clean: bool
    reached: frozenset[tuple[str, str, str]]
    counts: dict[tuple[Loads, bool, str], tuple[int, ...]]

    def pinned(self) -> dict[str, object]:
        """What is kept of it: verdict, reaches, and a digest of the counts."""
        text = json.dumps([[*map(str, key), *value] for key, value in self.counts.items()])
        return {
            "clean": self.clean,
            "reached": sorted(" ".join(one) for one in self.reached),
            "counts": hashlib.sha256(text.encode()).hexdigest()[:16],
        }


def is_clean(routes: Iterable[Reached]) -> bool:
    """Nothing as taught to mucosa, to a helper, or to skin that is not clean at the end."""
    return not any(r.endpoint in ("mucosa", "helper") or (r.endpoint == "skin" and r.when == "at-end") for r in routes)


def vectors(program: Program, loads: Loads, latent: bool) -> Iterator[tuple[str, tuple[int, ...]]]:
    """The count vectors over what was ever reached and what is at the end: size by size, worst class first."""
    found = cut_sets(program, SIZE, latent, loads)
    for when, values in (("ever", found.ever), ("at-end", found.at_end)):
        classes = [count_class(program.endpoints, values, kind, SIZE) for kind in SEVERITY]
        yield when, tuple(row[size] for size in range(SIZE + 1) for row in classes)


def reaches(program: Program) -> frozenset[tuple[str, str, str]]:
    """Zero-slip reaches: surface, class, when."""
    return frozenset((route.surface, route.endpoint, route.when) for route in as_taught(program))


def judge_program(program: Program) -> Judged:
    """Everything that is compared here."""
    routes = as_taught(program)
    counts = {
        (loads, latent, when): vector for loads, latent in TABLES for when, vector in vectors(program, loads, latent)
    }
    return Judged(is_clean(routes), frozenset((r.surface, r.endpoint, r.when) for r in routes), counts)


def judge(order: Order, catalogue: Catalogue | None = None) -> Judged:
    """What the model says of an order."""
    return judge_program(compile_order(order, catalogue or load_catalogue()))


@dataclass(frozen=True)
class Worse:
    """How an edit is worse: by verdict, by a zero-slip reach, or by a count (of which size, class and table)."""

    how: str
    what: str


def worse(before: Judged, after: Judged) -> Worse | None:
    """How `after` is worse than `before`; None when it is not, in any table."""
    new = sorted(after.reached - before.reached, key=lambda one: (SEVERITY.index(one[1]), one[2], one[0]))
    if before.clean and not after.clean:
        deciding = [s for s, kind, when in new if kind in ("mucosa", "helper") or (kind == "skin" and when == "at-end")]
        return Worse("verdict", ", ".join(deciding))
    fresh = [one for one in new if (one[0], one[1], "at-end") not in before.reached]
    if fresh:
        return Worse("reach", ", ".join(_named(one) for one in fresh))
    for (loads, latent, when), old in before.counts.items():
        vector = after.counts[(loads, latent, when)]
        if vector > old:
            place = next(n for n, pair in enumerate(zip(old, vector, strict=True)) if pair[0] != pair[1])
            size, kind = place // len(SEVERITY), SEVERITY[place % len(SEVERITY)]
            return Worse("count", f"{kind}, {size} event{'s' * (size != 1)}{_table(loads, latent, when)}")
    return None


def _named(reached: tuple[str, str, str]) -> str:
    return f"{reached[0]}{' (cleaned later)' * (reached[2] == 'ever')}"


def _table(loads: Loads, latent: bool, when: str) -> str:
    words = [
        word
        for word, on in (
            ("with hidden faults", latent),
            ("heavy loads", loads == "high"),
            ("at the end", when == "at-end"),
        )
        if on
    ]
    return f" ({', '.join(words)})" if words else ""


# ---- mutants of passing orders -------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Mutant:
    """One edit of a passing order, and what became of it."""

    order: str
    sort: str
    edit: str
    outcome: str
    what: str

    @property
    def caught(self) -> bool:
        """Whether the model sees it: by its verdict, by a reach or by a count."""
        return self.outcome in ("verdict", "reach", "count")


def mutants_of(name: str, order: Order) -> list[Mutant]:
    """Every hygiene act left out, every two neighbouring removals swapped."""
    order = opened(order)
    program = compile_order(order, load_catalogue())
    before = judge_program(program)
    found = []
    for place, step in enumerate(order.steps):
        if step.act in HYGIENE:
            found.append(
                _mutant(
                    name,
                    "left out",
                    _says(order, place),
                    _left_out(order, place),
                    before,
                    lambda place=place: why_leaving_out_is_harmless(program, place),
                )
            )
    removals = [n for n, step in enumerate(order.steps) if step.act == "doff"]
    for one, other in pairwise(removals):
        edit = f"{_says(order, one)} after {_says(order, other)}"
        found.append(
            _mutant(
                name,
                "swapped",
                edit,
                _swapped(order, one, other),
                before,
                lambda one=one, other=other: why_swapping_is_harmless(program, one, other),
            )
        )
    return found


def _mutant(name: str, sort: str, edit: str, order: Order, before: Judged, why: Callable[[], str]) -> Mutant:
    try:
        after = judge(order)
    except BadFacts as bad:
        return Mutant(name, sort, edit, "impossible", bad.problems[0].what)
    difference = worse(before, after)
    if difference is not None:
        return Mutant(name, sort, edit, difference.how, difference.what)
    better = after.counts != before.counts or after.reached != before.reached
    return Mutant(name, sort, edit, "better" if better else "harmless", why())


def opened(order: Order) -> Order:
    """The order with `change-gloves` written as its three acts, so that each can be left out."""
    catalogue, steps = load_catalogue(), list[Step]()
    for step in taught(order, catalogue):
        written = order.steps[step.number - 1]
        if written.act == "change-gloves":
            steps.append(Step(act=step.act, items=step.items if step.act != "hand-hygiene" else (), agent=step.agent))
        else:
            steps.append(written)
    return with_steps(order, steps)


def _says(order: Order, place: int) -> str:
    """A step in words that tell it apart: a hygiene act by the removal that comes after it."""
    step = order.steps[place]
    if step.act == "doff":
        return "+".join(step.handled)
    nxt = next(
        (
            f"before {s.act} {'+'.join(s.handled)}".rstrip()
            for s in order.steps[place + 1 :]
            if s.act in ("doff", "don", "wipe", "move")
        ),
        "at the end",
    )
    return f"{' '.join((step.act, *step.handled))} {nxt}"


def _left_out(order: Order, place: int) -> Order:
    return fitted(without(order, place))


def _swapped(order: Order, one: int, other: int) -> Order:
    steps = list(order.steps)
    steps[one], steps[other] = steps[other], steps[one]
    return fitted(with_steps(order, steps))


def fitted(order: Order) -> Order:
    """The order with each hygiene act fitted to the hands of that moment: bare hands or gloves."""
    catalogue, worn, steps = load_catalogue(), order.worn, list[Step]()
    for step in order.steps:
        gloved = gloves_on_top(worn, catalogue) is not None
        if step.act == "hand-hygiene" and gloved:
            step = Step(act="disinfect-gloves", agent=_agent_for(step, "gloves", catalogue))
        elif step.act == "disinfect-gloves" and not gloved:
            step = Step(act="hand-hygiene", agent=_agent_for(step, "hands", catalogue))
        steps.append(step)
        try:
            worn = worn_after(taught_step(step, worn, catalogue), worn, catalogue)
        except BadFacts:
            return order
    return with_steps(order, steps)


def _agent_for(step: Step, on: str, catalogue: Catalogue) -> str | None:
    return step.agent if step.agent is not None and on in catalogue.agents[step.agent].on else None


def why_leaving_out_is_harmless(program: Program, place: int) -> str:
    """Why a cleaning makes no difference: nothing is there to clean, or it is there and goes nowhere that counts."""
    cleanings = [op for op in program.ops if op.step == place and op.verb == "clean"]
    if not cleanings:
        return "it clears nothing for this agent class"
    if all(any(o.event == op.event and o.verb == "clean" and o.step < place for o in program.ops) for op in cleanings):
        return "the second rub in a row, with nothing touched between"
    if not any(values_before(program, op).get(op.a) for op in cleanings):
        return "no slip and no hidden fault alone puts anything on what it cleans"
    return "what it cleans is touched by nothing that counts before it is cleaned again, taken off or the order ends"


def values_before(program: Program, stop: Op) -> dict[int, Antichain]:
    """What each surface may carry just before an operation, with at most one event, hidden faults included."""
    now: dict[int, Antichain] = dict.fromkeys(program.sources("all"), (0,))
    ops = []
    for op in program.active_ops(latent=True):
        if op is stop:
            break
        ops.append(op)
    run_cut_sets(ops, now, dict(now), 1)
    return {number: value for number, value in now.items() if value != NEVER}


def why_swapping_is_harmless(program: Program, one: int, other: int) -> str:
    """Why the two removals may change places."""
    first, second = (_surfaces_of(program, place) for place in (one, other))
    shared = sorted(program.surfaces[n] for n in first & second)
    if not shared:
        return "they share no surface"
    hands = [name for name in shared if "palm" in name or name.startswith("body.hand")]
    if len(hands) == len(shared):
        return "they share only the hands, which are as clean either way"
    return "they share surfaces, and no route becomes shorter"


def _surfaces_of(program: Program, place: int) -> set[int]:
    return {n for op in program.ops if op.step == place and op.verb != "clean" for n in (op.a, op.b) if n >= 0}


@cache
def all_mutants() -> tuple[Mutant, ...]:
    """The mutants of every passing order."""
    return tuple(mutant for name in passing_orders() for mutant in mutants_of(name, doffing_orders()[name]))


@cache
def passing_orders() -> tuple[str, ...]:
    """The shipped orders that the model finds clean, judged as written."""
    catalogue = load_catalogue()
    return tuple(n for n, o in doffing_orders().items() if is_clean(as_taught(compile_order(o, catalogue))))


# ---- pinned facts, and the techniques without each of their lines ----------------------------------------------------


@cache
def pinned_cases() -> dict[str, Order]:
    """Every order whose facts are pinned: the shipped ones, the textbook mistakes, both sides of each disagreement."""
    from tests.contact.test_mistakes import MISTAKES
    from tests.published.test_disagreements import DISAGREEMENTS

    cases = {
        f"{name} ({presentation})": for_presentation(order, presentation)
        for name, order in doffing_orders().items()
        for presentation in presentations(order)
    }
    cases.update({f"mistake: {mistake.name}": mistake.order() for mistake in MISTAKES})
    for one in DISAGREEMENTS:
        cases.update({f"{one.id}: {side.says}": side.order() for side in one.sides})
    return cases


def pinned_now(names: Iterable[str] | None = None) -> dict[str, dict[str, object]]:
    """The facts as the model gives them today."""
    cases = pinned_cases()
    return {name: judge(cases[name]).pinned() for name in (names or cases)}


def pinned_facts() -> dict[str, dict[str, object]]:
    """The facts as they are committed."""
    return dict(json.loads(PINNED.read_text("utf-8")))


@dataclass(frozen=True)
class Deleted:
    """One line of a technique left out, and the first pinned fact that notices; `noticed` is empty when none does."""

    technique: str
    line: str
    noticed: str
    why: str


@cache
def all_deletions() -> tuple[Deleted, ...]:
    """Every line of every technique left out in turn."""
    catalogue = load_catalogue()
    uses = _uses(catalogue)
    found = []
    for number, technique in enumerate(catalogue.techniques):
        for line in range(len(technique.touches)):
            found.append(_deleted(catalogue, number, line, uses.get(number, [])))
    return tuple(found)


def _uses(catalogue: Catalogue) -> dict[int, list[str]]:
    """Which pinned cases use which technique, shortest first."""
    uses: dict[int, list[str]] = {}
    for name, order in sorted(pinned_cases().items(), key=lambda case: len(case[1].steps)):
        for number in {
            catalogue.techniques.index(s.technique)
            for s in taught(order, catalogue)
            if s.technique in catalogue.techniques
        }:
            uses.setdefault(number, []).append(name)
    return uses


@cache
def _facts(name: str) -> tuple[Program, Judged]:
    program = compile_order(pinned_cases()[name], load_catalogue())
    return program, judge_program(program)


def _deleted(catalogue: Catalogue, number: int, line: int, cases: list[str]) -> Deleted:
    technique = catalogue.techniques[number]
    touch = technique.touches[line]
    shorter = technique.model_copy(update={"touches": technique.touches[:line] + technique.touches[line + 1 :]})
    techniques = (*catalogue.techniques[:number], shorter, *catalogue.techniques[number + 1 :])
    poorer = replace(catalogue, techniques=techniques)
    what = f"{touch.touch}{f' (slip {touch.slip})' if touch.slip else ' (residue)' if touch.residue else ''}"
    name = f"{technique.act} {'+'.join(technique.together or technique.for_)} {technique.id}"
    resolved = False
    for case in cases:
        program, facts = _facts(case)
        other = compile_order(pinned_cases()[case], poorer)
        if _active(other) == _active(program):
            continue
        resolved = True
        if noticed := _first_difference(program, facts, other):
            return Deleted(name, what, noticed, "")
    if not cases:
        why = "no shipped order and no case of the tests uses the technique"
    elif touch.residue:
        why = "residue: it has no part in verdicts and counts, and waits for the amounts"
    elif not resolved:
        why = "it meets nothing in any case (a face that the item has not, or a helper who is not there)"
    else:
        why = "what it carries is carried by another touch as well, or cannot be there"
    return Deleted(name, what, "", why)


def _active(program: Program) -> list[tuple[str, str, str, str]]:
    names = (*program.surfaces, "")
    events = (*(event.id for event in program.events), "")
    return [(op.verb, names[op.a], names[op.b], events[op.event]) for op in program.active_ops(latent=True)]


def _first_difference(program: Program, facts: Judged, other: Program) -> str:
    if is_clean(as_taught(other)) != facts.clean:
        return "verdict"
    if reaches(other) != facts.reached:
        return "reach"
    for loads, latent in TABLES:
        for when, vector in vectors(other, loads, latent):
            if vector != facts.counts[(loads, latent, when)]:
                return "count with hidden faults" if latent else "count"
    return ""


# ---- pages ---------------------------------------------------------------------------------------------------------

HEAD = "<!-- Made by tools/make_evidence_pages.py; not to be edited. -->\n"


def share(part: int, whole: int) -> str:
    """A share as percent, rounded down so that it never says more than was seen."""
    return f"{100 * part // whole} %" if whole else "-"


def row(*cells: object) -> str:
    """A line of a table."""
    return f"| {' | '.join(str(cell) for cell in cells)} |"


def table(heads: Iterable[str], rows: Iterable[str]) -> list[str]:
    """A table."""
    names = list(heads)
    return [row(*names), row(*["---"] * len(names)), *rows, ""]


def sizes(vector: tuple[int, ...], size: int) -> str:
    """The counts of one size, class by class."""
    return " / ".join(str(count) for count in vector[size * len(SEVERITY) : (size + 1) * len(SEVERITY)])


CLASSES = " / ".join(SEVERITY)


def published_page() -> str:
    """Each shipped order and what the model says of it."""
    lines = [
        HEAD,
        "# What the model says of the shipped orders",
        "",
        "One line for each file of [the transcribed orders](../reference/published-orders-transcribed.md) that takes",
        "gear off. *Dry* and *wet* are the verdict as taught, with the published conventions on: **clean** when",
        "nothing reaches mucosa, a helper, or skin that is not cleaned at the end. An order is judged for whom it is",
        "published; for others it says *not for this case*. *Changes without*: the conventions without which the",
        "verdict, dry, is another. *Reached at the end*: what the order leaves contaminated as taught, work clothing included (dry).",
        f"*One error*: how many single errors reach an endpoint ({CLASSES}), dry, without hidden faults. These numbers",
        "compare only within one ensemble. What stands as *reached* stands with its route below.",
        "",
    ]
    heads = (
        "order",
        "publisher, year",
        "certainty",
        "dry",
        "wet",
        "changes without",
        "reached at the end",
        "one error",
    )
    published = {name: order for name, order in doffing_orders().items() if order.published}
    lines += table(heads, (published_row(name, order) for name, order in published.items()))
    lines += ["## Orders of common practice", "", "No source; local procedure overrides them.", ""]
    lines += table(heads, (published_row(n, order) for n, order in doffing_orders().items() if not order.published))
    lines += ["## Routes of the orders that are reached", ""]
    for name, order in doffing_orders().items():
        routes = as_taught(compile_order(for_presentation(order, "dry"), load_catalogue()))
        if not is_clean(routes):
            lines += [f"**{name}**, dry:", ""]
            lines += [f"- {route_in_words(order, route)}" for route in routes if not is_clean([route])]
            lines += [""]
    return "\n".join(lines)


def published_row(name: str, order: Order) -> str:
    """The line of one order."""
    catalogue = load_catalogue()
    program = compile_order(for_presentation(order, "dry"), catalogue)
    routes = as_taught(program)
    flips = [
        convention
        for convention in catalogue.conventions
        if is_clean(as_taught(compile_order(for_presentation(order, "dry"), catalogue, {convention})))
        != is_clean(routes)
    ]
    verdicts = [verdict_for(order, presentation) for presentation in ("dry", "wet")]
    left = ", ".join(route.surface for route in routes if route.when == "at-end") or "nothing"
    weak = sizes(dict(vectors(program, "all", False))["ever"], 1)
    source = f"{order.published.publisher}, {order.published.year}" if order.published else "common practice"
    certainty = order.published.certainty if order.published else "common-practice"
    return row(name, source, certainty, *verdicts, ", ".join(flips) or "none", left, weak)


def verdict_for(order: Order, presentation: str) -> str:
    """The verdict in one word."""
    if presentation not in presentations(order):
        return "not for this case"
    program = compile_order(for_presentation(order, presentation), load_catalogue())
    return "clean" if is_clean(as_taught(program)) else "**reached**"


def route_in_words(order: Order, route: Reached) -> str:
    """The chain of a route, face by face."""
    program = compile_order(for_presentation(order, "dry"), load_catalogue())
    return f"{route.surface}: " + " -> ".join(program.surfaces[link.surface] for link in route.links)


def disagreements_page() -> str:
    """Both sides of each published disagreement, and what each costs."""
    from tests.published.test_disagreements import DISAGREEMENTS, NOT_HERE

    lines = [
        HEAD,
        "# Where publishers disagree, and what each side costs",
        "",
        "Published orders differ. Vestry takes both sides of each difference that concerns the order or the grip; none",
        "is refused, and no side is called right. Each table below puts the sides into one ensemble, so that nothing",
        "else differs, and counts: how many sets of one error and of two errors reach an endpoint",
        f"({CLASSES}), without hidden faults and with them (ever, from all loaded faces, dry).",
        "Reached as taught: zero errors. Fewer is fewer routes, not less harm: the model counts ways and knows nothing of",
        "how likely each is.",
        "",
    ]
    for one in DISAGREEMENTS:
        lines += [f"## {one.id}: {one.question}", ""]
        lines += [one.note, ""] if one.note else []
        heads = (
            "side",
            "who says so",
            "as taught",
            "reached as taught",
            "one error",
            "two errors",
            "one error, hidden faults",
            "two errors, hidden faults",
        )
        lines += table(heads, (_side_row(side.says, side.who, judge(side.order())) for side in one.sides))
    lines += ["## Not here", ""]
    lines += [f"- **{name}**: {why}" for name, why in NOT_HERE.items()]
    return "\n".join([*lines, ""])


def _side_row(says: str, who: str, judged: Judged) -> str:
    plain, faulty = judged.counts[("all", False, "ever")], judged.counts[("all", True, "ever")]
    shown = ", ".join(sorted(_named(one) for one in judged.reached)) or "nothing"
    verdict = "clean" if judged.clean else "**reached**"
    return row(says, who, verdict, shown, sizes(plain, 1), sizes(plain, 2), sizes(faulty, 1), sizes(faulty, 2))


def mutants_page() -> str:
    """What the model catches of the mistakes, of the mutants, and of lines deleted from the techniques."""
    return "\n".join([HEAD, *_mistakes_part(), *_mutants_part(), *_deletions_part(), ""])


def _mistakes_part() -> list[str]:
    from tests.contact.test_mistakes import MISTAKES

    lines = [
        "# What the model catches",
        "",
        "## Textbook mistakes",
        "",
        "Each is an edit of a clean order; `tests/contact/test_mistakes.py` asserts the route.",
        "",
    ]
    rows = []
    for mistake in MISTAKES:
        found = worse(judge(mistake.clean()), judge(mistake.order()))
        rows.append(row(mistake.name, mistake.base, found.how if found else "not caught", found.what if found else ""))
    return lines + table(("mistake", "in", "caught by", "what appears, or which count is worse"), rows)


def _mutants_part() -> list[str]:
    mutants = all_mutants()
    judged = [m for m in mutants if m.outcome != "impossible"]
    caught = sum(m.caught for m in judged)
    lines = [
        "## Every hygiene act left out, every two neighbouring removals swapped",
        "",
        f"{len(passing_orders())} shipped orders pass as written. Of each, every hygiene act is left out in turn",
        "(glove disinfection, hand hygiene, wipe, each act of a glove change), and every two neighbouring removals change",
        "places, the hygiene between them staying where it is and fitted to the hands of that moment.",
        "",
        f"**{caught} of {len(judged)} mutants ({share(caught, len(judged))}) are caught.** Caught means: the verdict is",
        "no longer clean; or something more is reached as taught (work clothing, skin cleaned later); or a count of cut",
        f"sets of up to {SIZE} events is worse in one of the tables (with and without hidden faults, from all and from",
        "heavy loads, ever and at the end). The rest are not mistakes as far as this model sees: why stands below.",
        "",
    ]
    outcomes = Counter((m.sort, m.outcome) for m in mutants)
    order = ("verdict", "reach", "count", "harmless", "better", "impossible")
    heads = ("mutants", *order, "caught")
    rows = []
    for sort in ("left out", "swapped"):
        counts = [outcomes[(sort, outcome)] for outcome in order]
        rows.append(row(f"{sort}: {sum(counts)}", *counts, share(sum(counts[:3]), sum(counts[:5]))))
    lines += table(heads, rows)
    lines += [
        "*Harmless*: nothing differs. *Better*: some count is smaller and none larger; a rub touches the dispenser, so",
        "leaving one out can take a route away. *Impossible*: the step cannot be done.",
        "",
        "### By order",
        "",
    ]
    lines += table(
        (
            "order",
            *(
                f"{one}{by}"
                for one in ("left out: ", "swapped: ")
                for by in ("caught", "by verdict", "by reach", "by count")
            ),
        ),
        (mutant_row(name, [m for m in mutants if m.order == name]) for name in passing_orders()),
    )
    lines += ["### By what a count is worse in", ""]
    worse_in = Counter(m.what for m in mutants if m.outcome == "count")
    lines += table(("class, size, table", "mutants"), (row(what, n) for what, n in _most(worse_in)))
    lines += ["### Why the rest are harmless", ""]
    why = Counter((m.sort, m.outcome, m.what) for m in judged if not m.caught)
    lines += table(("mutant", "counts", "why", "mutants"), (row(*key, n) for key, n in _most(why)))
    lines += ["### Which they are", ""]
    which = Counter((m.sort, m.edit, m.outcome, m.what) for m in judged if not m.caught)
    lines += table(("mutant", "what", "counts", "why", "orders"), (row(*key, n) for key, n in sorted(which.items())))
    return lines


def _most(counter: Counter[object]) -> list[tuple[object, int]]:
    return sorted(counter.items(), key=lambda pair: (-pair[1], str(pair[0])))


def mutant_row(name: str, mutants: list[Mutant]) -> str:
    """The line of one order."""
    cells: list[object] = [name]
    for sort in ("left out", "swapped"):
        here = [m for m in mutants if m.sort == sort and m.outcome != "impossible"]
        cells.append(f"{sum(m.caught for m in here)} of {len(here)}")
        cells += [sum(m.outcome == how for m in here) for how in ("verdict", "reach", "count")]
    return row(*cells)


def _deletions_part() -> list[str]:
    found = all_deletions()
    noticed = Counter(one.noticed for one in found if one.noticed)
    caught = sum(noticed.values())
    lines = [
        "## Every line of the techniques left out",
        "",
        "The facts of each shipped order, mistake and disputed order are pinned in `tests/contact/pinned.json`:",
        f"verdict, zero-slip reaches, and a digest of the counts of up to {SIZE} events. Each line of each technique is",
        "left out in turn, in memory, and the pinned facts are computed again.",
        "",
        f"**{caught} of {len(found)} deletions ({share(caught, len(found))}) change a pinned fact**, and so fail a test.",
        "",
    ]
    lines += table(("first fact that notices", "deletions"), (row(what, n) for what, n in _most(noticed)))
    lines += ["### Lines that no pinned fact notices", ""]
    left = [one for one in found if not one.noticed]
    return lines + table(("technique", "line", "why"), (row(one.technique, f"`{one.line}`", one.why) for one in left))


PAGE_MAKERS: dict[str, tuple[Path, Callable[[], str]]] = {
    "pinned": (PINNED, lambda: json.dumps(pinned_now(), indent=1, ensure_ascii=False) + "\n"),
    "orders": (PAGES / "published-orders.md", published_page),
    "disagreements": (PAGES / "disagreements.md", disagreements_page),
    "mutants": (PAGES / "mutants.md", mutants_page),
}


def main(names: list[str]) -> None:
    """Write the files."""
    for name in names or PAGE_MAKERS:
        path, make = PAGE_MAKERS[name]
        path.write_text(make(), encoding="utf-8")
        print(path.relative_to(ROOT))


if __name__ == "__main__":
    main(sys.argv[1:])
