"""The matrix of authorisations as of any day, as it was on record then."""

from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from tests.factories.bench import METHOD
from tests.factories.ledger import NOON, UserFactory
from trials.actions.authorisations import end_authorisation, grant_authorisation
from trials.queries.authorisations import authorisation_matrix, authorised_people, end_of_day, moment_of_view

BERLIN = ZoneInfo("Europe/Berlin")


@pytest.fixture
def history(lab):
    """Granted on the 10th for the 12th to the 20th, ended on the 15th."""
    lead = UserFactory.create(full_name="Lena Lead", roles=["lead"])
    person = UserFactory.create(full_name="Tess Technician", roles=["technician", "lead"])
    row = grant_authorisation(
        person=person, method_key=METHOD, activity="perform", from_on=date(2026, 3, 12), until_on=date(2026, 3, 20),
        by=lead, at=NOON,
    )  # fmt: skip
    end_authorisation(authorisation=row, reason="moved", by=lead, at=NOON + timedelta(days=5))
    return person


def stands(day: date) -> tuple[int, int]:
    """How many stand and how many are to come on a day, over the whole matrix."""
    cells = [cell for part in authorisation_matrix(end_of_day(day, BERLIN)) for row in part.rows for cell in row.cells]
    return sum(len(cell.standing) for cell in cells), sum(len(cell.coming) for cell in cells)


@pytest.mark.parametrize(
    ("day", "counts"),
    [
        (date(2026, 3, 9), (0, 0)),
        (date(2026, 3, 10), (0, 1)),
        (date(2026, 3, 11), (0, 1)),
        (date(2026, 3, 12), (1, 0)),
        (date(2026, 3, 14), (1, 0)),
        (date(2026, 3, 15), (0, 0)),
        (date(2026, 3, 21), (0, 0)),
    ],
)
def test_each_day_shows_what_was_on_record(history, day, counts):
    assert stands(day) == counts


def test_two_roles_for_an_activity_name_a_person_once(history):
    at = datetime(2026, 3, 13, 12, 0, tzinfo=BERLIN)
    assert authorised_people([METHOD], "perform", at) == {METHOD: [history]}


def test_days_end_at_the_laboratory(lab):
    assert end_of_day(date(2026, 3, 29), BERLIN).isoformat() == "2026-03-29T23:59:59.999999+02:00"
    assert moment_of_view(date(2026, 3, 10), NOON) == NOON
    assert moment_of_view(None, NOON) == NOON
    assert moment_of_view(date(2026, 3, 9), NOON) == end_of_day(date(2026, 3, 9), BERLIN)
