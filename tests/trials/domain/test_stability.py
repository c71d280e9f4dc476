"""Steadiness of the tip. Figures of the asked window and spread: IEC 60695-2-10 as the method states them."""

from decimal import Decimal

import pytest

from trials.domain.stability import Steadiness, TemperatureReading, reading_at, steadiness

D = Decimal


def state_at(at_s: str, *readings: tuple[str, str]) -> Steadiness:
    return steadiness(
        [TemperatureReading(D(t), D(c)) for t, c in readings],
        D(at_s),
        window_s=D(60),
        spread_limit_k=D(5),
        longest_gap_s=D(30),
    )


def test_a_minute_within_the_spread_is_steady() -> None:
    state = state_at("0", ("-60", "848.0"), ("-30", "853.0"), ("0", "850.0"))
    assert (state.steady, state.steady_s, state.spread_k, state.lack) == (True, D(60), D("5.0"), "nothing")


def test_spread_one_step_over_the_limit_breaks_the_stretch() -> None:
    state = state_at("0", ("-60", "848.0"), ("-30", "853.1"), ("0", "850.0"))
    assert (state.steady, state.steady_s, state.lack) == (False, D(30), "moved")
    assert state.sentence == "steady for 30 s of 60 s, 30 s more; 5.1 K within 60 s, 5 K allowed"


def test_what_lies_before_the_minute_does_not_matter() -> None:
    assert state_at("0", ("-70", "700"), ("-60", "850"), ("-30", "850"), ("0", "850")).steady is True


def test_a_drift_outside_the_window_does_not_count_against_it() -> None:
    state = state_at("0", ("-90", "846"), ("-60", "849"), ("-30", "850"), ("0", "851.5"))
    assert (state.steady, state.spread_k) == (True, D("2.5"))


def test_59_9_s_are_too_short() -> None:
    state = state_at("0", ("-59.9", "850"), ("-30", "850"), ("0", "850"))
    assert (state.steady, state.steady_s, state.lack) == (False, D("59.9"), "too short")
    assert state.sentence == "steady for 59.9 s of 60 s, 0.1 s more"


@pytest.mark.parametrize(("middle", "steady"), [("-30", True), ("-30.1", False), ("-29.9", False)])
def test_gap_of_30_s_is_allowed_and_more_is_not(middle: str, steady: bool) -> None:
    assert state_at("0", ("-60", "850"), (middle, "850"), ("0", "850")).steady is steady


def test_an_old_last_reading_proves_nothing() -> None:
    state = state_at("31", ("-60", "850"), ("-30", "850"), ("0", "850"))
    assert (state.steady, state.steady_s, state.spread_k, state.lack) == (False, D(0), None, "old reading")


def test_no_reading_is_unknown() -> None:
    assert state_at("0").lack == "no reading"
    assert state_at("0", ("1", "850")).lack == "no reading"


def test_corrections_are_added_before_the_spread_is_taken() -> None:
    readings = [TemperatureReading(D(t), D(850), D(k)) for t, k in (("-60", "-3"), ("-30", "0"), ("0", "2.5"))]
    state = steadiness(readings, D(0), window_s=D(60), spread_limit_k=D(5), longest_gap_s=D(30))
    assert (state.steady, state.lack) == (False, "moved")


def test_order_of_readings_does_not_matter() -> None:
    readings = (("-60", "848.0"), ("-30", "853.0"), ("0", "850.0"))
    assert state_at("0", *readings) == state_at("0", *reversed(readings))


def test_reading_at_is_the_last_one_that_is_not_too_old() -> None:
    readings = [TemperatureReading(D(t), D(c)) for t, c in (("-20", "849"), ("-2", "850"), ("1", "860"))]
    assert reading_at(readings, D(0), oldest_s=D(30)) == TemperatureReading(D(-2), D(850))
    assert reading_at(readings[:1], D(11), oldest_s=D(30)) is None
    assert reading_at(readings[:1], D(10), oldest_s=D(30)) == readings[0]
