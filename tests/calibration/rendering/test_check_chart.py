"""The control chart drawn: points, limits, struck ones hollow, labels that keep apart, text that stays text."""

from datetime import UTC, datetime, timedelta
from decimal import Decimal
from itertools import pairwise
from xml.etree import ElementTree as ET

import pytest
from hypothesis import given
from hypothesis import strategies as st

from calibration.domain.check_chart import ChartPoint, check_chart
from calibration.rendering.check_chart import check_plot, spread

D = Decimal
START = datetime(2026, 1, 1, tzinfo=UTC)
FIVE = [("1.2", True, False), ("0.9", True, False), ("9", False, True), ("11", False, False), ("1.0", True, False)]


def points(rows):
    return [
        ChartPoint(START + timedelta(days=day), D(value), passed, struck)
        for day, (value, passed, struck) in enumerate(rows)
    ]


def drawn(chart, title="Foil of TC-01"):
    return ET.fromstring(check_plot(chart, title=title))  # noqa: S314  (our own output)


def test_points_limits_and_marks():
    plot = drawn(check_chart(points(FIVE), unit="K", low=D(-10), high=D(10)))
    circles = [(one.attrib["class"], one.attrib["r"]) for one in plot.iter("circle")]
    # struck out: hollow; failed: a dot in a ring
    assert circles == [("dot", "4"), ("dot", "4"), ("ring", "4"), ("ring", "8"), ("dot", "4"), ("dot", "4")]
    assert [one.attrib["class"] for one in plot.iter("line")].count("limit") == 2
    assert [one.attrib["class"] for one in plot.iter("rect")] == ["field"]
    assert [one.text for one in plot.iter("text")][:2] == ["limit +10 K", "limit −10 K"]


def test_no_line_is_drawn_through_what_was_struck_out():
    plot = drawn(check_chart(points(FIVE), unit="K"))
    assert [one.attrib["class"] for one in plot.iter("line")].count("axis") == 3


def test_the_result_stands_in_words():
    plot = drawn(check_chart(points(FIVE[:3]), unit="K"))
    assert plot.attrib["aria-label"] == (
        "Foil of TC-01. 1 Jan 2026 +1.2 K, passed; 2 Jan 2026 +0.9 K, passed; 3 Jan 2026 +9 K, struck out"
    )


def test_control_limits_are_named_at_their_ends():
    """Mean 1.06, limits 0.469 and 1.651 of the worked series, one decimal more than the checks."""
    series = ("1.2", ".9", "1.1", "1.0", "1.3", "1.0", ".8", "1.1", "1.2", "1.0", "1.1")
    plot = drawn(check_chart(points([(each, True, False) for each in series]), unit="K", low=D(-10), high=D(10)))
    words = [one.text for one in plot.iter("text")]
    assert words[:5] == ["limit +10 K", "control +1.65 K", "mean +1.06 K", "control +0.47 K", "limit −10 K"]
    heights = sorted(float(one.attrib["y"]) for one in list(plot.iter("text"))[:5])
    assert min(later - earlier for earlier, later in pairwise(heights)) >= 15


def test_the_certificates_uncertainty_warns_where_checks_are_few():
    chart = check_chart(points(FIVE[:2]), unit="K", expected=D("0.4"), standard_uncertainty=D("0.5"))
    words = [one.text for one in drawn(chart).iter("text")]
    assert words[:5] == ["3 u +1.90 K", "2 u +1.40 K", "certificate +0.40 K", "2 u −0.60 K", "3 u −1.10 K"]


@pytest.mark.parametrize("rows", [FIVE[:1], [("0", True, False)] * 3, [("99999999999.9", False, False)] * 2])
def test_one_point_equal_points_and_huge_ones_can_be_drawn(rows):
    plot = drawn(check_chart(points(rows), unit="K"))
    assert all(0 <= float(one.attrib["cy"]) <= 246 for one in plot.iter("circle"))


def test_nothing_is_drawn_without_points():
    assert check_plot(check_chart([], unit="K"), title="Foil") == ""


def test_a_hostile_title_stays_text():
    assert (
        drawn(check_chart(points(FIVE), unit="K"), title='"><script>').attrib["aria-label"].startswith('"><script>. ')
    )


@given(st.lists(st.floats(0, 240), min_size=1, max_size=9).map(sorted))
def test_labels_keep_their_order_and_their_distance(heights):
    placed = spread(heights)
    assert all(later - earlier >= 15 - 1e-9 for earlier, later in pairwise(placed))
