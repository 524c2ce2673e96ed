"""Two sequences compared: counts only within one ensemble, steps side by side, routes gained and lost, time."""

from __future__ import annotations

from functools import cache

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.contact.strategies import orders

from vestry.contact.check import check
from vestry.sequence import Case, Comparison, Policy, Subject, compare, plan_case, subject_of_order, subject_of_plan
from vestry.sequence.aligning import align, content
from vestry.sequence.comparing import _Same
from vestry.sequence.telling import decisive_steps, summary
from vestry.sequence.timing import span_of
from vestry.trade import Order, Step, load, load_catalogue, packaged_texts, read_order
from vestry.trade.orders import packaged_orders
from vestry.trade.words import load_words

CATALOGUE, WORDS = load_catalogue(), load_words("en")
TWO_OF_ONE_ENSEMBLE = ("cdc-standard-doff-ex1--respirator-shield", "cdc-covid-doff-2020--respirator-shield")


@cache
def published(name: str) -> Subject:
    return subject_of_order(read_order(packaged_orders()[name], name), name, CATALOGUE)


def order(*steps: tuple[str, str], worn: tuple[str, ...] = ("gown-isolation", "gloves-standard")) -> Subject:
    made = tuple(Step(act=act, item=item or None) for act, item in steps)  # type: ignore[arg-type]
    return subject_of_order(Order(format_version=1, title="x", worn=worn, steps=made), "x", CATALOGUE)


def told(found: Comparison, a: Subject, b: Subject) -> str:
    return " ".join(line for lines in summary(found, a, b, WORDS) for line in lines)


# ---- steps side by side ----


def test_a_step_taken_earlier_is_moved_and_the_others_are_kept():
    rows = align(["a", "b", "c", "d"], ["d", "a", "b", "c"])

    assert [(row.change, row.first, row.second) for row in rows] == [
        ("moved", 3, 0), ("kept", 0, 1), ("kept", 1, 2), ("kept", 2, 3),
    ]  # fmt: skip


def test_what_is_gone_stands_where_it_was():
    rows = align(["a", "b", "c"], ["a", "c", "x"])

    assert [(row.change, row.first, row.second) for row in rows] == [
        ("kept", 0, 0), ("gone", 1, None), ("kept", 2, 1), ("new", None, 2),
    ]  # fmt: skip


def test_the_second_equal_step_is_the_same_content():
    assert [row.change for row in align(["rub", "off", "rub~2"], ["off", "rub"])] == ["gone", "kept", "kept"]


@given(st.lists(st.sampled_from("abcde"), max_size=12), st.lists(st.sampled_from("abcde"), max_size=12))
def test_every_step_of_both_stands_in_exactly_one_row(first: list[str], second: list[str]):
    rows = align(first, second)

    assert sorted(row.first for row in rows if row.first is not None) == list(range(len(first)))
    assert [row.second for row in rows if row.second is not None] == list(range(len(second)))
    for row in rows:
        if row.change in ("kept", "moved"):
            assert content(first[row.first]) == content(second[row.second])  # type: ignore[index]
        else:
            assert (row.first is None) == (row.change == "new")
    left_gone = {first[row.first] for row in rows if row.change == "gone"}  # type: ignore[index]
    left_new = {second[row.second] for row in rows if row.change == "new"}  # type: ignore[index]
    assert not left_gone & left_new


def test_two_lists_of_four_hundred_steps_are_laid_side_by_side():
    first = [f"step-{n % 7}:{n % 3}" for n in range(400)]

    assert len(align(first, first[::-1])) >= 400


# ---- counts ----


def test_counts_are_those_of_the_checker_on_either_side():
    a, b = (published(name) for name in TWO_OF_ONE_ENSEMBLE)
    found = compare(a, b)

    assert found.comparable
    for subject, side in ((a, "a"), (b, "b")):
        verdict = check(subject.program)
        for table in found.tables:
            for row in table.endpoints:
                counts = verdict.counts(table.loads, table.latent)[row.endpoint]
                assert (getattr(row, f"{side}_ever"), getattr(row, f"{side}_at_end")) == (counts.ever, counts.at_end)


