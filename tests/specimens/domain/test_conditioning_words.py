"""Durations, readings and sets as they are written."""

import math
from datetime import UTC, datetime
from zoneinfo import ZoneInfo

import pytest

from labsite.ledger.numbering import piece_number
from specimens.domain.atmospheres import ATMOSPHERES
from specimens.domain.conditioning_words import (
    duration_text,
    moment_text,
    out_of_band_text,
    reading_text,
    set_is_text,
    set_text,
    stretches_text,
)

ROOM = ATMOSPHERES["15-35/45-75"]


@pytest.mark.parametrize(
    ("seconds", "words"),
    [
        (0, "0 min"),
        (20, "20 s"),
        (59.9, "59 s"),
        (2400, "40 min"),
        (172800, "48 h"),
        (172799, "47 h 59 min"),
        (131100, "36 h 25 min"),
        (3900, "1 h 05 min"),
    ],
)
def test_durations_are_never_rounded_up(seconds, words):
    assert duration_text(seconds) == words


@pytest.mark.parametrize(("value", "words"), [(64.8, "64.8"), (60.04, "60.04"), (25.0, "25.0"), (25.0556, "25.056")])
def test_readings_show_what_tells_them_from_the_limit(value, words):
    assert reading_text(value) == words


def test_moments_are_written_in_the_laboratorys_zone():
    berlin, at = ZoneInfo("Europe/Berlin"), datetime(2025, 12, 31, 23, 30, tzinfo=UTC)
    assert moment_text(at, berlin) == "Thu 1 Jan 00:30"
    assert moment_text(at, berlin, datetime(2027, 1, 5, tzinfo=UTC)) == "Thu 1 Jan 2026 00:30"


@pytest.mark.parametrize(
    ("serials", "words"),
    [
        ([3], "26-0414-003"),
        ([3, 4], "26-0414-003 and -004"),
        ([3, 4, 5], "26-0414-003 to -005"),
        ([5, 3, 9], "26-0414-003, -005 and -009"),
        ([3, 5, 7, 9, 11], "26-0414-003 to -011, 5 of them"),
    ],
)
def test_sets_are_named_by_their_numbers(serials, words):
    assert set_text([piece_number("2604147", serial) for serial in serials]) == words


@pytest.mark.parametrize(
    ("temperature_c", "humidity", "words"),
    [
        (15.0, 75.0, ""),
        (14.99, 75.0, "14.99 °C, 15 to 35 °C are allowed"),
        (20.0, 75.1, "75.1 % RH, 45 to 75 % RH are allowed"),
        (math.nan, 50.0, "no temperature"),
    ],
)
def test_what_is_outside_the_band_is_said_with_its_limits(temperature_c, humidity, words):
    assert out_of_band_text(temperature_c, humidity, ROOM) == words


def test_an_atmosphere_without_humidity_asks_for_none():
    assert out_of_band_text(70.0, math.nan, ATMOSPHERES["oven 70"]) == ""


@pytest.mark.parametrize(
    ("count", "seconds", "words"),
    [
        (0, 0, "nothing was lost"),
        (1, 2400, "one stretch of 40 min did not count"),
        (2, 5700, "two stretches, 1 h 35 min together, did not count"),
    ],
)
def test_stretches_are_summed(count, seconds, words):
    assert stretches_text(count, seconds) == words


def test_a_set_has_its_verb_in_the_right_number():
    one, two = "2600180020", "2600180039"
    assert set_is_text([one]) == f"{set_text([one])} is"
    assert set_is_text([one, two]) == f"{set_text([one, two])} are"
