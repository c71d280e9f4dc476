"""An entry beside the digital certificate it came with; the certificate is an invented one."""

from dataclasses import replace
from datetime import date
from decimal import Decimal

import pytest

from calibration.domain.certificate_agreement import EnteredPoint, differences_from_file, unit_for
from calibration.domain.digital_certificate import read_digital_certificate
from tests.calibration.digital_certificates import certificate_bytes


def point(reference, indication, uncertainty, *, factor="2.0", unit="°C", as_left=True):
    factor_number = None if factor is None else Decimal(factor)
    figures = (Decimal(reference), Decimal(indication), unit, Decimal(uncertainty), factor_number)
    return EnteredPoint(figures, as_left)


SAME = (point("550.1", "550.90", "1.1"), point("850.05", "851.25", "1.2"), point("959.97", "961.95", "1.4"))


def differences(points=SAME, calibrated_on=date(2026, 5, 5), certificate_number="VS-T-2026-0417"):
    return differences_from_file(
        read_digital_certificate(certificate_bytes()),
        kind="thermocouple",
        calibrated_on=calibrated_on,
        certificate_number=certificate_number,
        points=points,
    )


@pytest.mark.parametrize("calibrated_on", [date(2026, 5, 4), date(2026, 5, 5)])
def test_the_same_figures_agree_in_any_order_and_on_any_day_of_the_work(calibrated_on):
    assert differences(SAME[::-1], calibrated_on=calibrated_on) == ()


@pytest.mark.parametrize(
    ("facts", "sentence"),
    [
        (
            {"calibrated_on": date(2026, 5, 6)},
            "Calibrated on 6 May 2026 is entered, the file says 5 May 2026.",
        ),
        ({"certificate_number": "VS-9"}, "“VS-9” is entered, the file’s number is “VS-T-2026-0417”."),
        ({"certificate_number": ""}, "No certificate number is entered, the file’s number is “VS-T-2026-0417”."),
    ],
)
def test_another_day_or_number(facts, sentence):
    assert differences(**facts) == (sentence,)


def test_a_figure_that_was_changed_is_named_from_both_sides():
    assert differences((point("550.10", "550.09", "1.1"), *SAME[1:])) == (
        "In the file, and not entered: 550.10 → 550.90 °C, U 1.1, k 2.00.",
        "Entered, and not in the file: 550.10 → 550.09 °C, U 1.1, k 2.0.",
    )


def test_a_point_left_out_and_one_entered_twice():
    assert differences((SAME[0], SAME[0], SAME[2])) == (
        "In the file, and not entered: 850.05 → 851.25 °C, U 1.2, k 2.00.",
        "Entered, and not in the file: 550.1 → 550.90 °C, U 1.1, k 2.0.",
    )


def test_a_coverage_factor_that_is_missing_is_a_difference():
    assert differences((point("550.1", "550.90", "1.1", factor=None), *SAME[1:]))[1] == (
        "Entered, and not in the file: 550.1 → 550.90 °C, U 1.1, no k."
    )


def test_as_found_entered_for_as_left():
    assert differences((replace(SAME[0], as_left=False), *SAME[1:])) == (
        "Entered as found, in the file as left: 550.10 → 550.90 °C, U 1.1, k 2.00.",
    )


@pytest.mark.parametrize(
    ("kind", "unit", "ours"), [("hygrometer", "%", "% RH"), ("balance", "%", "%"), ("hygrometer", "°C", "°C")]
)
def test_per_cent_are_of_relative_humidity_on_a_hygrometers_certificate_only(kind, unit, ours):
    assert unit_for(kind, unit) == ours
