"""Corrections on their way from one calibration to the next: ends and middle by hand, where nothing was before."""

from decimal import Decimal

import pytest

from calibration.domain.corrections import CorrectionTable, StatedPoint, correction_table
from calibration.domain.drift import Point
from calibration.domain.growing_corrections import grown_table

D = Decimal


def table(*points: tuple[str, str]) -> CorrectionTable:
    found = correction_table([StatedPoint(Point(False, D(a), D(b), "°C")) for a, b in points], "°C")
    assert found is not None
    return found


BEFORE = table(("0.0", "0.2"), ("100.0", "100.2"))
FOUND = table(("0.0", "2.2"), ("50.0", "54.2"), ("200.0", "202.0"))


@pytest.mark.parametrize(
    ("share", "expected"),
    [("0", ["-0.20", "-0.20", "0"]), ("0.5", ["-1.20", "-2.20", "-1.00"]), ("1", ["-2.2", "-4.2", "-2.0"])],
)
def test_each_station_goes_from_what_was_to_what_was_found(share, expected):
    grown = grown_table(BEFORE, FOUND, D(share))
    assert [one.correction for one in grown.stations] == [D(one) for one in expected]
    assert (grown.low, grown.high, grown.places) == (FOUND.low, FOUND.high, FOUND.places)


def test_without_an_earlier_calibration_it_begins_at_zero():
    assert [one.correction for one in grown_table(None, FOUND, D("0.5")).stations] == [D("-1.1"), D("-2.1"), D("-1.0")]
