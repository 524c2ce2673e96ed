"""Who can go in now, in which sizes, and why not the others."""

import datetime

import pytest

from vestry.people import (
    Clearance,
    Competency,
    FitTest,
    Hand,
    Need,
    OnShelf,
    Person,
    Reason,
    Tried,
    ensemble_of,
    judge,
    need_of,
    practised_on_shift,
    who_can_go_in,
)
from vestry.sequence import Case, Policy, plan_case
from vestry.trade import load_catalogue
from vestry.trade.standards import load_standards

DAY = datetime.date(2026, 6, 1)
FACTS, STANDARDS = load_catalogue(), load_standards()
MASK = "respirator-disposable"
NEED = Need(
    "wearer", ("fever-wet", "gown.respirator.2-pairs"), ("scrubs", "outer-gloves-long", "gown-impermeable", MASK)
)
SHELF = (
    OnShelf("outer-gloves-long", "m", 10),
    OnShelf("gown-impermeable", "l", 4),
    OnShelf(MASK, "s", 9, model="A1"),
)


def fit_test(**changed):
    said = {
        "item": MASK,
        "model": "A1",
        "size": "s",
        "system": "us",
        "method": "quantitative",
        "on": datetime.date(2026, 3, 1),
        "overall": 180,
    }
    return FitTest(**(said | changed))


def person(**changed):
    """Somebody against whom nothing speaks, with these changes."""
    said = {
        "id": "p1",
        "competencies": [Competency(subject="fever-wet", duty="wearer", on=datetime.date(2026, 4, 1))],
        "clearances": [Clearance(on=datetime.date(2026, 1, 5), cleared="any")],
        "fit_tests": [fit_test()],
        "hand": Hand(circumference_mm=203),
        "tried": [Tried(what="gown", size="l")],
    }
    return Person(**(said | changed))


def reasons(someone, need=NEED, shelf=SHELF, system="us", on=DAY):
    return [one.id for one in who_can_go_in(need, [someone], shelf, on, FACTS, STANDARDS, system).answers[0].reasons]


def test_nothing_against_them_gives_sizes_and_the_first_day_of_lapse():
    answer = who_can_go_in(NEED, [person()], SHELF, DAY, FACTS, STANDARDS, "us").may[0]

    assert [(one.item, one.size, one.model) for one in answer.sizes] == [
        ("outer-gloves-long", "m", None),
        ("gown-impermeable", "l", None),
        (MASK, "s", "A1"),
    ]
    assert answer.until == datetime.date(2026, 7, 1)  # the competency, three months on


@pytest.mark.parametrize(
    ("changed", "why"),
    [
        ({"active": False}, "off-the-register"),
        ({"duties": ["observer"]}, "not-this-duty"),
        ({"absences": [{"from": "2026-05-30", "until": "2026-06-01"}]}, "unavailable"),
        ({"absences": [{"from": "2026-05-30"}]}, "unavailable"),
        ({"competencies": []}, "no-competency"),
        ({"competencies": [Competency(subject="other", duty="wearer", on=DAY)]}, "no-competency"),
        ({"competencies": [Competency(subject="fever-wet", duty="observer", on=DAY)]}, "no-competency"),
        (
            {"competencies": [Competency(subject="fever-wet", duty="wearer", on=datetime.date(2026, 2, 28))]},
            "competency-lapsed",
        ),
        ({"clearances": [Clearance(on=datetime.date(2026, 1, 5), cleared="none")]}, "not-cleared"),
        ({"clearances": [Clearance(on=datetime.date(2026, 1, 5), cleared="powered-only")]}, "powered-only"),
        ({"clearances": []}, "no-clearance"),
        (
            {"clearances": [Clearance(on=datetime.date(2025, 1, 5), cleared="any", until=datetime.date(2026, 5, 31))]},
            "clearance-lapsed",
        ),
        ({"clearances": [Clearance(on=datetime.date(2026, 3, 2), cleared="any")]}, "fit-test-before-clearance"),
        ({"fit_tests": []}, "no-fit-test"),
        ({"fit_tests": [fit_test(on=datetime.date(2025, 5, 31))]}, "fit-test-lapsed"),
        ({"fit_tests": [fit_test(overall=99.9)]}, "fit-test-not-passed"),
        ({"fit_tests": [fit_test(system="uk")]}, "fit-test-other-system"),
        ({"fit_tests": [fit_test(model="B2")]}, "fitted-size-not-on-shelf"),
        ({"fit_tests": [fit_test(size="m")]}, "fitted-size-not-on-shelf"),
        ({"tried": []}, "size-unknown"),
        ({"tried": [Tried(what="gown", size="xl")]}, "size-not-on-shelf"),
    ],
)
def test_each_thing_that_speaks_against_it_is_the_one_reason(changed, why):
    assert reasons(person(**changed)) == [why]


