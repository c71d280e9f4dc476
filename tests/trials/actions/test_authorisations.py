"""Granting and ending authorisations: by another, from today on, never twice, always in the person's book."""

from datetime import date, timedelta

import pytest

from labsite.ledger.models import Entry
from labsite.ledger.refusals import Refused
from tests.factories.bench import METHOD
from tests.factories.ledger import NOON, UserFactory
from trials.actions.authorisations import end_authorisation, grant_authorisation
from trials.models import Authorisation
from trials.queries.authorisations import authorisation_for

TODAY = date(2026, 3, 10)


@pytest.fixture
def technician(lab):
    return UserFactory.create(username="tess", full_name="Tess Technician", roles=["technician"])


@pytest.fixture
def lead(lab):
    return UserFactory.create(full_name="Lena Lead", roles=["lead"])


def grant(person, by, **changes):
    arguments = {
        "person": person, "method_key": METHOD, "activity": "perform", "from_on": TODAY, "until_on": None, "by": by,
        "at": NOON,
    } | changes  # fmt: skip
    return grant_authorisation(**arguments)


def test_a_grant_is_on_record(technician, lead):
    row = grant(technician, lead, until_on=date(2026, 12, 31))
    assert authorisation_for(technician, METHOD, "perform", NOON) == row
    entry = Entry.objects.get(act="granted an authorisation")
    assert (entry.book.name, entry.data["after"]) == (
        "person:tess",
        {
            "authorisation": row.pk, "method edition": METHOD, "activity": "perform", "from": "2026-03-10",
            "until": "2026-12-31", "ended": "",
        },
    )  # fmt: skip


@pytest.mark.parametrize("role", ["lead", "quality"])
def test_a_lead_or_the_quality_keeper_grants(technician, role):
    assert grant(technician, UserFactory.create(roles=[role])).person == technician


@pytest.mark.parametrize("role", ["counter", "technician", "checker", "signatory", "administrator"])
def test_nobody_else_grants_or_ends(technician, lead, role):
    row = grant(technician, lead)
    other = UserFactory.create(roles=[role])
    with pytest.raises(Refused, match="Only a lead or the quality keeper"):
        grant(technician, other, activity="check")
    with pytest.raises(Refused, match="Only a lead or the quality keeper"):
        end_authorisation(authorisation=row, reason="why", by=other, at=NOON)


def test_nobody_authorises_themselves(lead):
    with pytest.raises(Refused, match="Nobody authorises themselves") as refusal:
        grant(lead, lead)
    assert refusal.value.field == "person"
    assert Authorisation.objects.count() == 0


@pytest.mark.parametrize(
    ("changes", "field", "sentence"),
    [
        ({"from_on": TODAY - timedelta(days=1)}, "from_on", "9 Mar 2026 is over."),
        ({"until_on": TODAY - timedelta(days=1)}, "until_on", "The last day, 9 Mar 2026, lies before the first"),
        ({"method_key": "unheard-of@1999"}, None, "There is no method edition 'unheard-of@1999'"),
    ],
)
def test_what_cannot_be_granted(technician, lead, changes, field, sentence):
    with pytest.raises(Refused) as refusal:
        grant(technician, lead, **changes)
    assert refusal.value.field == field
    assert refusal.value.sentence.startswith(sentence)


def test_one_day_is_enough(technician, lead):
    row = grant(technician, lead, until_on=TODAY)
    assert authorisation_for(technician, METHOD, "perform", NOON) == row
    assert authorisation_for(technician, METHOD, "perform", NOON + timedelta(days=1)) is None


def test_overlapping_grants_are_refused_and_adjoining_ones_are_not(technician, lead):
    grant(technician, lead, until_on=date(2026, 3, 31))
    with pytest.raises(Refused, match="may already perform trials by 2-11:2021 from 10 Mar 2026 until 31 Mar 2026"):
        grant(technician, lead, from_on=date(2026, 3, 31))
    assert grant(technician, lead, from_on=date(2026, 4, 1)).from_on == date(2026, 4, 1)
    assert grant(technician, lead, activity="check").activity == "check"


def test_an_end_counts_at_once_and_keeps_its_reason(technician, lead):
    row = grant(technician, lead)
    end_authorisation(authorisation=row, reason=" left the group ", by=lead, at=NOON + timedelta(hours=1))
    assert authorisation_for(technician, METHOD, "perform", NOON) == row
    assert authorisation_for(technician, METHOD, "perform", NOON + timedelta(hours=1)) is None
    assert Entry.objects.get(act="ended an authorisation").data["reason"] == "left the group"
    with pytest.raises(Refused, match="already ended by Lena Lead"):
        end_authorisation(authorisation=row, reason="again", by=lead, at=NOON + timedelta(hours=2))


def test_an_end_needs_a_reason(technician, lead):
    row = grant(technician, lead)
    with pytest.raises(Refused, match="Say why") as refusal:
        end_authorisation(authorisation=row, reason="  ", by=lead, at=NOON)
    assert refusal.value.field == "reason"
