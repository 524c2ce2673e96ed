"""Mutants of passing orders and of the techniques: which the model catches, and that the page says so.

The page docs/explanation/mutants.md and the facts in pinned.json are computed by tools/make_evidence_pages.py. Here a
few orders, and all facts; marked slow, everything.
"""

from __future__ import annotations

import re
from dataclasses import replace

import pytest
from tools.make_evidence_pages import (
    PAGES,
    PINNED,
    all_deletions,
    all_mutants,
    at,
    benches,
    carried,
    carried_now,
    doffing_orders,
    judge,
    moved,
    mutant_row,
    mutants_of,
    mutants_page,
    passing_orders,
    pinned_cases,
    pinned_facts,
    pinned_now,
    pinned_text,
    without,
    worse,
)

from vestry.trade import load_catalogue

# One of each kind: routine, airborne, together, two pairs, coverall, powered, field, practice.
FEW = [
    "cdc-standard-doff-ex1--mask-shield",
    "cdc-standard-doff-ex2--respirator-goggles",
    "au-doh-2021-doff--respirator-shield",
    "cdc-vhf-stable-doff--gown",
    "cdc-vhf-unstable-papr-ext-coverall-doff-2015--without-apron",
    "who-epidemic-ari-doff--mask-goggles",
    "practice-respiratory-one-pair--belt-blower",
]
LEAST_DELETIONS_NOTICED = 80  # percent: what was asked for


def page() -> str:
    return (PAGES / "mutants.md").read_text("utf-8")


# ---- mutants of passing orders ----


@pytest.mark.parametrize("name", FEW)
def test_the_page_has_the_line_of_an_order(name: str) -> None:
    assert mutant_row(name, mutants_of(name, doffing_orders()[name])) in page()


def test_a_rub_left_out_and_a_removal_swapped_are_told_apart_from_no_edit() -> None:
    order = doffing_orders()["cdc-vhf-stable-doff--gown"]
    plain = judge(order)

    assert worse(plain, plain) is None
    # The rub after the gown keeps its front off the straps of the mask.
    found = worse(plain, judge(without(order, at(order, "disinfect-gloves", nth=3))))
    assert found is not None
    assert (found.how, "body.face" in found.what) == ("verdict", True)
    # Mask before shield: drawn out from under it.
    swapped = moved(order, at(order, "doff", "face-shield"), at(order, "doff", "surgical-mask"))
    found = worse(plain, judge(swapped))
    assert found is not None
    assert (found.how, "body.nose-mouth" in found.what) == ("verdict", True)


def test_every_harmless_mutant_says_why() -> None:
    mutants = [mutant for name in FEW[:4] for mutant in mutants_of(name, doffing_orders()[name])]

    assert {mutant.outcome for mutant in mutants} <= {"verdict", "reach", "count", "harmless", "better", "impossible"}
    assert all(mutant.what for mutant in mutants)


def test_the_shares_on_the_page_are_those_of_its_tables() -> None:
    """The sentence in bold against the table by order, read back from the page."""
    caught, judged = map(int, re.search(r"\*\*(\d+) of (\d+) mutants", page()).groups())  # type: ignore[union-attr]
    rows = re.findall(r"^\| [\w-]+ \| (\d+) of (\d+) \| .*? \| (\d+) of (\d+) \|", page(), re.MULTILINE)

    assert len(rows) == len(passing_orders())
    assert sum(int(one) + int(other) for one, _, other, _ in rows) == caught
    assert sum(int(one) + int(other) for _, one, _, other in rows) == judged


@pytest.mark.slow
@pytest.mark.timeout(1200)
def test_the_page_is_up_to_date() -> None:
    """All mutants and all deletions, computed again; so every share on the page is what the model says today."""
    assert page() == mutants_page()

    judged = [mutant for mutant in all_mutants() if mutant.outcome != "impossible"]
    assert f"**{sum(mutant.caught for mutant in judged)} of {len(judged)} mutants" in page()
    assert {mutant.order for mutant in judged} == set(passing_orders())
    deletions = all_deletions()
    assert f"**{sum(bool(one.noticed) for one in deletions)} of {len(deletions)} deletions" in page()
    assert all(one.why for one in deletions if not one.noticed)


# ---- pinned facts ----


@pytest.mark.slow
def test_the_facts_of_orders_are_as_pinned() -> None:
    """Every third case; all of them is slow."""
    names = list(pinned_cases())[::3]
    pinned = pinned_facts()["orders"]

    assert pinned.keys() == pinned_cases().keys()
    assert {name: pinned[name] for name in names} == pinned_now(names)


def test_what_techniques_carry_by_themselves_is_as_pinned() -> None:
    assert pinned_facts()["techniques"] == carried_now()


@pytest.mark.slow
def test_all_facts_are_as_pinned() -> None:
    assert PINNED.read_text("utf-8") == pinned_text()


# ---- lines of the techniques left out ----


def test_most_lines_of_the_techniques_are_held_by_a_pinned_fact() -> None:
    """By the page, which is computed again among the slow tests; here its sentence and its table agree."""
    noticed, lines = map(int, re.search(r"\*\*(\d+) of (\d+) deletions", page()).groups())  # type: ignore[union-attr]
    first = page().partition("| first fact that notices |")[2].partition("###")[0]
    left = page().partition("### Lines that no pinned fact notices")[2]

    assert 100 * noticed >= LEAST_DELETIONS_NOTICED * lines
    assert sum(map(int, re.findall(r"\| (\d+) \|$", first, re.MULTILINE))) == noticed
    assert len(re.findall(r"^\| .*`", left, re.MULTILINE)) == lines - noticed
    assert lines == sum(len(technique.touches) for technique in load_catalogue().techniques)


def test_a_line_left_out_is_noticed_by_a_whole_order_and_by_the_technique_itself() -> None:
    catalogue = load_catalogue()
    number = next(n for n, technique in enumerate(catalogue.techniques) if technique.id == "rear-strap")
    technique = catalogue.techniques[number]
    line = next(n for n, touch in enumerate(technique.touches) if touch.slip == "swings-onto-neck")
    kept = technique.touches[:line] + technique.touches[line + 1 :]
    techniques = list(catalogue.techniques)
    techniques[number] = technique.model_copy(update={"touches": kept})
    poorer = replace(catalogue, techniques=tuple(techniques))
    order = doffing_orders()["cdc-standard-doff-ex1--mask-shield"]
    bench = next(bench for bench in benches() if bench.technique == number)

    assert judge(order, poorer).counts != judge(order).counts
    assert "body.neck (swings-onto-neck)" in carried(bench, catalogue)["face-shield.visor"]
    assert "body.neck" not in carried(bench, poorer)["face-shield.visor"]
