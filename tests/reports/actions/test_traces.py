"""A case: opened with its lines fixed, decided line by line by named people, closed when nothing waits."""

import pytest
from django.db import DatabaseError, transaction

from labsite.ledger.queries import entries_about
from labsite.ledger.refusals import Refused
from reports.actions.traces import close_case, decide_line, decide_unchanged, open_case
from tests.factories.ledger import UserFactory
from tests.factories.traces import BACK_AT, returned

pytestmark = pytest.mark.django_db
REASON = "Came back 8 K high."


@pytest.fixture
def told():
    return returned("851.0", "839.0", "852.0")


@pytest.fixture
def case(told):
    return open_case(by=told.keeper, at=BACK_AT, instrument=told.thermocouple, reason=REASON)


def test_its_lines_are_fixed_in_the_order_in_which_they_are_worked_off(told, case):
    assert [(line.position, line.finding) for line in case.lines.order_by("position")] == [
        (1, "changed"), (2, "unchanged"), (3, "unchanged"),
    ]  # fmt: skip
    assert case.calibration == told.bad
    assert [entry.act for entry in entries_about(told.thermocouple.book)] == ["opened a reverse trace"]
    with pytest.raises(DatabaseError), transaction.atomic():
        case.lines.update(sentence="another one")


def test_another_case_about_it_waits_until_the_first_is_closed(told, case):
    with pytest.raises(Refused, match="Case 1 about TC-05 is open"):
        open_case(by=told.keeper, at=BACK_AT, instrument=told.thermocouple, reason=REASON)


@pytest.mark.parametrize("roles", [["technician"], ["counter"], []])
def test_who_keeps_no_quality_opens_and_closes_nothing(told, case, roles):
    other = UserFactory.create(roles=roles)
    with pytest.raises(Refused, match="by the quality keeper"):
        open_case(by=other, at=BACK_AT, instrument=told.thermocouple, reason=REASON)
    with pytest.raises(Refused, match="by the quality keeper"):
        close_case(by=other, at=BACK_AT, case=case, note="done")
    with pytest.raises(Refused, match="a lead or a signatory"):
        decide_line(by=other, at=BACK_AT, line=case.lines.get(position=1), act="none", note="x")


def test_a_case_needs_its_reason(told):
    with pytest.raises(Refused, match="Write why"):
        open_case(by=told.keeper, at=BACK_AT, instrument=told.thermocouple, reason="  ")


def test_a_later_decision_stands_beside_the_earlier_one(told, case):
    line = case.lines.get(position=1)
    lead = UserFactory.create(roles=["lead"])
    decide_line(by=lead, at=BACK_AT, line=line, act="note", note="seen")
    decide_line(by=told.keeper, at=BACK_AT, line=line, act="notify", note="rang the client")
    assert [(one.act, one.by) for one in line.decisions.order_by("pk")] == [("note", lead), ("notify", told.keeper)]
    with pytest.raises(DatabaseError), transaction.atomic():
        line.decisions.update(note="another one")


@pytest.mark.parametrize(
    ("position", "act", "note", "sentence"),
    [
        (1, "none", "", "Write the reason"),
        (2, "note", " ", "Write the reason"),
        (1, "amend", "x", "No certificate carries this line, so there is none to amend"),
        (1, "recall", "x", "none to recall"),
        (1, "", "x", "Choose what is done"),
        (1, "burn", "x", "Choose what is done"),
    ],
)
def test_a_decision_that_cannot_stand_is_refused(told, case, position, act, note, sentence):
    with pytest.raises(Refused, match=sentence):
        decide_line(by=told.keeper, at=BACK_AT, line=case.lines.get(position=position), act=act, note=note)


def test_nothing_is_done_about_an_unchanged_line_without_a_word(told, case):
    assert decide_line(by=told.keeper, at=BACK_AT, line=case.lines.get(position=2), act="none").note == ""


def test_many_unchanged_lines_are_decided_at_once_and_no_other(told, case):
    with pytest.raises(Refused, match="Line 1 is not unchanged"):
        decide_unchanged(by=told.keeper, at=BACK_AT, case=case, positions=[1, 2])
    with pytest.raises(Refused, match="No line is chosen"):
        decide_unchanged(by=told.keeper, at=BACK_AT, case=case, positions=[])
    made = decide_unchanged(by=told.keeper, at=BACK_AT, case=case, positions=[2, 3], note="inside by 7 K")
    assert [(one.line.position, one.act, one.note) for one in made] == [
        (2, "none", "inside by 7 K"), (3, "none", "inside by 7 K"),
    ]  # fmt: skip
    with pytest.raises(Refused, match="Line 2 is decided already"):
        decide_unchanged(by=told.keeper, at=BACK_AT, case=case, positions=[2])


def test_it_is_closed_only_when_everything_that_changed_is_decided(told, case):
    with pytest.raises(Refused, match="1 line is still to be decided, changed or undecidable: 1"):
        close_case(by=told.keeper, at=BACK_AT, case=case, note="done")
    line = case.lines.get(position=1)
    decide_line(by=told.keeper, at=BACK_AT, line=line, act="notify", note="rang the client")
    with pytest.raises(Refused, match="Write what came of it"):
        close_case(by=told.keeper, at=BACK_AT, case=case, note="")
    closed = close_case(by=told.keeper, at=BACK_AT, case=case, note="One trial is repeated.")
    assert (closed.closed_by, closed.closing_note) == (told.keeper, "One trial is repeated.")
    with pytest.raises(Refused, match="Case 1 is closed, by Quinn Keeper"):
        decide_line(by=told.keeper, at=BACK_AT, line=line, act="note", note="too late")
