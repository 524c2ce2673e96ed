"""Pairs of gloves an entry: three for a haemorrhagic fever, two for a respiratory one. Common practice, no source."""

import pytest

from vestry.sequence import Case, Policy, plan_case
from vestry.stock import consumed, glove_pairs, reused
from vestry.trade import load_catalogue

pytestmark = pytest.mark.published


@pytest.mark.parametrize(("hazard", "pairs"), [("ebola", 3), ("mers", 2)])
def test_an_entry_with_mask_or_respirator_uses_the_practised_number_of_pairs(hazard, pairs):
    catalogue = load_catalogue()
    plan = plan_case(Case(hazard=hazard, presentation="wet"), Policy(respirator="disposable"), catalogue)

    assert glove_pairs(consumed(plan, catalogue), catalogue) == pairs == plan.fresh_pairs


def test_what_is_cleaned_and_what_is_brought_is_not_used_up():
    catalogue = load_catalogue()
    plan = plan_case(Case(hazard="ebola", presentation="wet"), Policy(respirator="belt-blower"), catalogue)

    used = consumed(plan, catalogue)

    assert set(reused(plan, catalogue)) == {"papr-belt-unit", "papr-hose"}
    assert set(used) == set(plan.worn) - {"papr-belt-unit", "papr-hose", "scrubs", "washable-shoes"}
    assert set(used.values()) == {1}
