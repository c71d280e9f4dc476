"""What must be said about an item at receipt (ISO/IEC 17025:2017 7.4.3)."""

import pytest

from specimens.domain.receiving import condition_fault, series_fault


@pytest.mark.parametrize(
    ("conditions", "stated", "counted", "deviation", "field"),
    [
        (["as described"], 6, 6, "", None),
        (["as described"], None, 6, "", None),
        ([], 6, 6, "", "conditions"),
        (["as described", "damaged"], 6, 6, "x", "conditions"),
        (["damaged"], 6, 6, "", "deviation"),
        (["damaged"], 6, 6, "a corner", None),
        (["fewer than stated"], 10, 9, "one missing", None),
        (["fewer than stated"], 10, 10, "one missing", "conditions"),
        (["fewer than stated"], None, 9, "the slip says ten", None),
        (["as described"], 10, 9, "", "deviation"),
        (["as described"], 10, 11, "", "deviation"),
        (["as described"], 10, 11, "one more than stated", None),
    ],
)
def test_ticks_counts_and_words_agree(conditions, stated, counted, deviation, field):
    fault = condition_fault(conditions=conditions, stated_count=stated, counted=counted, deviation=deviation)
    assert (None if fault is None else fault.field) == field


def test_a_difference_in_count_is_named_with_both_counts():
    fault = condition_fault(conditions=["as described"], stated_count=10, counted=9, deviation="")
    assert fault is not None
    assert fault.sentence == "You count 9 where the client says 10: write what is different."


def test_the_999th_piece_fits_and_the_next_does_not():
    assert series_fault("26-0001-8", first=990, count=10) is None
    assert series_fault("26-0001-8", first=990, count=11) == (
        "11 more numbers do not fit order 26-0001-8: 989 numbers are given, and 999 items and specimens are the most "
        "one order can have. Nothing was registered; take a second order for the rest."
    )
