"""Why a verdict is what it is: every touch with its source; and what would have to go wrong."""

from __future__ import annotations

from functools import cache
from itertools import combinations

import pytest

from vestry.contact.check import check
from vestry.contact.reach import reach
from vestry.sequence import Case, Explanation, Policy, Subject, explain, plan_case, subject_of_order, subject_of_plan
from vestry.sequence.telling import told_explained, told_source, told_would_take
from vestry.trade import BadFacts, load_catalogue, read_order
from vestry.trade.orders import packaged_orders
from vestry.trade.words import load_words

CATALOGUE, WORDS = load_catalogue(), load_words("en")
REACHED = "cdc-ebola-2014oct-papr-doff--gown-external-with-apron"
CLEAN = "cdc-standard-doff-ex1--respirator-shield"


@cache
def published(name: str) -> Subject:
    return subject_of_order(read_order(packaged_orders()[name], name), name, CATALOGUE)


@cache
def plan() -> Subject:
    return subject_of_plan(
        plan_case(Case(hazard="lassa", presentation="wet"), Policy(), CATALOGUE), "p", "p", CATALOGUE
    )


@cache
def whole(name: str) -> Explanation:
    return explain(published(name))


# ---- why ----


def test_the_routes_are_those_of_the_verdict_and_each_is_a_sentence():
    found, subject = whole(REACHED), published(REACHED)

    assert [one.surface for one in found.routes] == [one.surface for one in subject.assurance.reached]
    neck = next(one for one in found.routes if one.surface == "body.neck")
    assert told_explained(neck, subject, WORDS) == (
        "With every step as taught, hose touched left inner glove, hand (step 13), which touched chin seal of the "
        "helmet (step 14), which passed over neck."
    )


def test_a_route_runs_unbroken_from_what_is_contaminated_on_arrival_to_its_endpoint():
    found, program = whole(REACHED), published(REACHED).program
    start = {program.surfaces[number] for number, _ in program.start}
    for route in found.routes:
        assert route.touches[0].from_surface in start
        assert route.touches[-1].to_surface == route.surface
        for one, following in zip(route.touches, route.touches[1:], strict=False):
            assert one.to_surface == following.from_surface


def test_every_touch_has_a_source_with_its_certainty_and_where_there_is_one_its_address():
    for one in (whole(REACHED), whole(CLEAN), explain(plan())):
        routes = [*one.routes, *(route for take in one.would_take for route in take.routes)]
        for touch in (touch for route in routes for touch in route.touches):
            record = CATALOGUE.sources.get(touch.source.id)
            assert (record is None) == (touch.source.publisher is None)
            assert touch.source.certainty == (record.read_as if record else touch.source.id)
            assert touch.source.url == (record.url if record else None)
            assert told_source(touch, WORDS)


def test_what_is_worn_at_a_touch_is_there_to_be_touched():
    found = whole(REACHED)
    for touch in (touch for route in found.routes for touch in route.touches):
        for surface in (touch.from_surface, touch.to_surface):
            owner = surface.partition(".")[0]
            assert owner not in CATALOGUE.items or owner in touch.worn, touch


# ---- why not ----


def deciding(subject: Subject) -> dict[str, tuple[int, str]]:
    return {
        subject.program.surfaces[number]: (number, kind)
        for number, kind in subject.program.endpoints
        if kind in ("mucosa", "skin", "helper")
    }


def test_each_set_of_errors_suffices_and_no_smaller_one_does():
    """Against running the program with every smaller set of events."""
    subject = published(CLEAN)
    numbers = {event.id: number for number, event in enumerate(subject.program.events)}
    able = [number for number, event in enumerate(subject.program.events) if event.sort in ("slip", "omission")]
    for one in explain(subject).would_take:
        surface, _ = deciding(subject)[one.surface]

        def reached(events: tuple[int, ...], surface: int = surface, at_end: bool = one.when == "at-end") -> bool:
            found = reach(subject.program, events)
            return surface in (found.at_end if at_end else found.ever)

        fewest = 4 if one.fewest is None else one.fewest
        for size in range(min(fewest, 2)):
            assert not any(reached(events) for events in combinations(able, size)), one.surface
        for route in one.routes:
            assert len(route.events) == one.fewest
            assert reached(tuple(numbers[event] for event in route.events))


def test_every_deciding_endpoint_is_either_reached_or_told_what_it_takes():
    for name in (REACHED, CLEAN):
        subject, found = published(name), whole(name)
        told = {one.surface for one in found.would_take}
        reached = {one.surface for one in found.routes if one.when == "at-end" or one.endpoint != "skin"}

        assert told | reached >= set(deciding(subject))
        assert not told & {one.surface for one in found.routes if one.when == "at-end"}


def test_where_nothing_is_found_it_says_within_how_many_errors_and_promises_nothing():
    take = next(one for one in whole(CLEAN).would_take if one.fewest is None)

    assert "nothing within 3 errors together reaches it." in told_would_take(take, 3, WORDS)


def test_a_hidden_fault_is_told_where_it_makes_fewer_errors_enough():
    takes = [one for one in explain(plan()).would_take if one.with_fault != one.fewest]

    assert takes
    assert all("hidden fault" in told_would_take(one, 3, WORDS) for one in takes)


# ---- about one endpoint, one step ----


def test_about_one_endpoint_nothing_else_is_told():
    found = explain(published(CLEAN), "body.eyes")

    assert [one.surface for one in found.would_take] == ["body.eyes"]
    assert not found.routes


def test_about_a_step_that_says_watch_this_the_first_route_has_one_error_and_it_is_there():
    watched = [one.step for one in plan().assurance.steps if one.watch]
    assert watched
    for step in watched:
        found = explain(plan(), step=step)

        assert len(found.routes[0].events) == 1
        assert all(any(event.endswith(f"@{step}") for event in one.events) for one in found.routes)
        assert [len(one.events) for one in found.routes] == sorted(len(one.events) for one in found.routes)


def test_about_every_step_the_fewest_errors_are_those_of_the_verdict():
    further = {one.step: one.further for one in published(CLEAN).assurance.steps}
    for step, fewest in further.items():
        routes = [one for one in explain(published(CLEAN), step=step).routes if one.endpoint in ("mucosa", "skin")]

        assert (len(routes[0].events) if routes else None) == fewest


@pytest.mark.parametrize(
    ("surface", "step", "what"),
    [
        ("body.eye", None, "no endpoint is called body.eye; did you mean body.eyes?"),
        ("gown-isolation.front", None, "no endpoint is called gown-isolation.front"),
        (None, "doff:face-shield:rear-stap", "did you mean doff:face-shield:rear-strap"),
        (None, "<b>", "no step is called <b>; there are"),
    ],
)
def test_what_is_unknown_is_named_with_the_nearest(surface: str | None, step: str | None, what: str):
    with pytest.raises(BadFacts) as caught:
        explain(published(CLEAN), surface, step)

    assert what in str(caught.value)


def test_a_step_before_the_way_out_is_not_judged():
    with pytest.raises(BadFacts, match="no step of the way out"):
        explain(plan(), step="donning.don:scrubs")


def test_the_verdict_explained_is_the_checkers():
    assert whole(REACHED).clean == check(published(REACHED).program).clean is False
