"""Drift: errors by hand, places of the range, what does not count."""

from datetime import date
from decimal import Decimal

from calibration.domain.drift import Drift, Point, Visit, drift

D = Decimal
A, B, C = date(2024, 5, 15), date(2025, 5, 19), date(2026, 5, 14)


def point(reference: str, indication: str, *, left: bool = False, unit: str = "°C") -> Point:
    return Point(left, D(reference), D(indication), unit)


def test_the_error_is_indication_minus_reference_with_its_digits():
    assert str(point("850.0", "846.10").error) == "-3.90"


def test_one_calibration_has_no_drift():
    assert drift([(A, [point("850", "849")])]) is None
    assert drift([]) is None


def test_the_place_most_calibrations_share_is_shown_oldest_first():
    first, second, third = point("650.2", "650.0"), point("650.0", "649.5"), point("650.1", "649.0")
    found = drift([(C, [third]), (A, [first, point("850", "849")]), (B, [second, point("850", "848")])])
    assert found is not None
    assert [(visit.calibrated_on, visit.found) for visit in found.visits] == [(A, first), (B, second), (C, third)]


def test_of_equal_places_the_highest_is_shown():
    found = drift([(A, [point("650", "650"), point("850", "849")]), (B, [point("650", "650"), point("850", "848")])])
    assert found == Drift(
        D("850"),
        "°C",
        (Visit(A, point("850", "849"), None), Visit(B, point("850", "848"), None)),
    )


def test_as_found_and_as_left_of_one_visit_stay_apart():
    left = point("850", "850", left=True)
    found = drift([(A, [point("850", "849")]), (B, [point("850", "846"), left])])
    assert found is not None
    assert found.visits[1] == Visit(B, point("850", "846"), left)


def test_other_units_and_far_references_do_not_mix():
    assert drift([(A, [point("100", "100")]), (B, [point("100", "100", unit="°F")])]) is None
    assert drift([(A, [point("100", "100")]), (B, [point("102", "100")])]) is None
    assert drift([(A, [point("100", "100")]), (B, [point("101", "100")])]) is not None


def test_zero_is_a_place_of_its_own():
    found = drift([(A, [point("0", "0.1")]), (B, [point("0.0", "0.2")])])
    assert found is not None
    assert len(found.visits) == 2
