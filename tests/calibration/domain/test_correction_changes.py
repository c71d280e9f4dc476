"""What a new calibration changes: places by hand, what was not covered before, what stays."""

from decimal import Decimal

from calibration.domain.correction_changes import CorrectionChange, correction_changes
from calibration.domain.corrections import CorrectionTable, StatedPoint, correction_table
from calibration.domain.drift import Point

D = Decimal


def table(unit: str, *points: tuple[str, str]) -> CorrectionTable:
    found = correction_table([StatedPoint(Point(False, D(a), D(b), unit)) for a, b in points], unit)
    assert found is not None
    return found


def test_each_place_says_what_was_added_and_what_will_be():
    before = table("°C", ("650.0", "649.6"), ("850.0", "849.4"))
    after = table("°C", ("650.0", "649.6"), ("850.0", "858.0"), ("700.0", "699.0"))
    changes = correction_changes({"°C": before}, {"°C": after})
    assert changes == (
        CorrectionChange(D("699.0"), "°C", D("0.45"), D("1.00")),
        CorrectionChange(D("858.0"), "°C", None, D("-8.00")),
    )
    assert [(one.changed_by, one.unit) for one in changes] == [(D("0.55"), "K"), (None, "K")]


def test_a_unit_nobody_had_before_is_new_everywhere_and_equal_ones_are_silent():
    wet = table("% RH", ("50.0", "51.0"))
    assert correction_changes({}, {"% RH": wet}) == (CorrectionChange(D("51.0"), "% RH", None, D("-1.00")),)
    assert correction_changes({"% RH": wet}, {"% RH": wet}) == ()
    assert correction_changes({"% RH": wet}, {}) == ()
