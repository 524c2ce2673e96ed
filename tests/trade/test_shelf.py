"""Which kinds are powered units: one place, with a source mark; forms, readiness and forecast take it from there."""

from __future__ import annotations

from vestry.trade import load_catalogue
from vestry.trade.crosscheck import NO_SOURCE_NEEDED
from vestry.trade.operations import load_operations
from vestry.trade.operations_values import ChlorineProduct
from vestry.trade.shelf import load_shelf, powered_kinds, supplies
from vestry.trade.words import load_words


def test_each_powered_kind_is_a_kind_of_the_catalogue_and_says_how_sure_it_is():
    kinds = {item.kind for item in load_catalogue().items.values()}
    for one in load_shelf().powered_kind:
        assert one.kind in kinds
        assert one.source in NO_SOURCE_NEEDED
    assert len(powered_kinds()) == len(load_shelf().powered_kind)


def test_a_powered_unit_is_reusable_gear():
    assert all(item.reusable for item in load_catalogue().items.values() if item.kind in powered_kinds())


def test_a_supply_is_no_item_has_a_name_and_says_how_sure_it_is():
    products = {one.id for one in load_operations().all(ChlorineProduct)}
    assert not set(supplies()) & set(load_catalogue().items)
    assert set(load_words("en").file.term["supply"]) == set(supplies())
    for one in supplies().values():
        assert one.source in NO_SOURCE_NEEDED
        assert one.product is None or one.product in products
