"""When a planned check is due: counted by the shared rule, the due day to its end in the laboratory's zone."""

from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from calibration.domain.check_due import check_due

BERLIN = ZoneInfo("Europe/Berlin")
PLANNED = datetime(2026, 2, 1, 8, 0, tzinfo=UTC)
# 3 March and 7 days is 10 March; that day ends in Berlin at 23:00 UTC.
LAST = datetime(2026, 3, 3, 8, 0, tzinfo=UTC)
END = datetime(2026, 3, 10, 23, 0, tzinfo=UTC)


@pytest.mark.parametrize(
    ("at", "overdue", "soon", "clause"),
    [
        (END - timedelta(days=4, microseconds=1), False, False, "due on 10 Mar 2026"),
        (END - timedelta(days=4), False, True, "due on 10 Mar 2026"),
        (END - timedelta(days=1, microseconds=1), False, True, "due tomorrow"),
        (END - timedelta(days=1), False, True, "due today"),
        (END - timedelta(microseconds=1), False, True, "due today"),
        (END, True, False, "overdue since 11 Mar 2026"),
    ],
)
def test_the_due_day_counts_to_its_end_in_the_laboratorys_zone(at, overdue, soon, clause):
    found = check_due(7, LAST, PLANNED, at, BERLIN)
    assert (found.due_on, found.overdue, found.soon, found.clause) == (date(2026, 3, 10), overdue, soon, clause)


def test_the_day_of_the_last_check_is_the_laboratorys_too():
    """23:30 UTC on 2 March is 3 March in Berlin."""
    late = datetime(2026, 3, 2, 23, 30, tzinfo=UTC)
    assert check_due(7, late, PLANNED, LAST, BERLIN).due_on == date(2026, 3, 10)


def test_before_the_first_check_it_counts_from_the_plan():
    assert check_due(7, None, PLANNED, PLANNED, BERLIN).due_on == date(2026, 2, 8)


def test_before_use_it_has_no_day():
    found = check_due(None, None, PLANNED, END, BERLIN)
    assert (found.due_on, found.overdue, found.soon) == (None, False, False)
