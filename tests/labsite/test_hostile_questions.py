"""Addresses with questions nobody would ask: a sentence or a plain page, never a broken one."""

import pytest
from django.test import Client

from tests.factories.ledger import UserFactory
from trials.models import Trial

pytestmark = pytest.mark.usefixtures("told", "db")

ASKED = [
    "/conditioning/CH-1/?since=0001-01-01&until=9999-12-31",
    "/conditioning/CH-1/?since=9999-12-31",
    "/conditioning/CH-1/stretch/?from=0001-01-01T00:00%2B14:00&until=9999-12-31T23:59-12:00",
    "/conditioning/stays/new/?line=99999999999999999999999",
    "/authorisations/?on=0001-01-01",
    "/authorisations/?on=9999-12-31",
    "/certificates/?after=99999999999999999999999999",
    "/counter/?q=%00",
    "/counter/?before=%00",
    "/clients/?q=%00",
    "/queue/?q=%00&q=a",
    "/methods/guide/?q=%00&part=%00&evidence=%00",
    "/find/?number=%00%ed%a0%80",
]


@pytest.mark.parametrize("address", ASKED)
def test_an_odd_question_breaks_nothing(address):
    browser = Client(raise_request_exception=False)
    browser.force_login(UserFactory.create(roles=["counter", "lead", "quality"]))
    assert browser.get(address).status_code in (200, 404, 422)


@pytest.mark.parametrize("body", [b"", b"null", b"[" * 100_000, b'{"events": [1]}', b"\xff\xfe", b'{"events": NaN}'])
def test_what_no_tablet_sends_is_answered_with_a_sentence(body):
    trial = Trial.objects.filter(opened_by__username="oren").latest("pk")
    browser = Client(raise_request_exception=False)
    browser.force_login(trial.opened_by)
    answer = browser.post(f"/bench/{trial.pk}/events/", body, content_type="application/json")
    assert (answer.status_code, answer.json()["sentence"].split(" (")[0]) == (409, SENTENCE)


SENTENCE = "The tablet sent something that is no list of entries"