def test_all_reasons_are_given_not_the_first():
    assert reasons(person(competencies=[], clearances=[], tried=[])) == [
        "no-competency",
        "no-clearance",
        "size-unknown",
    ]


def test_the_last_day_of_a_thing_still_counts():
    assert reasons(person(), on=datetime.date(2026, 7, 1)) == []
    assert reasons(person(), on=datetime.date(2026, 7, 2)) == ["competency-lapsed"]


def test_a_test_that_failed_later_undoes_the_one_passed_before():
    assert reasons(person(fit_tests=[fit_test(), fit_test(on=datetime.date(2026, 5, 1), overall=40)])) == [
        "fit-test-not-passed"
    ]


def test_competency_in_the_ensemble_does_for_every_procedure_with_it():
    able = Competency(subject="gown.respirator.2-pairs", duty="wearer", on=datetime.date(2026, 4, 1))

    assert reasons(person(competencies=[able])) == []


def test_a_size_tried_on_stands_before_the_table():
    someone = person(tried=[Tried(what="gloves", size="s"), Tried(what="gown", size="l")])

    assert reasons(someone) == ["size-not-on-shelf"]


def test_without_a_shelf_nobody_is_kept_out_by_it():
    assert reasons(person(fit_tests=[fit_test(model="B2")]), shelf=None) == []


def test_a_gown_known_to_be_too_short_keeps_the_tall_out():
    short = (*SHELF[:1], OnShelf("gown-impermeable", "l", 4, length_mm=1220), *SHELF[2:])

    assert reasons(person(height_mm=1700), shelf=short) == []
    assert reasons(person(height_mm=1850), shelf=short) == ["gown-too-short"]
    assert reasons(person(height_mm=1850)) == []  # the length of none is known: the mirror says


def test_the_observer_sees_may_or_may_not_and_no_more():
    found = who_can_go_in(NEED, [person(competencies=[])], SHELF, DAY, FACTS, STANDARDS, "us").answers[0]

    seen = found.seen_by("observer")

    assert (seen.may, seen.reasons, seen.sizes) == (False, (Reason("unavailable"),), ())


@pytest.mark.parametrize("cleared", ["none", "powered-only"])
def test_the_lead_reads_that_there_is_no_clearance_but_not_what_the_clinician_found(cleared):
    unwell = person(clearances=[Clearance(on=datetime.date(2026, 1, 5), cleared=cleared)])
    never = person(clearances=[])

    found = [
        who_can_go_in(NEED, [one], SHELF, DAY, FACTS, STANDARDS, "us").answers[0].seen_by("lead").reasons
        for one in (unwell, never)
    ]

    assert found[0] == found[1] == (Reason("no-clearance"),)


def test_a_test_of_another_system_never_counts_whatever_its_factor():
    test = fit_test(system="uk", overall=5000)

    assert judge(test, DAY, STANDARDS, "us").why == ("other-system",)
    assert judge(test, DAY, STANDARDS).counts


def test_a_system_without_a_level_judges_nothing():
    assert judge(fit_test(system="nowhere"), DAY, STANDARDS).why == ("level-unknown",)


def test_a_taste_test_will_not_do_for_a_full_facepiece():
    taste = {"method": "qualitative", "overall": None, "passed": True}

    assert judge(fit_test(**taste), DAY, STANDARDS).counts
    assert judge(fit_test(**taste, device="full-facepiece"), DAY, STANDARDS).why == ("method-not-accepted",)


def test_a_plan_needs_its_ensemble_and_the_fresh_gloves():
    plan = plan_case(Case(hazard="mers"), Policy(), FACTS)

    need = need_of(plan, FACTS, procedure="mers")

    assert need.subjects == ("mers", "gown.respirator.1-pair")
    assert set(need.items) == {*plan.worn, "fresh-gloves"}
    assert need_of(plan, FACTS, "observer").items == next(one.worn for one in plan.team if one.role == "observer")


def test_an_ensemble_is_named_by_what_is_learnt_with_it():
    assert ensemble_of(("gown-isolation", "papr-hood", "gloves-long"), FACTS) == "gown.powered-hood.1-pair"
    assert ensemble_of(("coverall-hooded", "surgical-mask"), FACTS) == "coverall.mask.0-pairs"


def test_practised_counts_only_those_on_shift():
    assert practised_on_shift(["a", "b", "z"], ["a", "b", "c"]) == (2, 3)
