"""The forecast drawn: limits, what was measured, what lies ahead; in words for who cannot see it."""

import re
from datetime import date
from decimal import Decimal
from xml.etree import ElementTree

import pytest

from calibration.domain.drift_forecast import Forecast, forecasts
from calibration.domain.interval_review import Place, Visit
from calibration.rendering.drift_forecast import forecast_plot

D = Decimal


def forecast(*errors: str, permitted: str = "2.5", left: str | None = None) -> Forecast:
    visits = []
    for place, error in enumerate(errors):
        last = left if left and place == len(errors) - 1 else error
        visits.append(Visit(date(2020 + place, 3, 1), (Place(D("850.0"), "°C", D(error), D(last), D(permitted)),)))
    return forecasts(visits)[0]


def test_the_drawing_says_its_result_in_words():
    label = re.search('aria-label="([^"]*)"', forecast_plot(forecast("0.1", "0.5", "0.8", "1.3", "1.6"), code="TC-1"))
    assert label is not None
    assert label[1] == (
        "Error of TC-1 at 850.0 °C between limits of ±2.5 K. 1 Mar 2020: as found +0.1 K; 1 Mar 2021: as found +0.5 K; "
        "1 Mar 2022: as found +0.8 K; 1 Mar 2023: as found +1.3 K; 1 Mar 2024: as found +1.6 K. "
        "The line moves by +0.38 K a year; from 30 Oct 2025 on it may be out."
    )


def test_limits_are_dashed_history_solid_and_the_future_dotted():
    drawn = forecast_plot(forecast("0.1", "0.5", "0.8", left="0.0"), code="TC-1")
    assert drawn.count('class="ring"') == 3
    assert drawn.count('class="dot"') == 1
    assert drawn.count('<line class="knotline" ') == 2
    assert drawn.count('<line class="knotline thin" ') > 2
    assert drawn.count('<line class="limit" x1="0.00%"') == 2
    assert ">+2.5 K<" in drawn


def test_without_a_limit_reached_none_is_marked():
    drawn = forecast_plot(forecast("0.2", "0.2", "0.2"), code="TC-1")
    assert "it may be out" not in drawn
    assert "no limit is foretold to be reached" in drawn


def test_a_scatter_too_wide_is_written_in_the_drawing():
    drawn = forecast_plot(forecast("-2.0", "2.0", "-2.0", "2.0"), code="TC-1")
    assert ">too scattered for a forecast<" in drawn
    assert "the errors scatter too much for a forecast." in drawn
    assert "it may be out" not in drawn


@pytest.mark.parametrize(
    "errors", [("0.1", "0.5", "0.9"), ("-9", "9", "-9"), ("1E+6", "2E+6", "4E+6"), ("0", "0", "0")]
)
@pytest.mark.parametrize("permitted", ["0.0001", "2.5", "1000000"])
def test_every_mark_stays_inside_the_drawing(errors, permitted):
    root = ElementTree.fromstring(forecast_plot(forecast(*errors, permitted=permitted), code="<&>"))  # noqa: S314  (our own)
    for mark in root:
        for name, value in mark.attrib.items():
            if name in ("x", "x1", "x2", "cx"):
                assert 0 <= float(value.rstrip("%")) <= 100
            if name in ("y", "y1", "y2", "cy"):
                assert 0 <= float(value) <= 226