def test_the_weaker_side_is_named_with_a_route_that_the_other_has_not():
    """The gown comes off without the shield: shaken, it throws droplets onto the eyes."""
    a, b = (published(name) for name in TWO_OF_ONE_ENSEMBLE)
    found = compare(a, b)
    eyes = next(one for one in found.weaker if one.endpoint == "mucosa")

    assert (eyes.side, eyes.errors, eyes.count, eyes.other) == ("a", 1, 5, 4)
    assert [route.surface for route in eyes.routes] == ["body.eyes"]
    assert decisive_steps(eyes.routes[0]) == ("doff:gown-isolation:peel-from-inside",)
    said = told(found, a, b)
    assert "A is weaker on eyes, nose or mouth: 5 routes with one error, against 4 in B." in said
    assert "At step 3, Gown off, from inside: if the gown is shaken, front of the gown threw droplets onto eyes" in said


def test_nobody_is_told_to_change_anything():
    a, b = (published(name) for name in TWO_OF_ONE_ENSEMBLE)

    assert not {"should", "must", "better", "recommend", "instead", "safe", "safer"} & set(
        told(compare(a, b), a, b).lower().split()
    )


def test_turned_round_it_says_the_same_of_the_other_side():
    a, b = (published(name) for name in TWO_OF_ONE_ENSEMBLE)
    one, other = compare(a, b), compare(b, a)

    told_of = [[(w.endpoint, w.count, w.other) for w in found.weaker] for found in (one, other)]
    assert told_of[0] == told_of[1]
    assert {w.side for w in one.weaker} == {"a"}
    assert {w.side for w in other.weaker} == {"b"}
    assert {r.surface for r in one.weak_gained} == {r.surface for r in other.weak_lost}


@pytest.mark.property
@settings(max_examples=25, deadline=None)
@given(orders(max_steps=5))
@pytest.mark.slow
def test_a_sequence_compared_with_itself_is_equal(made: Order):
    one = subject_of_order(made, "one", CATALOGUE)
    found = compare(one, subject_of_order(made, "other", CATALOGUE))

    assert found.equal
    assert found.comparable
    assert [found.weaker, found.weak_gained, found.weak_lost, found.reached_gained, found.reached_lost] == [()] * 5
    assert {row.change for row in found.steps} <= {"kept"}
    assert all(row.better == "equal" for table in found.tables for row in table.endpoints)
    assert told(found, one, one) == "The two are the same in ensemble, case and steps."


def test_the_second_rub_of_one_is_the_first_of_the_other_and_so_is_its_slip():
    a = order(("doff", "gown-isolation"), ("disinfect-gloves", ""), ("doff", "gloves-standard"), ("hand-hygiene", ""))
    b = order(
        ("disinfect-gloves", ""), ("doff", "gown-isolation"), ("disinfect-gloves", ""), ("doff", "gloves-standard"),
        ("hand-hygiene", ""),
    )  # fmt: skip
    same = _Same(a, b, align(a.program.steps, b.program.steps), True)
    rub = "disinfect-gloves:-:rub-gloves"

    assert same.named(f"{rub}:left-out-or-short@{rub}~2", "b") == f"{rub}:left-out-or-short@{rub}"
    assert same.named(f"{rub}:left-out-or-short@{rub}", "b") != f"{rub}:left-out-or-short@{rub}"
    assert rub in a.program.steps


def test_a_step_that_touches_nothing_may_move_without_a_route_gained_or_lost():
    a = order(("confirm", ""), ("doff", "gloves-standard"), ("doff", "gown-isolation"), ("hand-hygiene", ""))
    b = order(("doff", "gloves-standard"), ("doff", "gown-isolation"), ("confirm", ""), ("hand-hygiene", ""))
    found = compare(a, b)

    assert not found.equal
    assert [found.weak_gained, found.weak_lost, found.weaker] == [()] * 3
    assert sorted(row.change for row in found.steps) == ["kept", "kept", "kept", "moved"]


