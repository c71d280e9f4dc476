"""Hours in band, by hand: between two readings in band that are close enough. The rule is the laboratory's default."""

from datetime import UTC, datetime, timedelta
from decimal import Decimal
from itertools import pairwise
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from specimens.domain.atmospheres import ATMOSPHERES, Atmosphere
from specimens.domain.climate_arrays import FloatArray, TimeArray
from specimens.domain.conditioning import InBand, hours_in_band, longest_gap, use_by

CLASS_2 = ATMOSPHERES["23/50 class 2"]
OVEN = ATMOSPHERES["oven 70"]
START = datetime(2026, 11, 17, 8, tzinfo=UTC)
NAN = float("nan")


def times(*minutes: float) -> TimeArray:
    micros = [round(minute * 60_000_000) for minute in minutes]
    return np.datetime64("2026-11-17T08:00", "us") + np.array(micros, dtype="timedelta64[us]")


def at(minute: float) -> datetime:
    return START + timedelta(minutes=minute)


def counted(
    stamps: TimeArray,
    temperature: list[float],
    humidity: list[float] | None = None,
    *,
    window: tuple[float, float] | None = None,
    longest: float = 30,
    atmosphere: str = "23/50 class 2",
) -> InBand:
    wet = [50.0] * len(temperature) if humidity is None else humidity
    begin, end = window or (0, 120)
    return hours_in_band(
        stamps,
        np.array(temperature),
        np.array(wet),
        atmosphere=ATMOSPHERES[atmosphere],
        from_at=at(begin),
        until_at=at(end),
        longest_gap=timedelta(minutes=longest),
    )


def kinds(result: InBand) -> list[tuple[float, float, str]]:
    return [
        ((s.from_at - START).total_seconds() / 60, (s.until_at - START).total_seconds() / 60, s.kind)
        for s in result.not_counted
    ]


def test_excursion_of_two_readings() -> None:
    """The record, its limits 21..25 and the other rules' results come from a worked check of common practice:
    hold-forward counts 6000 s of 7200 s, linear interpolation 5800 s. Ours leaves out the pairs 40-50, 50-60 and
    60-70 min, 1800 s, because each has a reading out of band: 5400 s count."""
    values = [23.0, 23.2, 23.4, 24.0, 25.0, 25.6, 25.2, 24.6, 24.0, 23.5, 23.2, 23.0, 22.9]
    result = counted(times(*range(0, 130, 10)), values)
    assert (result.counted_s, result.not_counted_s) == (5400.0, 1800.0)
    stretch = result.not_counted[0]
    assert kinds(result) == [(40, 70, "temperature high")]
    assert (stretch.furthest, stretch.furthest_at) == (25.6, at(50))


def test_limits_belong_to_the_band() -> None:
    result = counted(times(0, 10, 20), [21.0, 25.0, 23.0], [40.0, 60.0, 50.0], window=(0, 20))
    assert result.counted_s == 1200.0
    outside = counted(times(0, 10, 20), [20.99, 23.0, 23.0], [50.0, 50.0, 60.01], window=(0, 20))
    assert kinds(outside) == [(0, 10, "temperature low"), (10, 20, "humidity high")]


def test_a_figure_that_is_the_limit_in_decimals_counts() -> None:
    converted = (71.6 - 32) * 5 / 9  # 71.6 °F is exactly 22 °C
    assert converted < 22.0  # the binary hair that must not matter
    assert counted(times(0, 10), [converted, 22.0], window=(0, 10), atmosphere="23/50 class 1").counted_s == 600.0
    assert counted(times(0, 10), [21.999, 22.0], window=(0, 10), atmosphere="23/50 class 1").counted_s == 0.0


def test_time_before_a_gap_counts_and_the_gap_does_not() -> None:
    result = counted(times(0, 5, 10, 45, 50), [23.0] * 5, window=(0, 50), longest=15)
    assert (result.counted_s, kinds(result)) == (900.0, [(10, 45, "gap")])
    just = counted(times(0, 15), [23.0] * 2, window=(0, 15), longest=15)
    assert just.counted_s == 900.0


def test_faults_and_time_without_record() -> None:
    result = counted(times(10, 20, 30, 40), [23.0, NAN, 23.0, 23.0], window=(0, 60))
    assert kinds(result) == [(0, 10, "no record"), (10, 30, "fault"), (40, 60, "no record")]
    assert result.counted_s == 600.0
    assert (result.not_counted[1].furthest, result.not_counted[1].furthest_at) == (None, None)


def test_an_oven_needs_no_humidity() -> None:
    result = counted(times(0, 10), [70.0, 71.9], [NAN, NAN], window=(0, 10), atmosphere="oven 70")
    assert result.counted_s == 600.0
    assert kinds(counted(times(0, 10), [23.0, 23.0], [NAN, NAN], window=(0, 10))) == [(0, 10, "fault")]


def test_the_window_cuts_pairs_and_nothing_counts_outside_the_record() -> None:
    stamps = times(*range(0, 130, 10))
    assert counted(stamps, [23.0] * 13, window=(5, 27)).counted_s == 22 * 60
    assert counted(stamps, [23.0] * 13, window=(3, 4)).counted_s == 60.0
    assert kinds(counted(stamps, [23.0] * 13, window=(200, 260))) == [(200, 260, "no record")]
    assert kinds(counted(stamps, [23.0] * 13, window=(-60, -30))) == [(-60, -30, "no record")]
    assert kinds(counted(times(), [], window=(0, 10))) == [(0, 10, "no record")]
    assert kinds(counted(times(5), [23.0], window=(0, 10))) == [(0, 5, "no record"), (5, 10, "no record")]


