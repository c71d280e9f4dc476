"""Due days and the instant they end, against calendars outside this project."""

from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from dateutil.relativedelta import relativedelta  # type: ignore[import-untyped]  # ships no types
from hypothesis import given
from hypothesis import strategies as st

from calibration.domain.due import DAYS, MONTHS, day_at, due_on, usable_until
from tests.calibration.worked import worked_rows

BERLIN = ZoneInfo("Europe/Berlin")


@pytest.mark.parametrize(
    "row", worked_rows("due_dates.csv"), ids=lambda row: f"{row['calibrated_on']}+{row['interval_months']}"
)
def test_months_end_on_the_last_day_counted_from_the_calibration(row: dict[str, str]):
    # Worked examples by hand from the Gregorian calendar; the rule is common practice.
    found = due_on(date.fromisoformat(row["calibrated_on"]), int(row["interval_months"]), MONTHS)
    assert found == date.fromisoformat(row["due"])


@pytest.mark.parametrize("row", worked_rows("month_ends.csv"), ids=lambda row: row["start"])
def test_month_ends_agree_with_the_reference_library_and_not_with_overflowing_months(row: dict[str, str]):
    # Columns made with python-dateutil and with ECMAScript's Date.setMonth, which overflows into the next month.
    found = due_on(date.fromisoformat(row["start"]), int(row["add_months"]), MONTHS)
    assert found == date.fromisoformat(row["python_relativedelta"])
    assert found != date.fromisoformat(row["javascript_setMonth"])


@pytest.mark.parametrize(
    ("calibrated_on", "months", "due"),
    [
        # Common practice, “clipped”: computed with python-dateutil's relativedelta and checked on the calendar.
        (date(2025, 1, 31), 1, date(2025, 2, 28)),
        (date(2024, 1, 31), 1, date(2024, 2, 29)),
        (date(2024, 2, 29), 12, date(2025, 2, 28)),
        (date(2024, 2, 29), 48, date(2028, 2, 29)),
        (date(2025, 8, 31), 6, date(2026, 2, 28)),
        (date(2025, 11, 30), 3, date(2026, 2, 28)),
        (date(2025, 6, 15), 12, date(2026, 6, 15)),
        # A century that is no leap year, and one that is (Gregorian calendar).
        (date(2096, 2, 29), 48, date(2100, 2, 28)),
        (date(1996, 2, 29), 48, date(2000, 2, 29)),
        (date(2025, 12, 31), 2, date(2026, 2, 28)),
        (date(2025, 1, 15), 11, date(2025, 12, 15)),
        (date(2025, 1, 15), 12, date(2026, 1, 15)),
    ],
)
def test_the_clipped_month_ends_of_common_practice(calibrated_on: date, months: int, due: date):
    assert due_on(calibrated_on, months, MONTHS) == due
    assert calibrated_on + relativedelta(months=months) == due


@given(st.dates(date(1990, 1, 1), date(2100, 1, 1)), st.integers(1, 120))
def test_months_agree_with_dateutil(start: date, months: int):
    assert due_on(start, months, MONTHS) == start + relativedelta(months=months)


def test_days_are_counted_one_by_one():
    assert due_on(date(2028, 2, 28), 2, DAYS) == date(2028, 3, 1)
    assert due_on(date(2026, 1, 31), 365, DAYS) == date(2027, 1, 31)


def test_each_due_day_counts_from_the_calibration_not_from_the_clipped_day_before():
    assert [due_on(date(2026, 1, 31), months, MONTHS) for months in (1, 2, 3)] == [
        date(2026, 2, 28),
        date(2026, 3, 31),
        date(2026, 4, 30),
    ]


@pytest.mark.parametrize(
    ("interval", "unit", "words"),
    [
        (0, MONTHS, "an interval of 0 months leads nowhere"),
        (-3, DAYS, "an interval of -3 days leads nowhere"),
        (2, "weeks", "“weeks” is neither months nor days"),
        (12 * 8000, MONTHS, "96000 months after 2026-01-31 is beyond the calendar"),
        (10**9, DAYS, "1000000000 days after 2026-01-31 is beyond the calendar"),
    ],
)
def test_an_interval_that_cannot_be_meant_is_refused_in_words(interval: int, unit: str, words: str):
    with pytest.raises(ValueError) as refusal:  # noqa: PT011  (the words are compared below)
        due_on(date(2026, 1, 31), interval, unit)
    assert str(refusal.value) == words


