"""From program and evidence to numbers: every number opens to its record; the context moves what it should."""

from __future__ import annotations

from dataclasses import replace
from types import MappingProxyType

import numpy as np
import pytest
from tests.contact.strategies import order_files, with_case

from vestry.contact.amounts import Bound, Context, bind_order, simulate
from vestry.contact.amounts.context import multipliers, updated, with_odds
from vestry.contact.amounts.model import CLEAN, NONE
from vestry.contact.amounts.tables import constant, fractions, mean
from vestry.trade import Law, load_catalogue
from vestry.trade.evidence import load_evidence

NAME = "cdc-vhf-unstable-n95-gown-doff-2015--with-apron.toml"


def bound(context: Context | None = None, name: str = NAME, **case: object) -> Bound:
    return bind_order(with_case(order_files()[name], **case), load_catalogue(), load_evidence(), context)


def rates(context: Context) -> tuple[float, float]:
    """The mean rate of slips and of omissions (with those too short)."""
    model = bound(context).model
    happened = simulate(model, np.arange(4000), seed=2, choice="numpy").happened != 0
    sorts = np.array(model.sorts)
    return float(happened[sorts == "slip"].mean()), float(happened[sorts == "omission"].mean())


@pytest.mark.parametrize("name", sorted(order_files())[::11])
def test_every_number_opens_to_a_record(name: str) -> None:
    evidence = load_evidence()
    one = bound(name=name)
    assert one.defaults == ()
    used = {use.id for use in one.rests_on}
    for quantity in (*one.model.quantities, *one.model.chance_ids):
        for record in quantity.split("*"):
            assert record in evidence.records
            assert record in used
    drawn = one.model.verb != 3
    assert (one.model.onward[drawn] != NONE).all()


def test_what_no_evidence_covers_is_a_default_and_is_listed() -> None:
    catalogue, full = load_catalogue(), load_evidence()
    records = {key: record for key, record in full.records.items() if record.quantity != "log-reduction"}
    evidence = replace(full, records=MappingProxyType(records), _by_quantity={})
    one = bind_order(order_files()[NAME], catalogue, evidence)
    assert {use.quantity for use in one.defaults} == {"log-reduction"}
    cleans = one.model.verb == CLEAN
    assert (one.model.tables[one.model.onward[cleans]] == 1.0).all()


def test_a_weak_agent_still_cleans_a_little() -> None:
    one = bound(virus_class="non-enveloped")
    cleans = np.flatnonzero(one.model.verb == CLEAN)
    ids = {one.model.quantities[one.model.onward[op]] for op in cleans}
    assert "reduction.alcohol-gloves-non-enveloped" in ids
    assert 0 < mean(one.model.tables[one.model.onward[cleans[0]]]) < 1


@pytest.mark.slow
def test_an_absent_observer_silence_time_and_heat_raise_the_rates() -> None:
    usual = rates(Context())
    for context in (
        Context(observer=False),
        Context(read_aloud=False),
        Context(trained=False),
        Context(months=8),
        Context(minutes=90, climate="hot"),
    ):
        assert rates(context)[0] > 1.15 * usual[0]
    assert rates(Context(read_aloud=False))[1] > 1.5 * usual[1]
    assert rates(Context(minutes=90, climate="cool")) == usual
    assert multipliers(Context(), load_evidence()) == ()


def test_the_units_own_counts_move_the_rate_of_what_they_count() -> None:
    model = bound().model
    slip = next(event for event, sort in zip(model.events, model.sorts, strict=True) if sort == "slip")
    base = slip.partition("@")[0]
    often = bound(Context(counts={base: (30, 60)})).model

    def rate(one: object, event: str) -> float:
        return float(one.chances[one.going[one.event_number(event)]].mean())  # type: ignore[attr-defined]

    other = next(e for e, s in zip(model.events, model.sorts, strict=True) if s == "slip" and base not in e)
    assert rate(often, slip) > 10 * rate(model, slip)
    assert rate(often, other) == rate(model, other)
    never = bound(Context(counts={"slip": (0, 2000)})).model
    assert rate(never, other) < 0.5 * rate(model, other)


