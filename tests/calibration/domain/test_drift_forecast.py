"""When a drift reaches its limit: the worked table, adjustments taken out, and what cannot be told."""

from datetime import date, timedelta
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from calibration.domain.drift_forecast import forecasts, months_within
from calibration.domain.interval_review import Place, Visit
from calibration.domain.straight_line import fitted

D = Decimal
ERRORS = ("0.1", "0.5", "0.8", "1.3", "1.6")


def place(found: str | None, left: str | None = None, permitted: str | None = "2.5", reference: str = "850") -> Place:
    def figure(text):
        return None if text is None else D(text)

    return Place(D(reference), "°C", figure(found), figure(left or found), figure(permitted))


def yearly(*places: Place | None) -> list[Visit]:
    return [Visit(date(2020 + n, 3, 1), () if one is None else (one,)) for n, one in enumerate(places)]


def test_the_worked_table_of_five_years():
    # Months 0 to 48, limit 2.5: the upper end of the 95 % interval for one next point (numpy.polyfit, scipy.stats.t)
    # first exceeds the limit at month 68, so 67 is the last month within, 19 after the newest calibration.
    line = fitted([(D(12 * n), D(error)) for n, error in enumerate(ERRORS)])
    assert months_within(line, D("2.5"), since=D(48)) == 19


def test_the_same_by_calendar_days():
    found = forecasts(yearly(*map(place, ERRORS)))[0]
    assert (found.months, found.too_wide, found.count) == (19, False, 5)
    assert (found.start, found.offset, found.reference, found.permitted) == (date(2020, 3, 1), D(0), D(850), D("2.5"))


def test_a_drift_downwards_meets_the_lower_limit_as_soon():
    found = forecasts(yearly(*(place("-" + error) for error in ERRORS)))[0]
    assert found.months == 19


def test_an_adjustment_is_taken_out_of_the_line_and_back_into_the_forecast():
    """Adjusted to nothing in 2022: the drift goes on at the same slope from there, and has longer to its limit."""
    after = [place("0.1"), place("0.5"), place("0.8", left="0.0"), place("0.5"), place("0.8")]
    found = forecasts(yearly(*after))[0]
    plain = forecasts(yearly(*map(place, ERRORS)))[0]
    assert found.line == plain.line
    assert found.offset == D("-0.8")
    assert found.months is not None
    assert plain.months is not None
    assert found.months > plain.months


def test_an_adjustment_at_the_newest_calibration_counts_too():
    found = forecasts(yearly(*map(place, ERRORS[:-1]), place("1.6", left="0.0")))[0]
    assert found.offset == D("-1.6")


def test_a_calibration_that_does_not_say_how_it_came_in_begins_anew():
    unknown = Place(D(850), "°C", None, D("0.0"), D("2.5"))
    assert forecasts(yearly(place("0.1"), place("0.5"), unknown, place("0.4"))) == ()
    found = forecasts(yearly(place("9.0"), place("9.5"), unknown, place("0.4"), place("0.9")))[0]
    assert (found.count, found.start) == (3, date(2022, 3, 1))


def test_a_calibration_that_does_not_say_how_it_left_ends_the_series():
    silent = Place(D(850), "°C", D("1.3"), None, D("2.5"))
    assert forecasts(yearly(*map(place, ERRORS[:4]), silent)) == ()
    found = forecasts(yearly(place("0.1"), silent, place("0.2"), place("0.4"), place("0.9")))[0]
    assert (found.count, found.start, found.newest) == (3, date(2022, 3, 1), date(2024, 3, 1))


def test_the_band_lies_about_the_line_and_widens_ahead():
    found = forecasts(yearly(*map(place, ERRORS)))[0]
    low, middle, high = found.band_at(date(2024, 3, 1))
    later = found.band_at(date(2026, 3, 1))
    assert round(middle, 2) == D("1.62")  # 0.100 + 48 x 0.031667
    assert high - middle == middle - low
    assert later[2] - later[1] > high - middle


@pytest.mark.parametrize(
    "visits",
    [
        [],
        yearly(place("0.1"), place("0.2")),
        yearly(place("0.1"), place("0.2"), place("0.3", permitted=None)),
        yearly(place("0.1"), place("0.2"), place("0.3", permitted="0")),
        yearly(place("0.1"), None, place("0.3")),
        yearly(place("0.1", reference="400"), place("0.2", reference="400"), place("0.3")),
        [Visit(date(2020, 3, 1), (place("0.1"),))] * 3,  # three on one day tell no drift
    ],
)
def test_too_little_gives_no_forecast(visits: list[Visit]):
    assert forecasts(visits) == ()


def test_a_scatter_wider_than_the_limit_is_said_and_forecasts_nothing():
    found = forecasts(yearly(place("-2.0"), place("2.0"), place("-2.0"), place("2.0")))[0]
    assert (found.months, found.too_wide) == (None, True)


def test_no_drift_reaches_no_limit():
    found = forecasts(yearly(*[place("0.3")] * 4))[0]
    assert (found.months, found.too_wide) == (None, False)


def test_references_within_one_percent_are_one_place():
    found = forecasts(
        yearly(place("0.1", reference="846"), place("0.2", reference="850"), place("0.3", reference="854"))
    )
    assert [one.count for one in found] == [3]


def test_each_place_of_the_newest_calibration_has_its_own_forecast():
    both = [
        Visit(date(2020 + n, 3, 1), (place(error, reference="850"), place("0.2", reference="960")))
        for n, error in enumerate(ERRORS)
    ]
    assert [(one.reference, one.months) for one in forecasts(both)] == [(D(850), 19), (D(960), None)]


@given(st.lists(st.decimals(-2, 2, places=1), min_size=3, max_size=6), st.decimals("0.1", 3, places=1))
def test_a_wider_limit_is_never_reached_sooner(errors, limit):
    line = fitted([(D(12 * n), error) for n, error in enumerate(errors)])
    since = D(12 * (len(errors) - 1))
    near, far = (months_within(line, one, since=since) for one in (limit, limit + 1))
    assert far is None or (near is not None and near <= far)


@given(st.integers(0, 60), st.decimals("0.01", "0.2", places=2))
def test_a_line_without_scatter_is_within_until_it_meets_the_limit(since, slope):
    line = fitted([(D(n), slope * n) for n in range(3)])
    months = months_within(line, slope * 70, since=D(since))
    assert months == 70 - since


def test_days_are_counted_in_mean_months():
    start = date(2020, 1, 1)
    visits = [
        Visit(start + timedelta(days=days), (place(error),)) for days, error in ((0, "0"), (100, "0.5"), (200, "1"))
    ]
    assert round(forecasts(visits)[0].line.slope, 6) == round(D("0.5") / (100 / D("30.436875")), 6)