# ---- what does not compare ----


def test_where_ensembles_differ_counts_are_withheld_and_the_rest_is_shown():
    a, b = published("practice-haemorrhagic-respirator"), published("practice-haemorrhagic-mask")
    found = compare(a, b)

    assert (found.comparable, found.why_not, found.tables, found.weaker) == (False, ("ensemble",), (), ())
    assert (found.dropped, found.added) == (("respirator-disposable",), ("surgical-mask",))
    assert found.a.verdict == found.b.verdict == "clean"
    assert any(row.b.further == 1 for row in found.steps if row.b)
    assert "do not compare" in told(found, a, b)
    assert "is weaker" not in told(found, a, b)


def test_where_the_cases_differ_counts_are_withheld():
    dry = published("practice-haemorrhagic-respirator")
    wet_case = dry.order.case.model_copy(update={"presentation": "wet"})
    wet = subject_of_order(dry.order.model_copy(update={"case": wet_case}), "wet", CATALOGUE)

    assert compare(dry, wet).why_not == ("case",)


def test_on_other_facts_counts_are_withheld():
    texts = packaged_texts()
    other = load({**texts, "durations.toml": texts["durations.toml"].replace("seconds = 8", "seconds = 9")})
    here = published("practice-haemorrhagic-respirator")

    assert compare(here, subject_of_order(here.order, "there", other)).why_not == ("facts",)


def test_one_ensemble_put_on_in_another_order_compares():
    hood_over, hood_under = published("who-ebola-gown-don--shield-over-hood"), published("who-ebola-gown-don--shield")

    assert compare(hood_over, hood_under).comparable


# ---- plans ----


@cache
def plan(eyes: str) -> Subject:
    made = plan_case(Case(hazard="lassa"), Policy(eye_protection=eyes), CATALOGUE)  # type: ignore[arg-type]
    return subject_of_plan(made, eyes, eyes, CATALOGUE)


def test_two_plans_are_laid_side_by_side_whole_and_a_plan_beside_an_order_by_its_way_out():
    both = compare(plan("shield"), plan("goggles"))
    half = compare(plan("shield"), published("practice-haemorrhagic-respirator"))

    assert both.a.steps == len(plan("shield").plan.steps)  # type: ignore[union-attr]
    assert half.a.steps == len(plan("shield").plan.phase("doffing"))  # type: ignore[union-attr]
    assert half.a.plan is not None
    assert half.b.plan is None
    changed = {(row.change, (row.a or row.b).items) for row in both.steps if row.change != "kept"}  # type: ignore[union-attr]
    assert {("gone", ("face-shield",)), ("new", ("goggles",))} <= changed


# ---- time ----


def test_seconds_of_a_sequence_file_come_before_the_estimate():
    assert span_of("wipe", ("face-shield",), None, CATALOGUE, 90).seconds == 90


def test_the_record_for_the_kind_and_the_agent_is_taken():
    reading = CATALOGUE.durations["reading"].seconds
    wash, rub = (span_of("hand-hygiene", (), agent, CATALOGUE) for agent in ("soap-and-water", "alcohol-rub"))

    assert wash.seconds == CATALOGUE.durations["wash-bare-hands"].seconds + reading
    assert rub.seconds == CATALOGUE.durations["rub-bare-hands"].seconds + reading
    assert span_of("doff", ("coverall-impermeable",), None, CATALOGUE).seconds == 75 + reading


def test_things_that_come_off_together_take_as_long_as_both():
    both = span_of("doff", ("papr-hose", "papr-belt-unit"), None, CATALOGUE)
    reading = CATALOGUE.durations["reading"].seconds

    assert both.seconds == reading + 2 * CATALOGUE.durations["doff-anything-else"].seconds
