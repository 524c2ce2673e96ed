"""Computes what the contact model says of every shipped order, of edits of them, and of the techniques line by line.

    .venv/bin/python -m tools.make_evidence_pages              all pages and the pinned facts
    .venv/bin/python -m tools.make_evidence_pages orders ...   some of: pinned orders disagreements mutants
    .venv/bin/python -m tools.make_evidence_pages --check      writes nothing; status 1 when a file is stale

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
from typing import TypeVar

from vestry.contact.check import SEVERITY, Loads, Reached, as_taught, count_class
from vestry.contact.compiler import compile_order
from vestry.contact.cutsets import NEVER, Antichain, cut_sets, run_cut_sets
from vestry.contact.program import Op, Program
from vestry.contact.taught import gloves_on_top, taught, taught_step, worn_after
from vestry.sequence.rules import trapped
from vestry.trade import BadFacts, Catalogue, Order, Step, load_catalogue, read_order
from vestry.trade.orders import packaged_orders

K = TypeVar("K")

ROOT = Path(__file__).parent.parent
PAGES = ROOT / "docs" / "explanation"
PINNED = ROOT / "tests" / "contact" / "pinned.json"
ALONE = "what the technique carries by itself"
SIZE = 3  # cut sets of up to so many events
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
            shorter = fitted(without(order, place))
            found.append(
                _mutant(name, "left out", _says(order, place), before, shorter)
                or Mutant(name, "left out", _says(order, place), *why_not_missed(program, place, before, shorter))
            )
    removals = [n for n, step in enumerate(order.steps) if step.act == "doff"]
    for one, other in pairwise(removals):
        swapped = _swapped(order, one, other)
        if order.steps[one].handled == order.steps[other].handled:
            continue
        edit = f"{_says(order, one)} after {_says(order, other)}"
        found.append(
            _mutant(name, "swapped", edit, before, swapped)
            or Mutant(name, "swapped", edit, *why_not_minded(program, (one, other), before, swapped))
        )
    return found


def _mutant(name: str, sort: str, edit: str, before: Judged, order: Order) -> Mutant | None:
    try:
        difference = worse(before, judge(order))
    except BadFacts as bad:
        return Mutant(name, sort, edit, "impossible", bad.problems[0].what)
    return Mutant(name, sort, edit, difference.how, difference.what) if difference else None


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


def why_not_missed(program: Program, place: int, before: Judged, shorter: Order) -> tuple[str, str]:
    """What becomes of an order without one cleaning that is not worse, and why."""
    after = judge(shorter)
    outcome = "better" if _differs(before, after) else "harmless"
    cleanings = [op for op in program.ops if op.step == place and op.verb == "clean"]
    if not cleanings:
        return outcome, "it clears nothing for this agent class"
    if all(any(o.event == op.event and o.verb == "clean" and o.step < place for o in program.ops) for op in cleanings):
        return outcome, "the second rub in a row, with nothing touched between"
    if not any(values_before(program, op).get(op.a) for op in cleanings):
        return outcome, "no slip and no hidden fault alone puts anything on what it cleans"
    uncleaned = replace(program, ops=tuple(op for op in program.ops if op not in cleanings))
    found = worse(before, judge_program(uncleaned))
    if found is not None:
        return (
            outcome,
            f"a trade: it takes away routes ({found.what}), and the dispenser or tub touched for it adds as many",
        )
    if outcome == "better":
        return outcome, "it takes no route away, and the dispenser or tub touched for it adds some"
    gets_to = ", ".join(sorted({_family(program.surfaces[n]) for n in _more_soiled(program, uncleaned)}))
    return outcome, f"what stays on gets to no endpoint ({gets_to or 'nothing that is not soiled anyway'})"


def _more_soiled(program: Program, uncleaned: Program) -> set[int]:
    one, other = (cut_sets(each, SIZE, latent=True) for each in (program, uncleaned))
    return {
        number
        for number in other.ever
        if one.ever.get(number) != other.ever[number] or one.at_end.get(number) != other.at_end.get(number)
    }


def _family(surface: str) -> str:
    return surface.removesuffix("-l").removesuffix("-r")


def _differs(before: Judged, after: Judged) -> bool:
    return (before.reached, before.counts) != (after.reached, after.counts)


def why_not_minded(program: Program, places: tuple[int, int], before: Judged, swapped: Order) -> tuple[str, str]:
    """What becomes of an order with two removals swapped that is not worse, and why."""
    if held := _held(swapped):
        return "impossible", held
    after = judge(swapped)
    if fewer := worse(after, before):
        return "better", f"the other way round has fewer ({fewer.what})"
    shared = sorted({_family(program.surfaces[n]) for n in set.intersection(*(_touched(program, p) for p in places))})
    return "harmless", f"they share {', '.join(shared) or 'no surface'}, and no route differs"


def _held(order: Order) -> str:
    """What holds something that comes off: such a step is never planned."""
    catalogue = load_catalogue()
    worn = order.worn
    for step in taught(order, catalogue):
        for item in step.items if step.act == "doff" else ():
            if trapped(item, worn, catalogue, step.items):
                return f"{item} is held by what lies over it"
        worn = worn_after(step, worn, catalogue)
    return ""


def _touched(program: Program, place: int) -> set[int]:
    return {n for op in program.ops if op.step == place and op.verb != "clean" for n in (op.a, op.b) if n >= 0}


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


def pinned_facts() -> dict[str, dict[str, dict[str, object]]]:
    """The facts as they are committed: of orders, and of techniques by themselves."""
    return dict(json.loads(PINNED.read_text("utf-8")))


def pinned_text() -> str:
    """The file of pinned facts."""
    facts = {
        "made-by": "tools/make_evidence_pages.py; docs/explanation/mutants.md says what for",
        "orders": pinned_now(),
        "techniques": carried_now(),
    }
    return json.dumps(facts, indent=1, ensure_ascii=False) + "\n"


# What a technique carries, by itself: one face soiled just before the step, and everything it gets to in the step. The
# smallest ensemble that the technique can be done in; orders where the face happens to be clean do not show it.


@dataclass(frozen=True)
class Bench:
    """One technique on one item, as the only step of an order."""

    name: str
    technique: int
    order: Order


@cache
def benches() -> tuple[Bench, ...]:
    """Each technique, on each item with faces of its own."""
    catalogue = load_catalogue()
    found = []
    for number, technique in enumerate(catalogue.techniques):
        for items in _items_for(number, catalogue) if technique.touches else ():
            name = f"{technique.act} {'+'.join(items) or '-'} {technique.id}"
            found.append(Bench(name, number, _bench_order(number, items, catalogue)))
    return tuple(found)


def _items_for(number: int, catalogue: Catalogue) -> list[tuple[str, ...]]:
    technique = catalogue.techniques[number]
    if technique.together:
        return [tuple(_items_of_kind(kind, catalogue)[0] for kind in technique.together)]
    if technique.act == "wipe" and "any" in technique.for_:
        return [("gown-isolation",)]
    kinds = [kind for kind in technique.for_ if kind not in ("any", "place")]
    return [(item,) for kind in kinds for item in _items_of_kind(kind, catalogue)] or [()]


def _items_of_kind(kind: str, catalogue: Catalogue) -> list[str]:
    """One item for each set of faces; of gloves those worn over others, or the fresh pair."""
    by_faces: dict[tuple[str, ...], str] = {}
    for item in catalogue.items.values():
        if item.kind == kind and (kind != "gloves" or item.layer in ("outer", "fresh")):
            by_faces.setdefault((*(face.id for face in item.faces), item.layer or ""), item.id)
    return list(by_faces.values())


def _bench_order(number: int, items: tuple[str, ...], catalogue: Catalogue) -> Order:
    technique = catalogue.techniques[number]
    worn = ["scrubs"]
    worn += [] if {"boots", "shoes"} & {catalogue.items[item].kind for item in items} else ["washable-shoes"]
    if technique.hands not in ("bare", "clean") and technique.act != "don":
        worn.append("inner-gloves-long")
    if any(item.startswith("papr-h") and item != "papr-helmet" for item in items):
        worn += [other for other in ("papr-belt-unit", "papr-hood", "papr-hose") if other not in items]
    worn += items if technique.act != "don" else ()
    step = Step(
        act=technique.act,
        items=items,
        technique=technique.id,
        who=technique.who,
        agent={"wipe": "disinfectant-wipe"}.get(technique.act),
        to="clean-side" if technique.act == "move" else None,
        faces=("front",) if technique.id == "wipe-soiled-face" else (),
    )
    return Order(format_version=1, title=technique.id, worn=tuple(worn), steps=(step,))


def carried(bench: Bench, catalogue: Catalogue) -> dict[str, str]:
    """For each surface that the step names: what it gets to when it alone is soiled, and by which slip."""
    program = compile_order(bench.order, catalogue)
    ops = [op for op in program.active_ops(latent=False) if op.step == 0]
    found = {}
    for number in sorted({n for op in ops for n in (op.a, op.b) if n >= 0}):
        now: dict[int, Antichain] = {number: (0,)}
        ever = dict(now)
        run_cut_sets(ops, now, ever, 1)
        gets_to = [
            f"{program.surfaces[other]}{_slips(program, sets)}"
            for other, sets in sorted(ever.items(), key=lambda pair: program.surfaces[pair[0]])
            if other != number and sets
        ]
        left = _slips(program, now.get(number, NEVER)) if now.get(number) else " cleaned"
        found[program.surfaces[number] + left] = "; ".join(gets_to)
    return found


def _slips(program: Program, sets: Antichain) -> str:
    names = [program.events[one.bit_length() - 1].id.partition("@")[0].rpartition(":")[2] for one in sets if one]
    return f" ({', '.join(names)})" if names else ""


def carried_now() -> dict[str, dict[str, str]]:
    """What each technique carries, as the model gives it today."""
    return {bench.name: carried(bench, load_catalogue()) for bench in benches()}


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
    mine = [bench for bench in benches() if bench.technique == number]
    if any(carried(bench, poorer) != carried(bench, catalogue) for bench in mine):
        return Deleted(name, what, ALONE, "")
    if touch.residue:
        why = "residue: it has no part in verdicts and counts, and waits for the amounts"
    elif not resolved:
        why = "it meets nothing in any case"
    else:
        why = "other lines of the technique carry the same to the same places"
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


OFF = "**reached**"
NOT_FOR = "not for this case"


@cache
def all_orders() -> dict[str, Order]:
    """Every shipped order, putting on and taking off."""
    return {name: read_order(text, f"{name}.toml") for name, text in packaged_orders().items()}


def verdict_for(order: Order, presentation: str, without: Iterable[str] = ()) -> str:
    """The verdict in one word, with published conventions switched off."""
    if presentation not in presentations(order):
        return NOT_FOR
    program = compile_order(for_presentation(order, presentation), load_catalogue(), set(without))
    return "clean" if is_clean(as_taught(program)) else OFF


def four_verdicts(order: Order) -> tuple[str, str, str, str]:
    """Dry with the conventions on and with all of them off; wet on and off."""
    off = tuple(load_catalogue().conventions)
    return (
        verdict_for(order, "dry"),
        verdict_for(order, "dry", off),
        verdict_for(order, "wet"),
        verdict_for(order, "wet", off),
    )


def flips_of(order: Order, presentation: str) -> str:
    """The conventions that flip the verdict when they alone are switched off."""
    with_all = verdict_for(order, presentation)
    if with_all == NOT_FOR:
        return "-"
    found = [one for one in load_catalogue().conventions if verdict_for(order, presentation, (one,)) != with_all]
    return ", ".join(found) or "none"


VERDICT_HEADS = ("dry, on", "dry, off", "wet, on", "wet, off")


def published_page() -> str:
    """Each shipped order and what the model says of it."""
    taking_off, every = doffing_orders(), all_orders()
    putting_on = {name: order for name, order in every.items() if name not in taking_off}
    conventions = ", ".join(load_catalogue().conventions)
    lines = [
        HEAD,
        "# What the model says of the shipped orders",
        "",
        "One line for each file of [the transcribed orders](../reference/published-orders-transcribed.md): every",
        "order and, where a source has a condition, a file for each way it can turn out (what stands behind `--`).",
        "A verdict is as taught: **clean** when nothing reaches mucosa, a helper, or skin that is not cleaned at the",
        "end. *Dry* and *wet*: a stable patient, or one who bleeds, vomits or has diarrhoea. *On* and *off*: with the",
        f"published conventions, and with all of them switched off at once ({conventions}):",
        "then straps, ties and backs count as contaminated and no cleaning clears anything, so *off* says little of",
        "one order; on which single convention its verdict hangs stands under *changes without*. An order is judged",
        "for whom it is published; for others it says *not for this case*.",
        "",
        "## Counts",
        "",
        *table(("orders", "files", *VERDICT_HEADS), (counts_row(*one) for one in parts_of(taking_off, putting_on))),
        "Each cell: clean / reached / not for this case.",
        "",
        "## Taking off",
        "",
        "*Changes without*: the conventions without which alone the verdict is another, dry and wet. *Reached at the",
        "end*: what the order leaves contaminated as taught, work clothing included, dry.",
        f"*One error*: how many single errors reach an endpoint ({CLASSES}), dry, without hidden faults. These numbers",
        "compare only within one ensemble. What stands as *reached* stands with its route below.",
        "",
    ]
    heads = (
        "order",
        "publisher, year",
        "certainty",
        *VERDICT_HEADS,
        "dry, changes without",
        "wet, changes without",
        "reached at the end",
        "one error",
    )
    published = {name: order for name, order in taking_off.items() if order.published}
    lines += table(heads, (published_row(name, order) for name, order in published.items()))
    lines += ["### Orders of common practice", "", "No source; local procedure overrides them.", ""]
    lines += table(heads, (published_row(n, order) for n, order in taking_off.items() if not order.published))
    lines += ["## Putting on", "", "Nothing is loaded yet; what is judged is that what is put on can be, and how.", ""]
    lines += table(heads[: 3 + len(VERDICT_HEADS)], (donning_row(name, order) for name, order in putting_on.items()))
    lines += ["## Routes of the orders that are reached", ""]
    for name, order in taking_off.items():
        routes = as_taught(compile_order(for_presentation(order, "dry"), load_catalogue()))
        if not is_clean(routes):
            lines += [f"**{name}**, dry:", ""]
            lines += [f"- {route_in_words(order, route)}" for route in routes if not is_clean([route])]
            lines += [""]
    return "\n".join(lines)


def parts_of(taking_off: dict[str, Order], putting_on: dict[str, Order]) -> Iterator[tuple[str, dict[str, Order]]]:
    """The parts that are counted."""
    yield "taking off, published", {name: order for name, order in taking_off.items() if order.published}
    yield "taking off, common practice", {name: order for name, order in taking_off.items() if not order.published}
    yield "putting on", putting_on
    yield "all", {**taking_off, **putting_on}


def counts_row(title: str, orders: dict[str, Order]) -> str:
    """How many are clean, reached and not for the case, in each of the four."""
    columns = zip(*(four_verdicts(order) for order in orders.values()), strict=True)
    cells = (" / ".join(str(column.count(word)) for word in ("clean", OFF, NOT_FOR)) for column in columns)
    return row(title, len(orders), *cells)


def source_of(order: Order) -> tuple[str, str]:
    """Publisher and year, and how surely it is known."""
    if order.published is None:
        return "common practice", "common-practice"
    return f"{order.published.publisher}, {order.published.year}", order.published.certainty


def donning_row(name: str, order: Order) -> str:
    """The line of one order for putting on."""
    return row(name, *source_of(order), *four_verdicts(order))


def published_row(name: str, order: Order) -> str:
    """The line of one order for taking off."""
    program = compile_order(for_presentation(order, "dry"), load_catalogue())
    routes = as_taught(program)
    left = ", ".join(route.surface for route in routes if route.when == "at-end") or "nothing"
    weak = sizes(dict(vectors(program, "all", False))["ever"], 1)
    changes = (flips_of(order, "dry"), flips_of(order, "wet"))
    return row(name, *source_of(order), *four_verdicts(order), *changes, left, weak)


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
        "Reached as taught: zero errors. Fewer is fewer routes, not less harm: the model counts ways and knows nothing",
        "of how likely each is.",
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
        "(glove disinfection, hand hygiene, wipe, each act of a glove change), and every two neighbouring removals",
        "change places, the hygiene between them staying where it is and fitted to the hands of that moment.",
        "",
        f"**{caught} of {len(judged)} mutants ({share(caught, len(judged))}) are caught.** Caught means:",
        "the verdict is no longer clean; or something more is reached as taught (work clothing, skin cleaned later);",
        f"or a count of cut sets of up to {SIZE} events is worse in one of the tables (with and without hidden faults,",
        "from all and from heavy loads, ever and at the end). The rest are no mistakes as far as this model sees: why",
        "stands below.",
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
        "*Harmless*: nothing differs. *Better*: some table compares as smaller and none as larger (size by size, the",
        "worst class first); a rub touches the dispenser, so that leaving one out can take a route away. *Impossible*:",
        "the step cannot be done, or what lies over the item holds it. The share does not count these.",
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
    lines += ["### Why the rest are not caught", ""]
    why = Counter((m.sort, m.outcome, m.what.partition(" (")[0].partition(", and")[0]) for m in judged if not m.caught)
    lines += table(("mutant", "outcome", "why", "mutants"), (row(*key, n) for key, n in _most(why)))
    lines += ["### Which they are", ""]
    which = Counter((m.sort, m.edit, m.outcome, m.what) for m in judged if not m.caught)
    lines += table(("mutant", "what", "outcome", "why", "orders"), (row(*key, n) for key, n in sorted(which.items())))
    return lines


def _most(counter: Counter[K]) -> list[tuple[K, int]]:
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
    whole = caught - noticed[ALONE]
    lines = [
        "## Every line of the techniques left out",
        "",
        "The facts of each shipped order, mistake and disputed order are pinned in `tests/contact/pinned.json`:",
        f"verdict, zero-slip reaches, and a digest of the counts of up to {SIZE} events. So is what each technique",
        "carries by itself: one face soiled just before the step, and everything it gets to. Each line of each",
        "technique is left out in turn, in memory, and the facts are computed again.",
        "",
        f"**{caught} of {len(found)} deletions ({share(caught, len(found))}) change a pinned fact**, and so",
        f"fail a test; {whole} of them ({share(whole, len(found))} of all) a fact of a whole order. Many lines",
        "speak of a face that is clean whenever an order is done as published (the inside of a hood): the technique by",
        "itself shows them.",
        "",
    ]
    lines += table(("first fact that notices", "deletions"), (row(what, n) for what, n in _most(noticed)))
    lines += ["### Lines that no pinned fact notices", ""]
    left = [one for one in found if not one.noticed]
    return lines + table(("technique", "line", "why"), (row(one.technique, f"`{one.line}`", one.why) for one in left))


PAGE_MAKERS: dict[str, tuple[Path, Callable[[], str]]] = {
    "pinned": (PINNED, pinned_text),
    "orders": (PAGES / "published-orders.md", published_page),
    "disagreements": (PAGES / "disagreements.md", disagreements_page),
    "mutants": (PAGES / "mutants.md", mutants_page),
}


def main(arguments: list[str]) -> int:
    """Write the files; with `--check` only say which are not what the code makes: exit status 1 if any."""
    names = [one for one in arguments if one != "--check"]
    stale = []
    for name in names or PAGE_MAKERS:
        path, make = PAGE_MAKERS[name]
        text = make()
        if "--check" not in arguments:
            path.write_text(text, encoding="utf-8")
        elif path.read_text("utf-8") != text:
            stale.append(path)
        print(path.relative_to(ROOT), "is not what the code makes" if path in stale else "")
    return 1 if stale else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
