"""How fast an instrument in doubt is traced to all it touched among many trials, and what judging those again takes.

`BENCH_TRIALS` says how many trials there are (20,000 without it), on 3,000 instruments; the figures are printed.
"""

import os
import time
from datetime import timedelta
from decimal import Decimal

import pytest
from django.db import connection
from django.db.models import F
from django.test.utils import CaptureQueriesContext

from calibration.models import Calibration, CalibrationPoint, Instrument
from labsite.ledger.numbering import instrument_number
from reports.queries.trace import trace_of
from reports.queries.trace_judging import judged_rows
from specimens.models import OrderLine
from tests.bench.stored_trials import stored_trials
from tests.factories.ledger import NOON
from trials.models import InstrumentUse, Job, Trial

TRIALS = int(os.environ.get("BENCH_TRIALS", "20000"))
INSTRUMENTS = 3000
AIMED_AT_S = 2
"""What the search is to stay under; printed beside what it took, never asserted: a shared machine proves nothing."""


def make_uses():
    """Each trial used one of the instruments as its thermocouple and the next as its indicator; days go round."""
    keeper = Trial.objects.select_related("opened_by").earliest("pk").opened_by
    made = Instrument.objects.bulk_create(
        Instrument(number=instrument_number(1000 + n), code=f"B-{n:04d}", kind="thermocouple", description="bench",
                   registered_at=NOON - timedelta(days=900), registered_by=keeper)
        for n in range(INSTRUMENTS)
    )  # fmt: skip
    good = Calibration.objects.bulk_create(_calibration(one, keeper, -120, "accepted") for one in made)
    bad = Calibration.objects.bulk_create([_calibration(made[0], keeper, 40, "rejected")])[0]
    CalibrationPoint.objects.bulk_create(
        CalibrationPoint(calibration=bad, kind="as found", reference=r, indication=str(Decimal(r) + 8), unit="°C",
                         expanded_uncertainty="1.1", coverage_factor="2")
        for r in ("100.0", "500.0", "960.0", "1000.0")
    )  # fmt: skip
    spread_over_lines()
    table, first, calibration = InstrumentUse._meta.db_table, made[0].pk, good[0].pk
    with connection.cursor() as cursor:
        for role, step in (("thermocouple", 0), ("indicator", 1)):
            cursor.execute(
                f"INSERT INTO {table} (role, due_on, at, calibration_id, instrument_id, trial_id) "  # noqa: S608  (our own table)
                "SELECT %(role)s, %(due)s, opened_at, %(calibration)s + (id + %(step)s) %% %(many)s, "
                "%(first)s + (id + %(step)s) %% %(many)s, id FROM trials_trial",
                {"role": role, "due": (NOON + timedelta(days=300)).date(), "calibration": calibration, "first": first,
                 "step": step, "many": INSTRUMENTS},
            )  # fmt: skip
        if connection.vendor == "postgresql":
            cursor.execute("ANALYZE")
    return made[0]


def spread_over_lines():
    """As in a laboratory, an order line holds few trials of one method and level: line and job copied, trials dealt."""
    job = Trial.objects.select_related("job__order_line").earliest("pk").job
    kinds = list(Trial.objects.order_by("method_key", "severity").values_list("method_key", "severity").distinct())
    many = max(2, min(30_000, TRIALS // 10) // len(kinds))
    rest, facts = (
        _copied(job.order_line, "id", "position", "method_key", "severity"),
        _copied(job, "id", "order_line_id"),
    )
    lines = OrderLine.objects.bulk_create(
        OrderLine(**rest, method_key=method, severity=level, position=2 + n + place * many)
        for place, (method, level) in enumerate(kinds)
        for n in range(many)
    )
    jobs = Job.objects.bulk_create(Job(**facts, order_line=one) for one in lines)
    for place, (method, level) in enumerate(kinds):
        trials = Trial.objects.filter(method_key=method, severity=level)
        trials.update(job_id=jobs[place * many].pk + F("pk") % many)


def _copied(row, *without):
    return {
        field.attname: getattr(row, field.attname)
        for field in row._meta.concrete_fields
        if field.attname not in without
    }


def _calibration(instrument, keeper, days, decision):
    at = NOON + timedelta(days=days)
    return Calibration(instrument=instrument, calibrated_on=at.date(), interval=24, calibrated_by="bench",
                       entered_at=at, entered_by=keeper, decision=decision, decided_at=at,
                       decided_by=keeper)  # fmt: skip


@pytest.mark.django_db(transaction=True)
def test_an_instrument_in_doubt_is_traced_at_speed(capsys):
    stored_trials(TRIALS)
    one, at = make_uses(), NOON + timedelta(days=60)
    with CaptureQueriesContext(connection) as searched:
        begun = time.perf_counter()
        found = trace_of(one, at)
        search_s = time.perf_counter() - begun
    with CaptureQueriesContext(connection) as judged:
        begun = time.perf_counter()
        rows = judged_rows(found)
        judge_s = time.perf_counter() - begun
    changed = sum(row.finding == "changed" for row in rows)
    with capsys.disabled():
        print(  # noqa: T201  (a benchmark speaks to the person at the terminal)
            f"\n{TRIALS:,} trials, {INSTRUMENTS:,} instruments, {connection.vendor}: {len(found.trials)} trials "
            f"found in {search_s:.3f} s with {len(searched)} queries (under {AIMED_AT_S} s is aimed at); "
            f"judged again in {judge_s:.3f} s ({changed} changed, with their lines) with {len(judged)} queries; "
            f"both {search_s + judge_s:.3f} s."
        )
    used = sum(n % INSTRUMENTS in (0, INSTRUMENTS - 1) for n in range(1, TRIALS + 1))  # thermocouple, or indicator
    assert len(rows) == len(found.trials) == used
