"""`manage.py due_date`: one JSON answer, or one sentence and status 2; no database."""

import json
import subprocess
import sys
from io import StringIO
from pathlib import Path

import pytest
from django.core.management import CommandError, call_command

ROOT = Path(__file__).resolve().parents[3]
NO_DAY = "is no day; write it as year-month-day, for example 2024-02-29."


def asked(*arguments: str) -> dict[str, str]:
    out = StringIO()
    call_command("due_date", *arguments, stdout=out)
    answer: dict[str, str] = json.loads(out.getvalue())
    return answer


def test_a_leap_day_and_twelve_months():
    # Worked example of the rule “clipped to the end of the month”; python-dateutil's relativedelta gives the same.
    assert asked("2024-02-29", "--months", "12") == {
        "calibrated_on": "2024-02-29",
        "interval": "12 months",
        "due_on": "2025-02-28",
    }


def test_days_are_another_field_than_months():
    assert asked("2024-02-29", "--days", "365")["due_on"] == "2025-02-28"
    assert asked("2023-03-01", "--days", "365")["due_on"] == "2024-02-29"


def test_the_end_of_the_due_day_in_a_zone():
    # Los Angeles: daylight saving begins on 9 Mar 2025 (US rules, IANA), so 8 Mar ends at 08:00 UTC and 9 Mar at 07:00.
    ends = [
        asked(day, "--months", "12", "--zone", "America/Los_Angeles")["usable_before"]
        for day in ("2024-03-08", "2024-03-09")
    ]
    assert ends == ["2025-03-09T08:00:00+00:00", "2025-03-10T07:00:00+00:00"]


@pytest.mark.parametrize(
    ("arguments", "sentence"),
    [
        (("29.2.2024", "--months", "12"), f"“29.2.2024” {NO_DAY}"),
        (("2023-02-29", "--months", "12"), f"“2023-02-29” {NO_DAY}"),
        (("2024-W09-4", "--months", "12"), f"“2024-W09-4” {NO_DAY}"),
        (("2024-02-29", "--months", "0"), "There is no due day: an interval of 0 months leads nowhere."),
        (("2024-02-29", "--days=-3"), "There is no due day: an interval of -3 days leads nowhere."),
        (("2024-02-29", "--months", "1.5"), "“1.5” is no interval; write a whole number like 12."),
        (("2024-02-29", "--months", "²"), "“²” is no interval; write a whole number like 12."),
        (("2024-02-29", "--months", "-"), "“-” is no interval; write a whole number like 12."),
        (("2024-02-29", "--months", "9" * 5000), f"“{'9' * 5000}” is no interval; write a whole number like 12."),
        (
            ("2024-02-29", "--days", "999999999"),
            "There is no due day: 999999999 days after 2024-02-29 is beyond the calendar.",
        ),
        (
            ("2024-02-29", "--months", "12", "--zone", "../etc"),
            "“../etc” is not a time zone; write one like Europe/Berlin.",
        ),
        (
            ("9999-12-30", "--days", "1", "--zone", "Europe/Berlin"),
            "9999-12-31 is the calendar's last day; its end cannot be told.",
        ),
    ],
)  # fmt: skip
def test_what_has_no_answer_is_refused_in_a_sentence_with_status_2(arguments, sentence):
    with pytest.raises(CommandError) as refusal:
        call_command("due_date", *arguments, stdout=StringIO())
    assert (str(refusal.value), refusal.value.returncode) == (sentence, 2)


def test_the_process_ends_with_status_2_and_the_sentence_on_stderr():
    command = [sys.executable, "manage.py", "due_date", "tomorrow", "--months", "12"]
    done = subprocess.run(command, capture_output=True, text=True, check=False, cwd=ROOT)  # noqa: S603  (our own command)
    assert (done.returncode, done.stdout) == (2, "")
    assert "“tomorrow” is no day" in done.stderr
