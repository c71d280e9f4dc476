"""Which reminders a day reaches."""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from calibration.domain.reminders import days_left_in_words, reminders_reached

DUE = date(2026, 12, 1)


@pytest.mark.parametrize(
    ("before", "reached"),
    [
        (61, ()), (60, (60,)), (59, (60,)), (31, (60,)), (30, (60, 30)), (8, (60, 30)), (7, (60, 30, 7)),
        (0, (60, 30, 7)), (-1, (60, 30, 7)), (-400, (60, 30, 7)),
    ],
)  # fmt: skip
def test_a_distance_is_reached_on_its_day_and_stays_reached(before: int, reached: tuple[int, ...]):
    assert reminders_reached(DUE, DUE - timedelta(days=before)) == reached


def test_what_was_told_is_not_told_again():
    today = DUE - timedelta(days=20)
    assert reminders_reached(DUE, today, {60}) == (30,)
    assert reminders_reached(DUE, today, {60, 30}) == ()


@given(st.sets(st.integers(-100, 100), max_size=40))
def test_however_seldom_it_runs_each_distance_is_told_once(days_run: set[int]):
    told: list[int] = []
    for before in sorted(days_run, reverse=True):
        told += reminders_reached(DUE, DUE - timedelta(days=before), told)
    assert told == [distance for distance in (60, 30, 7) if any(before <= distance for before in days_run)]


@pytest.mark.parametrize(
    ("before", "words"),
    [
        (60, "in 60 days"),
        (2, "in 2 days"),
        (1, "tomorrow"),
        (0, "today, until the end of the day"),
        (-1, "overdue since yesterday"),
        (-9, "overdue for 9 days"),
    ],
)
def test_how_far_off_a_due_day_is(before: int, words: str):
    assert days_left_in_words(DUE, DUE - timedelta(days=before)) == words
