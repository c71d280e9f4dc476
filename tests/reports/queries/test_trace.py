"""From an instrument in doubt to all it touched, each verdict judged again, in a constant number of reads."""

from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from calibration.models import InstrumentLimit
from labsite.ledger.refusals import Refused
from reports.queries.trace import trace_of
from reports.queries.trace_judging import judged_rows
from tests.factories.bench import instrument, key, opened_trial
from tests.factories.ledger import NOON
from tests.factories.traces import BACK_AT, checked, found, returned, signed
from trials.models import Observation, SignedVerdict, Trial

pytestmark = pytest.mark.django_db
LATER = BACK_AT + timedelta(days=1)


def rows_of(case, at=LATER, **asked):
    return judged_rows(trace_of(case.thermocouple, at, **asked))


def test_trials_stay_change_or_depend_on_when_the_error_began():
    """850 ± 15 °C, 8 K high: 851.0 was 843.0; 839.0 was 831.0, or 832.1 as a drift; 842.9 was 834.9, or 836.0."""
    rows = rows_of(returned("851.0", "839.0", "842.9"))
    assert [(row.finding, row.facts.figures[0].read, row.facts.step, row.facts.drift) for row in rows] == [
        ("changed", "839.0 °C", "invalid", "invalid"),
        ("undecidable", "842.9 °C", "invalid", "pass"),
        ("unchanged", "851.0 °C", "pass", "pass"),
    ]
    assert rows[0].facts.line_after == "cannot be decided"


def test_the_window_goes_from_the_last_good_calibration_to_the_removal():
    case = returned("851.0")
    window = trace_of(case.thermocouple, LATER).doubt.window
    assert window.from_at.date() == (NOON - timedelta(days=60)).date()
    assert window.until_at == NOON + timedelta(days=2)


def test_a_window_somebody_asks_for_leaves_out_what_lies_outside():
    case = returned("851.0")
    day = NOON.date()
    assert len(rows_of(case, asked=(day, day))) == 1
    assert rows_of(case, asked=(day + timedelta(days=1), day + timedelta(days=2))) == ()
    with pytest.raises(Refused, match="before it begins"):
        rows_of(case, asked=(day, day - timedelta(days=1)))


def test_before_the_calibration_was_entered_nothing_says_how_far_it_was_off():
    [row] = rows_of(returned("851.0"), at=NOON + timedelta(days=3))
    assert (row.finding, row.sentence) == ("undecidable", "How far TC-05 was off is not stated by any calibration.")


def test_the_line_is_answered_with_the_verdicts_of_then():
    """The first trial is signed anew, as invalid, after the moment asked for: no part of that moment's answer."""
    case = returned("839.0", "871.0")
    before = rows_of(case)[0].facts
    first, second = SignedVerdict.objects.order_by("trial")
    second.pk, second.trial, second.signed_at = None, first.trial, LATER + timedelta(hours=1)
    second.save()
    assert rows_of(case)[0].facts == before
    after = rows_of(case, at=LATER + timedelta(hours=2))
    assert {row.facts.line_before for row in after} != {before.line_before}


@pytest.mark.parametrize("adjusted", [None, False])
def test_found_outside_its_limits_it_is_in_doubt_whoever_accepted_it(adjusted):
    case = returned("747.9")
    case.bad.decision, case.bad.adjusted = "accepted", adjusted
    case.bad.save()
    assert trace_of(case.thermocouple, LATER).doubt.calibration is None  # no limit says that 8 K are too many
    limit_at = LATER - timedelta(hours=1)
    InstrumentLimit.objects.create(
        instrument=case.thermocouple, unit="°C", absolute="3", source="ours", made_by=case.keeper, made_at=limit_at
    )
    assert trace_of(case.thermocouple, LATER).doubt.calibration == case.bad
    assert trace_of(case.thermocouple, limit_at - timedelta(hours=1)).doubt.calibration is None
    assert len(rows_of(case)) == 1


@pytest.mark.parametrize(("adjusted", "doubted"), [(None, True), (True, True), (False, False)])
def test_points_as_found_and_as_left_tell_of_an_adjustment_nobody_stated(adjusted, doubted):
    case = returned("747.9")
    case.bad.decision, case.bad.adjusted = "accepted", adjusted
    case.bad.save()
    case.bad.points.create(kind="as left", reference="500.0", indication="500.2", unit="°C")
    found = trace_of(case.thermocouple, LATER).doubt.calibration
    assert found == (case.bad if doubted else None)


