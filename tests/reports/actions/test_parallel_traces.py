"""Two people at one reverse trace at the same moment: one case, every decision inside it or refused."""

import pytest

from labsite.ledger.models import Entry
from reports.actions.traces import close_case, decide_line, decide_unchanged, open_case
from reports.models import TraceCase, TraceDecision
from tests.calibration.actions.test_parallel_acts import DONE, at_once
from tests.factories.ledger import UserFactory
from tests.factories.traces import BACK_AT, returned

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def told():
    return returned("851.0", "839.0", "852.0")


def test_one_case_is_opened(told):
    acts = [
        lambda reason=reason: open_case(by=told.keeper, at=BACK_AT, instrument=told.thermocouple, reason=reason)
        for reason in ("came back", "was dropped")
    ]
    assert sorted(at_once(*acts)) == sorted(["Case 1 about TC-05 is open; close it before another is opened.", DONE])
    assert [case.lines.count() for case in TraceCase.objects.all()] == [3]


def test_a_line_is_decided_before_the_case_is_closed_or_not_at_all(told):
    case = open_case(by=told.keeper, at=BACK_AT, instrument=told.thermocouple, reason="came back")
    line = case.lines.get(position=1)
    decide_line(by=told.keeper, at=BACK_AT, line=line, act="note", note="seen")
    lead = UserFactory.create(roles=["lead"])
    said = at_once(
        lambda: close_case(by=told.keeper, at=BACK_AT, case=case, note="done"),
        lambda: decide_line(by=lead, at=BACK_AT, line=line, act="notify", note="call them"),
    )
    assert said[0] == DONE
    late = said[1] != DONE
    assert said[1] == (f"Case 1 is closed, by {told.keeper}; its decisions stay as they are." if late else DONE)
    assert Entry.objects.filter(book__name=told.thermocouple.book).latest("sequence").act == "closed a reverse trace"
    assert TraceDecision.objects.filter(line=line).count() == 2 - late


def test_unchanged_lines_are_decided_together_once(told):
    case = open_case(by=told.keeper, at=BACK_AT, instrument=told.thermocouple, reason="came back")
    acts = [lambda: decide_unchanged(by=told.keeper, at=BACK_AT, case=case, positions=[2, 3]) for _ in range(2)]
    assert sorted(at_once(*acts)) == sorted(["Line 2 is decided already; decide it again by itself.", DONE])
    assert TraceDecision.objects.count() == 2
