"""How fast stored trials are judged again, end to end from the database, beside a bare loop that only reads them.

`BENCH_TRIALS` says how many (20,000 without it); the figures are printed.
"""

import os
import time
from collections.abc import Callable, Iterable

import pytest

from tests.bench.stored_trials import stored_trials
from trials.models import Trial
from trials.queries.rejudging import Asked, changed_verdicts, stored_records

TRIALS = int(os.environ.get("BENCH_TRIALS", "20000"))
AIMED_AT_A_MINUTE = 200_000
"""What one core is to reach; printed beside what it did, never asserted: a shared machine proves nothing."""


def seconds(work: Callable[[], Iterable[object]]) -> tuple[float, float, int]:
    """Seconds by the clock and of the processor, and how much came out."""
    clock, processor = time.perf_counter(), time.process_time()
    count = sum(1 for _ in work())
    return time.perf_counter() - clock, time.process_time() - processor, count


@pytest.mark.django_db(transaction=True)
def test_stored_trials_are_judged_again_at_speed(capsys):
    stored_trials(TRIALS)
    methods = Trial.objects.values("method_key").distinct().count()
    read_clock, read, rows = seconds(lambda: stored_records(Asked()))
    judge_clock, judge, changed = seconds(lambda: changed_verdicts(Asked()))
    a_minute, by_the_clock = 60 * TRIALS / judge, 60 * TRIALS / judge_clock
    with capsys.disabled():
        print(  # noqa: T201  (a benchmark speaks to the person at the terminal)
            f"\n{TRIALS} stored trials of {methods} method editions judged again in {judge_clock:.1f} s by the clock: "
            f"{by_the_clock:,.0f} a minute; {judge:.1f} s of one core: {a_minute:,.0f} a minute "
            f"({AIMED_AT_A_MINUTE:,} are aimed at).\n"
            f"A bare loop that only reads the same rows: {read_clock:.1f} s, {read:.1f} s of one core; "
            f"judging takes {judge / read:.1f} times as long."
        )
    assert (rows, changed) == (TRIALS, 0)