def test_the_update_is_the_beta_binomial_one() -> None:
    prior = fractions(Law(kind="beta", alpha=2.0, beta=170.0))
    assert mean(updated(prior, 5, 28)) == pytest.approx(7 / 200, rel=0.01)
    with pytest.raises(ValueError, match="3 deviations on 2 occasions"):
        updated(prior, 3, 2)


def test_odds_are_multiplied_and_not_chances() -> None:
    table = with_odds(constant(0.5), (Law(kind="fixed", value=3.0),))
    assert table == pytest.approx(constant(0.75))
    assert with_odds(fractions(Law(kind="beta", alpha=2, beta=2)), (Law(kind="uniform", low=1, high=8),)).max() <= 1.0


def test_loads_of_ones_own_replace_those_of_the_room() -> None:
    given = {"gown-impermeable.front": Law(kind="fixed", value=1000.0)}
    one = bind_order(order_files()[NAME], load_catalogue(), load_evidence(), loads=given)
    assert (simulate(one.model, np.arange(5)).source == 1000.0).all()
    with pytest.raises(KeyError, match=r"gown\.brim"):
        bind_order(order_files()[NAME], load_catalogue(), load_evidence(), loads={"gown.brim": given.popitem()[1]})


def test_what_nothing_covers_is_loaded_directly() -> None:
    one = bound(name="cdc-standard-doff-ex1--mask-goggles.toml")
    assert "body.neck" in one.uncovered
    found = simulate(one.model, np.arange(50))
    row = one.model.reported_names.index("body.neck")
    assert (found.peak[row] > 0).all()


@pytest.mark.slow
def test_a_hole_lies_beneath_a_hole_as_often_as_its_own_record_says() -> None:
    """Makama and others 2016, with Mischke and others 2014: about 0.08 of outer holes have one below (b04, b05)."""
    published = load_evidence().records["fault.hole-below-a-hole"]
    assert published.law == Law(kind="beta", alpha=1.6, beta=15.5)
    assert 0.07 < mean(fractions(published.law)) < 0.1

    full = load_evidence()
    often = published.model_copy(update={"law": Law(kind="fixed", value=0.5)})
    evidence = replace(full, records=MappingProxyType({**full.records, often.id: often}), _by_quantity={})
    one = bind_order(order_files()[NAME], load_catalogue(), evidence)
    outer, inner = (one.model.event_number(f"latent:{item}-gloves-long:hole-l") for item in ("outer", "inner"))
    assert one.model.given[inner] == outer
    assert one.model.given[outer] == NONE
    assert often.id in {use.id for use in one.rests_on}
    happened = simulate(one.model, np.arange(20_000), seed=4, choice="numpy").happened != 0
    beneath, elsewhere = happened[inner][happened[outer]], happened[inner][~happened[outer]]
    own = mean(fractions(full.records["fault.hole"].law))
    for seen, rate in ((beneath, 0.5), (elsewhere, own)):
        assert abs(seen.mean() - rate) < 4 * np.sqrt(rate * (1 - rate) / len(seen))


def test_where_no_record_tells_holes_apart_they_are_independent() -> None:
    full = load_evidence()
    records = {key: record for key, record in full.records.items() if not record.when.given}
    evidence = replace(full, records=MappingProxyType(records), _by_quantity={})
    model = bind_order(order_files()[NAME], load_catalogue(), evidence).model
    assert (model.given == NONE).all()


@pytest.mark.slow
def test_an_outer_hole_that_is_knocked_out_leaves_the_inner_layer_its_own_rate() -> None:
    model = bound().model
    without = model.with_events(never=["latent:outer-gloves-long:hole-l"])
    inner = model.event_number("latent:inner-gloves-long:hole-l")
    seen = simulate(without, np.arange(20_000), seed=4, choice="numpy").happened[inner] != 0
    rate = mean(fractions(load_evidence().records["fault.hole"].law))
    assert abs(seen.mean() - rate) < 4 * np.sqrt(rate * (1 - rate) / len(seen))