def test_what_happened_later_is_not_known_at_an_earlier_moment():
    case = returned("851.0")
    assert rows_of(case, at=NOON - timedelta(days=1)) == ()


def test_an_instrument_checked_with_it_is_reached_until_it_is_shown_good():
    case = returned()
    other = instrument(80, "TC-80", "thermocouple", case.keeper, NOON)
    checked(other, case.thermocouple, case.keeper, NOON + timedelta(days=1))
    [row] = rows_of(case)
    assert (row.kind, row.finding, row.facts.what) == ("instrument", "undecidable", "TC-80, Thermocouple")
    found(other, case.keeper, NOON + timedelta(days=5), accepted=True)
    [row] = rows_of(case)
    assert (row.finding, row.sentence.split(", and ")[1][:30]) == ("unchanged", "shown good independently by it")


def test_trials_reached_through_another_instrument_name_it():
    """The indicator was checked with the thermocouple, so trials read on it are in doubt as well."""
    case = returned("851.0")
    checked(case.scene.instruments["IN-02"], case.thermocouple, case.keeper, NOON - timedelta(hours=2))
    trials = [row for row in rows_of(case) if row.kind == "trial"]
    assert [(row.through_id is None, row.finding) for row in trials] == [(False, "undecidable"), (True, "unchanged")]


def test_a_recorder_in_doubt_touches_the_stays_under_it():
    case = returned()
    recorder = case.scene.line.stays.get().recorder
    rows = judged_rows(trace_of(recorder, LATER))
    assert [(row.kind, row.finding) for row in rows] == [("stay", "undecidable")]


def test_a_trial_that_is_not_signed_is_to_be_judged_with_the_error_put_right():
    case = returned()
    opened_trial(case.scene)
    [row] = rows_of(case)
    assert (row.finding, row.sentence[:26]) == ("undecidable", "No verdict was signed yet;")


@pytest.mark.parametrize("tip", ["851.0", "839.0"])
def test_the_number_of_reads_does_not_grow(tip):
    case = returned(tip, specimens=3)
    counts = []
    for more in ((), (1, 2)):
        for number in more:
            signed(case.scene, number, tip)
        with CaptureQueriesContext(connection) as seen:
            rows = rows_of(case)
        counts.append((len(rows), len(seen)))
    assert [rows for rows, _ in counts] == [1, 3]
    assert counts[0][1] == counts[1][1]


@pytest.mark.parametrize(("read_after_min", "doubted"), [(4, 0), (5, 1), (6, 1)])
def test_a_trial_opened_before_the_last_good_check_is_in_doubt_if_it_was_read_after_it(read_after_min, doubted):
    """The check is made while the trial is set up: what is read afterwards nothing shows good."""
    case = returned("851.0")
    beside = instrument(80, "TC-80", "thermocouple", case.keeper, NOON)
    check_at = NOON + timedelta(minutes=5)
    checked(case.thermocouple, beside, case.keeper, check_at)
    read_at = NOON + timedelta(minutes=read_after_min)
    Observation.objects.create(
        trial=Trial.objects.get(), key=key(1), kind="temperature", value="851.0", device_at=read_at,
        received_at=NOON + timedelta(minutes=9), by=case.scene.technician,
    )  # fmt: skip
    assert trace_of(case.thermocouple, LATER).doubt.window.from_at == check_at
    assert len(rows_of(case)) == doubted


def test_it_was_used_on_until_its_certificate_came():
    """Calibrated in house on a Wednesday, back on the rig on Thursday, found bad when the certificate is entered."""
    case = returned(taken_out=False)
    case.bad.calibrated_on = (NOON - timedelta(days=2)).date()
    case.bad.save()
    signed(case.scene, 0, "839.0")
    trace = trace_of(case.thermocouple, LATER)
    assert (trace.doubt.calibration, trace.doubt.window.until_at) == (case.bad, BACK_AT)
    assert [row.finding for row in judged_rows(trace)] == ["changed"]
