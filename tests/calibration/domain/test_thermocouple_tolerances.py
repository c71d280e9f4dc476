"""Tolerance classes of new thermocouples (IEC 60584-1:2013 as published tables agree)."""

from decimal import Decimal

import pytest

from calibration.domain.thermocouple_tolerances import tolerance_k
from tests.calibration.thermocouple_cases import case_rows

# 0.4 %, 0.75 % and 1.5 % of the temperature, or the fixed term where it is larger.
PERMITTED = [
    ("K", 1, "550", "2.2"),
    ("K", 1, "650", "2.6"),
    ("K", 1, "750", "3.0"),
    ("K", 1, "850", "3.4"),
    ("K", 1, "960", "3.84"),
    ("K", 2, "960", "7.2"),
    ("K", 2, "550", "4.125"),
    ("K", 2, "333", "2.5"),
    ("K", 3, "-200", "3.0"),
    ("K", 3, "-166", "2.5"),
    ("N", 1, "960", "3.84"),
    ("N", 2, "1200", "9.0"),
    ("J", 1, "750", "3.0"),
    ("J", 2, "-40", "2.5"),
    ("T", 1, "200", "0.8"),
    ("T", 2, "200", "1.5"),
    ("T", 3, "-67", "1.005"),
    ("T", 3, "-66", "1.0"),
]


@pytest.mark.parametrize(("kind", "tolerance_class", "t", "permitted"), PERMITTED)
def test_the_larger_of_two_terms_holds(kind, tolerance_class, t, permitted):
    assert tolerance_k(kind, tolerance_class, Decimal(t)) == Decimal(permitted)


@pytest.mark.parametrize(
    ("kind", "tolerance_class", "t"),
    [
        ("K", 1, "-40.001"),
        ("K", 1, "1000.001"),
        ("K", 2, "1200.5"),
        ("K", 3, "40.1"),
        ("K", 3, "-200.1"),
        ("J", 1, "750.1"),
        ("J", 3, "0"),
        ("T", 1, "350.01"),
        ("K", 4, "100"),
        ("K", 1, "NaN"),
    ],
)
def test_outside_its_range_a_class_has_no_tolerance(kind, tolerance_class, t):
    assert tolerance_k(kind, tolerance_class, Decimal(t)) is None


@pytest.mark.parametrize(("kind", "tolerance_class", "ends"), [("K", 1, ("-40", "1000")), ("T", 3, ("-200", "40"))])
def test_both_ends_of_the_range_belong_to_it(kind, tolerance_class, ends):
    assert None not in [tolerance_k(kind, tolerance_class, Decimal(end)) for end in ends]


def test_a_printed_table_of_type_k():
    for row in case_rows("class_tolerance_k.csv"):
        for number in (1, 2):
            printed = row[f"class{number}_K"]
            made = tolerance_k("K", number, Decimal(row["t_C"]))
            # The table prints three decimals, the last one rounded half to even.
            shown = "undefined" if made is None else f"{made:.3f}"
            assert shown == printed
