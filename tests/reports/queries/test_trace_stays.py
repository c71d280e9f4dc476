"""Stays under a recorder that came back wrong: hours counted again, the trials that rest on them judged again."""

from datetime import timedelta
from decimal import Decimal

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from calibration.models import Calibration, CalibrationPoint
from reports.queries.trace import trace_of
from reports.queries.trace_judging import judged_rows
from specimens.models import ClimateRecord, Stay, StaySpecimen
from tests.factories.bench import opened_trial
from tests.factories.ledger import NOON
from tests.factories.traces import BACK_AT, Returned, returned
from tests.factories.trials import signed_trial

pytestmark = pytest.mark.django_db
LATER = BACK_AT + timedelta(days=1)


def recorder_of(case: Returned):
    return case.scene.line.stays.earliest("pk").recorder


def came_back(case: Returned, *points: tuple[str, str]) -> Calibration:
    """Reference and indication in degC as the recorder was found, ten days after the trials; rejected."""
    made = Calibration.objects.create(
        instrument=recorder_of(case), calibrated_on=BACK_AT.date(), interval=12, calibrated_by="Example Calibrations",
        entered_at=BACK_AT, entered_by=case.keeper, decision="rejected", decided_at=BACK_AT, decided_by=case.keeper,
    )  # fmt: skip
    CalibrationPoint.objects.bulk_create(
        CalibrationPoint(calibration=made, kind="as found", reference=reference, indication=indication, unit="°C")
        for reference, indication in points
    )
    return made


def with_one_trial(specimens: int = 1) -> Returned:
    """One trial on the set, from its rows to its signature."""
    case = returned(specimens=specimens)
    signed_trial(case.scene)
    return case


def stay_rows(case: Returned):
    return [row for row in judged_rows(trace_of(recorder_of(case), LATER)) if row.kind == "stay"]


def test_an_error_that_keeps_the_air_in_band_changes_nothing():
    """23.0 degC was read; the recorder read 2 K high, so it was 21.0, inside 15 to 35 degC."""
    case = with_one_trial()
    came_back(case, ("10.0", "12.0"), ("40.0", "42.0"))
    [row] = stay_rows(case)
    assert row.finding == "unchanged"
    assert row.sentence.endswith("; one trial rests on it, no verdict changes.")


@pytest.mark.parametrize(
    ("low_k", "finding", "end"),
    [
        ("15.0", "changed", "one trial rests on it, 1 with another verdict."),
        ("12.5", "undecidable", "one trial rests on it, 1 that cannot be decided."),
    ],
)
def test_an_error_that_puts_the_air_out_of_band(low_k, finding, end):
    """15 K low: 23.0 degC read was 38.0, above 35. 12.5 K low: 35.5, or 34.9 if grown to 95 % of that by then."""
    case = with_one_trial()
    came_back(case, *((at, str(Decimal(at) - Decimal(low_k))) for at in ("10.0", "60.0")))
    [row] = stay_rows(case)
    assert (row.finding, "put right 0 min" in row.sentence, row.sentence.endswith(end)) == (finding, True, True)


def test_without_as_found_points_nobody_can_tell():
    case = with_one_trial()
    came_back(case)
    [row] = stay_rows(case)
    assert (row.finding, row.sentence.endswith(", and nothing says how far it was off.")) == ("undecidable", True)


def test_hours_that_are_others_by_now_than_were_signed_cannot_be_decided():
    case = with_one_trial()
    came_back(case, ("10.0", "12.0"), ("40.0", "42.0"))
    record = ClimateRecord.objects.get()
    ClimateRecord.objects.update(counts_until=record.first_at + timedelta(hours=2), uncounted_reason="Clock stopped.")
    [row] = stay_rows(case)
    assert row.finding == "undecidable"


def test_a_stay_nothing_is_signed_on_says_whether_its_set_is_ready():
    case = returned(specimens=2)
    opened_trial(case.scene)
    came_back(case, ("10.0", "12.0"), ("40.0", "42.0"))
    [row] = stay_rows(case)
    assert row.finding == "unchanged"
    assert row.sentence.endswith("nothing is signed yet, and whether they are ready does not change.")


@pytest.mark.parametrize("stays", [1, 3])
def test_as_many_reads_for_three_stays_as_for_one(stays):
    case = with_one_trial(specimens=4)
    recorder, scene = recorder_of(case), case.scene
    for number in range(1, stays):
        stay = Stay.objects.create(
            order_line=scene.line, chamber=scene.line.stays.earliest("pk").chamber, atmosphere_key="15-35/45-75",
            recorder=recorder,
        )  # fmt: skip
        StaySpecimen.objects.create(
            stay=stay, specimen=scene.specimens[number], in_at=NOON - timedelta(hours=9), in_by=scene.technician,
            out_at=NOON - timedelta(hours=1), out_by=scene.technician,
        )  # fmt: skip
    came_back(case, ("10.0", "12.0"), ("40.0", "42.0"))
    with CaptureQueriesContext(connection) as asked:
        rows = [row for row in judged_rows(trace_of(recorder, LATER)) if row.kind == "stay"]
    assert (len(rows), len(asked)) == (stays, 33)
