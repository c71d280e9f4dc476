"""Heating time, applications, wear of the tip and the usual heating current, from what trials recorded."""

from datetime import UTC, datetime, timedelta
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from trials.domain.stability import TemperatureReading
from trials.domain.wire_life import (
    CurrentReading,
    TipMeasure,
    WearLimit,
    WireTrial,
    current_sentence,
    heating_s,
    typical_currents,
    wear,
    wire_use,
)

D = Decimal
AT = datetime(2026, 3, 2, 9, 0, tzinfo=UTC)
# 97.5 % from the 2013 edition on, 90 % in that of 2000: one weak public source each, parameters of the editions.
NEWER, OLDER = WearLimit(D("97.5"), ("2-11:2021",)), WearLimit(D(90), ("2-11:2000",))


def readings(*pairs):
    return [TemperatureReading(D(t_s), D(read_c)) for t_s, read_c in pairs]


def in_mm(tip_mm, first_mm="4.00"):
    return TipMeasure(AT, None, D(tip_mm), D(first_mm))


def test_heating_counts_from_the_first_reading_at_the_level_to_withdrawal():
    rows = readings(("-120", "790.0"), ("-90", "835.0"), ("-60", "850.2"), ("-5", "850.4"))
    assert heating_s(rows, D(850), D(15), withdrawn_s=D("30.1"), ended_s=D("60.4")) == D("120.1")


@pytest.mark.parametrize(("read_c", "counts"), [("834.9", False), ("835.0", True), ("865.0", True), ("865.1", False)])
def test_a_reading_is_at_the_level_within_its_tolerance(read_c, counts):
    found = heating_s(readings(("-60", read_c)), D(850), D(15), withdrawn_s=D(30), ended_s=None)
    assert found == (D(90) if counts else None)


def test_without_a_withdrawal_the_end_of_watching_ends_it():
    assert heating_s(readings(("-60", "850")), D(850), D(15), withdrawn_s=None, ended_s=D(60)) == D(120)


@pytest.mark.parametrize(("rows", "ended"), [((), "60"), ((("-60", "850"),), None), ((("70", "850"),), "60")])
def test_what_is_not_recorded_is_not_guessed(rows, ended):
    end_s = None if ended is None else D(ended)
    assert heating_s(readings(*rows), D(850), D(15), withdrawn_s=None, ended_s=end_s) is None


def test_use_adds_up_and_names_what_it_cannot_count():
    found = wire_use([WireTrial(1, D("120.1")), WireTrial(0, None), WireTrial(1, D("90.4")), WireTrial(1, None)])
    assert (found.trials, found.applications, found.heating_s, found.unknown) == (4, 3, D("210.5"), 2)


def test_a_wire_that_did_nothing_is_zero():
    assert wire_use([]).heating_s == 0


@pytest.mark.parametrize(
    ("tip_mm", "state"),
    [("3.90", "in limit"), ("3.8999", "replace"), ("3.901", "in limit"), ("4.00", "in limit")],
)
def test_wear_is_judged_unrounded_at_97_5_percent_of_4_mm(tip_mm, state):
    """97.5 % of 4.00 mm is 3.9 mm (public trade page on the 2013 edition)."""
    assert wear([in_mm(tip_mm)], [NEWER]).state == state


@pytest.mark.parametrize(("tip_mm", "state"), [("3.60", "in limit"), ("3.599", "replace")])
def test_wear_is_judged_at_90_percent_by_the_edition_of_2000(tip_mm, state):
    assert wear([in_mm(tip_mm)], [OLDER]).state == state


def test_what_is_below_its_limit_never_looks_as_if_it_were_at_it():
    found = wear([in_mm("3.8999")], [NEWER])
    assert found.sentence == (
        "The tip stands at 97.49 % of its first measure, below 97.5 %: replace the wire before the next trial by "
        "2-11:2021."
    )


def test_a_tip_worn_for_one_edition_may_do_for_another():
    found = wear([in_mm("3.80")], [OLDER, NEWER])
    assert found.state == "replace"
    assert found.sentence.endswith("before the next trial by 2-11:2021.")
    assert wear([in_mm("3.5")], [OLDER, NEWER]).sentence.endswith("by 2-11:2021, 2-11:2000.")


def test_the_last_measure_speaks_whether_in_mm_or_in_percent():
    typed = TipMeasure(AT + timedelta(days=1), D("99.2"))
    assert wear([in_mm("3.80"), typed], [NEWER]).sentence == (
        "The tip stands at 99.2 % of its first measure, in limit: at least 97.5 % is asked."
    )


def test_without_a_measure_nothing_is_said_of_wear():
    assert wear([], [NEWER]).state == "not measured"


def test_a_measure_without_any_figure_is_a_mistake_of_the_program():
    with pytest.raises(ValueError, match="has a percentage"):
        TipMeasure(AT, None).at_least(D(90))


def at_850(*currents, ambient=None):
    return [CurrentReading(D(850), D(current), None if ambient is None else D(ambient)) for current in currents]


@pytest.mark.parametrize(
    ("currents", "median"),
    [(("128.0", "129.4", "131.1"), "129.4"), (("128.0", "129.0", "129.5", "140.0"), "129.25")],
)
def test_the_starting_value_is_the_median_with_its_range(currents, median):
    found = typical_currents(at_850(*currents, ambient="22.5"))[D(850)]
    assert (found.median_a, found.count) == (D(median), len(currents))
    assert (found.low_a, found.high_a) == (min(map(D, currents)), max(map(D, currents)))
    assert (found.ambient_low_c, found.ambient_high_c) == (D("22.5"), D("22.5"))


def test_two_trials_are_not_enough_and_no_level_lends_to_another():
    rows = [*at_850("128.0", "129.0"), CurrentReading(D(960), D("141"), None), CurrentReading(D(750), D("110"), None)]
    assert typical_currents(rows) == {}


@given(st.lists(st.decimals(min_value=50, max_value=200, places=1), min_size=3, max_size=20))
def test_the_median_lies_within_the_range(currents):
    found = typical_currents([CurrentReading(D(850), one, None) for one in currents])[D(850)]
    assert found.low_a <= found.median_a <= found.high_a


def test_the_sentence_says_where_the_value_comes_from_and_how_to_approach():
    typical = typical_currents([*at_850("128.0", ambient="21.0"), *at_850("129.4", "131.1", ambient="24.5")])[D(850)]
    assert current_sentence(D(850), 3, typical, rig="GW-1", wire="W-3") == (
        "Start at 129.4 A for 850 °C: median of 3 trials on GW-1 with wire W-3 in the last 90 days, 128.0 to 131.1 A, "
        "room 21.0 to 24.5 °C. Set less at first and approach slowly from below; the reading of the tip decides."
    )


def test_the_sentence_says_when_there_are_too_few():
    assert current_sentence(D(850), 2, None, rig="GW-1", wire="W-3") == (
        "Heating current at 850 °C: not enough trials on this rig yet (2 of 3 with wire W-3 in 90 days). "
        "Approach slowly from below."
    )
