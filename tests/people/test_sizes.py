"""Sizes where the published table leaves a choice: between two rows, beyond the last, and where length says another."""

import pytest

from vestry.people import Hand, OffTheTable, glove_size
from vestry.trade.standards import load_standards

STANDARDS = load_standards()


def test_half_way_between_two_rows_the_larger_is_taken():
    assert glove_size(Hand(circumference_mm=216), STANDARDS).row.number == 9  # 203 and 229 are as near


def test_a_long_narrow_hand_is_told_which_size_its_length_asks_for():
    fit = glove_size(Hand(circumference_mm=178, length_mm=192), STANDARDS)

    assert (fit.row.size, fit.by_length.size) == ("s", "l")


@pytest.mark.parametrize("circumference", [139, 292])
def test_a_hand_beyond_the_table_gets_no_size(circumference):
    with pytest.raises(OffTheTable, match=f"a hand of {circumference} mm lies outside the table"):
        glove_size(Hand(circumference_mm=circumference), STANDARDS)
