"""What must have been shown before an instrument goes back into service.

The duty is that of ISO/IEC 17025:2017, 6.4.4 and 6.4.9; what counts as the proof is common practice.
"""

from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from calibration.domain.return_to_service import CheckFact, Happening, lacking_proof

ZONE = ZoneInfo("Europe/Berlin")
DAY = date(2026, 3, 10)
TOLD = datetime(2026, 3, 10, 11, 0, tzinfo=UTC)
DROPPED = Happening("was damaged", DAY, TOLD, same_day=False)
ADJUSTED = Happening("was adjusted", DAY, TOLD, same_day=True)
SAID = {DROPPED: "it was damaged on 10 Mar 2026", ADJUSTED: "it was adjusted on 10 Mar 2026"}


@pytest.mark.parametrize(
    ("happening", "days_after", "enough"),
    [
        (DROPPED, -1, False), (DROPPED, 0, False), (DROPPED, 1, True),
        (ADJUSTED, -1, False), (ADJUSTED, 0, True), (ADJUSTED, 1, True),
    ],
)  # fmt: skip
def test_a_calibration_answers_when_it_was_made_after_it(happening, days_after, enough):
    accepted = [DAY + timedelta(days=days_after)]
    assert lacking_proof([happening], accepted, [], zone=ZONE) == ("" if enough else SAID[happening])


@pytest.mark.parametrize(
    ("moment", "passed", "enough"),
    [
        (TOLD - timedelta(seconds=1), True, False),
        (TOLD, True, False),
        (TOLD + timedelta(seconds=1), True, True),
        (TOLD + timedelta(days=1), False, False),
        (
            datetime(2026, 3, 9, 23, 0, tzinfo=UTC),
            True,
            False,
        ),  # midnight in Berlin: already the day, before it was told
        (datetime(2026, 3, 10, 23, 0, tzinfo=UTC), True, True),  # midnight in Berlin: the day after
    ],
)
def test_a_check_answers_when_it_passed_after_it(moment, passed, enough):
    found = lacking_proof([DROPPED], [], [CheckFact("masses", moment, passed)], zone=ZONE)
    assert (found == "") == enough


def test_a_failed_check_is_answered_by_the_same_kind_or_a_later_calibration():
    failed = CheckFact("masses", TOLD, passed=False)
    said = "a check of it failed on 10 Mar 2026"
    assert lacking_proof([], [], [failed], zone=ZONE) == said
    assert lacking_proof([], [DAY], [failed], zone=ZONE) == said
    assert lacking_proof([], [DAY + timedelta(days=1)], [failed], zone=ZONE) == ""
    hour = timedelta(hours=1)
    assert lacking_proof([], [], [failed, CheckFact("foil", TOLD + hour, passed=True)], zone=ZONE) == said
    assert lacking_proof([], [], [failed, CheckFact("masses", TOLD - hour, passed=True)], zone=ZONE) == said
    assert lacking_proof([], [], [failed, CheckFact("masses", TOLD + hour, passed=True)], zone=ZONE) == ""


def test_of_several_the_latest_without_an_answer_is_named():
    later = Happening("was repaired", DAY + timedelta(days=2), TOLD + timedelta(days=2), same_day=True)
    assert lacking_proof([later, DROPPED], [], [], zone=ZONE) == "it was repaired on 12 Mar 2026"
    assert lacking_proof([later, DROPPED], [DAY + timedelta(days=2)], [], zone=ZONE) == ""
    assert lacking_proof([], [], [], zone=ZONE) == ""


@given(st.lists(st.integers(-400, 400), max_size=5), st.integers(-400, 400))
def test_one_more_accepted_calibration_never_takes_a_proof_away(days, more):
    accepted = [DAY + timedelta(days=number) for number in days]
    before = lacking_proof([DROPPED], accepted, [], zone=ZONE)
    after = lacking_proof([DROPPED], [*accepted, DAY + timedelta(days=more)], [], zone=ZONE)
    assert after in ("", before)