@pytest.mark.parametrize("row", worked_rows("due_today.csv"), ids=lambda row: f"{row['lab_zone']} {row['now_utc']}")
def test_the_due_day_is_usable_to_its_end_in_the_laboratorys_zone(row: dict[str, str]):
    # Moments worked out by hand from the zones' published offsets (IANA time zone database).
    at = datetime.fromisoformat(row["now_utc"])
    in_time = at < usable_until(date.fromisoformat(row["due"]), ZoneInfo(row["lab_zone"]))
    assert in_time == {"due today, usable": True, "overdue": False}[row["state"]]


@pytest.mark.parametrize(
    ("zone", "due", "end"),
    [
        # Berlin, EU summer-time rules: 29 Mar 2026 has 23 h, 25 Oct 2026 has 25 h.
        ("Europe/Berlin", date(2026, 3, 28), "2026-03-28T23:00:00+00:00"),
        ("Europe/Berlin", date(2026, 3, 29), "2026-03-29T22:00:00+00:00"),
        ("Europe/Berlin", date(2026, 10, 24), "2026-10-24T22:00:00+00:00"),
        ("Europe/Berlin", date(2026, 10, 25), "2026-10-25T23:00:00+00:00"),
        # Auckland, IANA: summer time ends on 5 Apr 2026 at 03:00 (25 h), begins on 27 Sep 2026 at 02:00 (23 h).
        ("Pacific/Auckland", date(2026, 4, 4), "2026-04-04T11:00:00+00:00"),
        ("Pacific/Auckland", date(2026, 4, 5), "2026-04-05T12:00:00+00:00"),
        ("Pacific/Auckland", date(2026, 9, 26), "2026-09-26T12:00:00+00:00"),
        ("Pacific/Auckland", date(2026, 9, 27), "2026-09-27T11:00:00+00:00"),
        # Los Angeles, US rules: 8 Mar 2026 has 23 h, 1 Nov 2026 has 25 h.
        ("America/Los_Angeles", date(2026, 3, 7), "2026-03-08T08:00:00+00:00"),
        ("America/Los_Angeles", date(2026, 3, 8), "2026-03-09T07:00:00+00:00"),
        ("America/Los_Angeles", date(2026, 10, 31), "2026-11-01T07:00:00+00:00"),
        ("America/Los_Angeles", date(2026, 11, 1), "2026-11-02T08:00:00+00:00"),
        # A leap day is a due day like any other.
        ("Pacific/Auckland", date(2028, 2, 29), "2028-02-29T11:00:00+00:00"),
        # Beirut, IANA: clocks go forward at midnight, so 29 Mar 2026 begins at 01:00 and the day before ends then.
        ("Asia/Beirut", date(2026, 3, 28), "2026-03-28T22:00:00+00:00"),
        # Havana, IANA: at 01:00 on 1 Nov 2026 back to 00:00; that midnight comes twice, the first one ends the day.
        ("America/Havana", date(2026, 10, 31), "2026-11-01T04:00:00+00:00"),
        # Apia, IANA: 30 Dec 2011 was left out; 29 Dec ended where 31 Dec began.
        ("Pacific/Apia", date(2011, 12, 29), "2011-12-30T10:00:00+00:00"),
    ],
)
def test_the_day_ends_where_the_next_begins_also_when_clocks_change(zone: str, due: date, end: str):
    found = usable_until(due, ZoneInfo(zone))
    assert found == datetime.fromisoformat(end)
    assert found.tzinfo is UTC
    before = (found - timedelta(microseconds=1)).astimezone(ZoneInfo(zone)).date()
    assert before == due


@pytest.mark.parametrize("zone", ["Pacific/Auckland", "America/Los_Angeles", "Europe/Berlin"])
@pytest.mark.parametrize("servers", ["UTC", "Pacific/Auckland", "America/Los_Angeles"])
def test_the_answer_does_not_hang_on_the_servers_clock(zone: str, servers: str):
    """The same instant, told in any zone, is before or after the end of the due day alike."""
    end = usable_until(date(2026, 11, 25), ZoneInfo(zone))
    last = (end - timedelta(seconds=1)).astimezone(ZoneInfo(servers))
    assert (last < end, (last + timedelta(seconds=1)) < end) == (True, False)
    assert [day_at(moment, ZoneInfo(zone)) for moment in (last, last + timedelta(seconds=1))] == [
        date(2026, 11, 25),
        date(2026, 11, 26),
    ]


def test_the_day_at_the_laboratory_is_not_the_servers():
    assert day_at(datetime(2026, 3, 9, 23, 30, tzinfo=UTC), BERLIN) == date(2026, 3, 10)
    assert day_at(datetime(2026, 3, 9, 22, 59, tzinfo=UTC), BERLIN) == date(2026, 3, 9)
