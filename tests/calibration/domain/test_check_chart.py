"""Charts of checks: which limits are drawn, what the newest check signals, what was struck out."""

from datetime import UTC, datetime, timedelta
from decimal import Decimal

import pytest

from calibration.domain.check_chart import ChartPoint, check_chart

D = Decimal
START = datetime(2026, 1, 1, tzinfo=UTC)
# Mean 1.06, mean moving range 0.2222, limits 0.469 to 1.651, ranges to 0.726 (worked by hand).
SERIES = ("1.2", ".9", "1.1", "1.0", "1.3", "1.0", ".8", "1.1", "1.2", "1.0")


def points(*values, passed=True):
    return [ChartPoint(START + timedelta(days=day), D(value), passed) for day, value in enumerate(values)]


def test_the_newest_check_is_seen_against_the_limits_of_those_before_it():
    chart = check_chart(points(*SERIES, "9"), unit="K")
    assert chart.control is not None
    assert chart.control.centre == D("1.06")
    assert (round(chart.control.low, 3), round(chart.control.high, 3)) == (D("0.469"), D("1.651"))


@pytest.mark.parametrize(
    ("last", "words"),
    [("1.651", ""), ("1.652", "outside the control limits"), ("0.469", ""), ("0.468", "outside the control limits")],
)
def test_a_passed_check_outside_the_control_limits_is_a_signal(last, words):
    """Limits at 0.468889 and 1.651111."""
    signal = check_chart(points(*SERIES, last), unit="K").signal
    assert words in signal
    assert bool(signal) is bool(words)


def test_a_step_wider_than_chance_is_a_signal():
    """Ranges 0.3 six times and 0.6: mean 0.343, limits 1.0125 ± 0.912, ranges to 1.120; the last step is 1.3."""
    chart = check_chart(points("1.0", "1.3", "1.0", "1.3", "1.0", "1.3", "1.0", "0.4", "1.7"), unit="K")
    assert chart.control is not None
    assert chart.control.holds(D("1.7"))
    assert "moved further" in chart.signal


@pytest.mark.parametrize(("count", "there"), [(8, False), (9, True)])
def test_control_limits_need_eight_checks_before_the_newest(count, there):
    assert (check_chart(points(*SERIES[:count]), unit="K").control is not None) is there


@pytest.mark.parametrize(
    ("last", "words"),
    [
        ("0.4", ""),
        ("1.4", ""),
        ("1.5", "beyond 2 u"),
        ("1.9", "beyond 2 u"),
        ("2.0", "beyond 3 u"),
        ("-1.2", "beyond 3 u"),
    ],
)
def test_with_few_checks_the_certificates_uncertainty_warns(last, words):
    """Expected 0.4, u 0.5: warning at −0.6 and 1.4, action at −1.1 and 1.9."""
    chart = check_chart(points("0.4", last), unit="K", expected=D("0.4"), standard_uncertainty=D("0.5"))
    assert words in chart.signal
    assert bool(chart.signal) is bool(words)


def test_a_failed_check_needs_no_signal_beside_it():
    assert (
        check_chart(points("0.4", "9", passed=False), unit="K", expected=D(0), standard_uncertainty=D(1)).signal == ""
    )


def test_what_was_struck_out_is_drawn_and_counts_for_nothing():
    struck = ChartPoint(START + timedelta(days=99), D(50), passed=False, struck=True)
    chart = check_chart([struck, *points(*SERIES)], unit="K", low=D(-2), high=D(2))
    assert chart.points[-1] == struck
    assert chart.standing == tuple(points(*SERIES))
    assert chart.control == check_chart(points(*SERIES), unit="K").control


def test_without_a_certificate_or_checks_there_is_no_limit_and_no_signal():
    assert check_chart([], unit="K").signal == ""
    few = check_chart(points("1", "2"), unit="K")
    assert (few.control, few.known, few.signal) == (None, None, "")