def test_two_troubles_in_turn_are_two_stretches() -> None:
    result = counted(times(0, 10, 20, 30, 40), [23.0, 20.0, 19.5, 23.0, 23.0], [50, 50, 50, 65, 50], window=(0, 40))
    assert kinds(result) == [(0, 30, "temperature low"), (30, 40, "humidity high")]
    assert [(stretch.furthest, stretch.furthest_at) for stretch in result.not_counted] == [
        (19.5, at(20)),
        (65.0, at(30)),
    ]


def test_ready_when_the_counted_time_reaches_what_is_needed() -> None:
    result = counted(times(0, 30, 60, 120, 150, 180), [23.0] * 6, window=(0, 180))
    assert (result.ready_at(1), result.ready_at(Decimal("1.5"))) == (at(60), at(150))
    assert (result.ready_at(2), result.ready_at(Decimal("2.001"))) == (at(180), None)
    assert result.ready_at(0) == at(0)


def test_48_hours_across_a_clock_change_are_48_hours() -> None:
    berlin = ZoneInfo("Europe/Berlin")
    begin = datetime(2026, 10, 24, 12, tzinfo=berlin)
    stamps = np.datetime64("2026-10-24T10:00", "us") + np.arange(49 * 12) * np.timedelta64(5 * 60 * 10**6, "us")
    result = hours_in_band(
        stamps,
        np.full(stamps.shape, 23.0),
        np.full(stamps.shape, 50.0),
        atmosphere=CLASS_2,
        from_at=begin,
        until_at=datetime(2026, 10, 26, 11, tzinfo=berlin),
        longest_gap=timedelta(minutes=15),
    )
    # noon on Saturday to 11:00 on Monday: 47 h on the wall, 48 h in truth
    assert result.counted_s == 48 * 3600
    ready = result.ready_at(48)
    assert ready is not None
    assert ready.astimezone(berlin).isoformat() == "2026-10-26T11:00:00+01:00"


def test_longest_gap_is_five_minutes_or_three_intervals() -> None:
    found = [longest_gap(timedelta(seconds=seconds)).total_seconds() for seconds in (1, 60, 100, 101, 600)]
    assert found == [300, 300, 300, 303, 1800]


def test_use_by_counts_instants() -> None:
    out = datetime(2026, 10, 25, 1, tzinfo=ZoneInfo("Europe/Berlin"))
    assert use_by(out, 4).astimezone(ZoneInfo("Europe/Berlin")).isoformat() == "2026-10-25T04:00:00+01:00"
    assert use_by(out, Decimal("0.5")) == datetime(2026, 10, 24, 23, 30, tzinfo=UTC)


def test_moments_without_a_zone_and_broken_series_are_refused() -> None:
    with pytest.raises(ValueError, match="needs its zone"):
        use_by(datetime(2026, 11, 17, 8), 4)  # noqa: DTZ001  # the point of the test
    with pytest.raises(ValueError, match="rise"):
        counted(times(0, 0), [23.0, 23.0])
    with pytest.raises(ValueError, match="ends before"):
        counted(times(0, 1), [23.0, 23.0], window=(10, 0))
    with pytest.raises(ValueError, match="differ in number"):
        counted(times(0, 1), [23.0, 23.0], [50.0])


VALUES = st.one_of(st.just(NAN), st.floats(15, 31))
RECORDS = st.lists(st.tuples(st.integers(1, 90), VALUES, st.one_of(st.just(NAN), st.floats(30, 70))), max_size=40)


def columns(record: list[tuple[int, float, float]]) -> tuple[TimeArray, FloatArray, FloatArray]:
    steps = np.cumsum([step for step, _, _ in record]) if record else np.empty(0)
    return times(*steps), np.array([t for _, t, _ in record], float), np.array([h for _, _, h in record], float)


@given(RECORDS, st.integers(-50, 3000), st.integers(0, 3000), st.sampled_from([CLASS_2, OVEN]))
def test_counted_and_not_counted_are_exactly_the_window(
    record: list[tuple[int, float, float]], begin: int, length: int, atmosphere: Atmosphere
) -> None:
    stamps, temperature, humidity = columns(record)
    result = hours_in_band(
        stamps,
        temperature,
        humidity,
        atmosphere=atmosphere,
        from_at=at(begin),
        until_at=at(begin + length),
        longest_gap=timedelta(minutes=45),
    )
    pieces = sorted(
        [(span.from_at, span.until_at) for span in result.counted]
        + [(stretch.from_at, stretch.until_at) for stretch in result.not_counted]
    )
    assert result.counted_s + result.not_counted_s == length * 60
    assert all(earlier[1] == later[0] for earlier, later in pairwise(pieces))
    assert all(piece[0] < piece[1] for piece in pieces)
    for needed in (1, 5):
        ready = result.ready_at(needed)
        assert (ready is None) == (result.counted_s < needed * 3600)


@given(RECORDS, st.integers(0, 3000), st.integers(0, 2000), st.integers(0, 2000))
def test_a_window_counts_what_its_two_parts_count(
    record: list[tuple[int, float, float]], begin: int, first: int, second: int
) -> None:
    stamps, temperature, humidity = columns(record)

    def part(low: int, high: int) -> float:
        return hours_in_band(
            stamps,
            temperature,
            humidity,
            atmosphere=CLASS_2,
            from_at=at(low),
            until_at=at(high),
            longest_gap=timedelta(minutes=45),
        ).counted_s

    middle, end = begin + first, begin + first + second
    assert part(begin, end) == part(begin, middle) + part(middle, end)
