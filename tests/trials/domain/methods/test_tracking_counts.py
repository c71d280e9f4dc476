"""Drops that are typed, held against each other and against the clock of a tracking run."""

from decimal import Decimal
from typing import Any

import pytest

from tests.trials.domain.glow_wire_trial import row
from tests.trials.domain.tracking_trial import EDITION_2020, judged, trial
from trials.domain.methods.registry import EDITIONS

D = Decimal
OURS = sorted(key for key in EDITIONS if key.startswith("tracking@"))


def typed(trip: str, trip_s: str, fallen: str, *, last_s: str | None = None, end_s: str) -> tuple[Any, ...]:
    """A run with a trip at a drop as typed, and the moments of trip, last drop and end of the watch."""
    rows = [row("contact", "0.0"), row("trip", trip_s, D(trip)), row("watch_ends", end_s)]
    if last_s is not None:
        rows.append(row("withdrawn", last_s))
    return (*rows, row("drops_fallen", value=D(fallen)), row("hole", value=False))


@pytest.mark.parametrize(
    ("rows", "said"),
    [
        (typed("999", "60.0", "50", last_s="74.0", end_s="100.0"), "999 drops in 60.0 s"),
        (typed("999", "60.0", "1000", last_s="74.0", end_s="100.0"), "999 drops in 60.0 s"),
        (typed("23", "100.0", "23", last_s="101.0", end_s="130.0"), "23 drops in 100.0 s"),
        (typed("5", "1400.0", "5", last_s="1401.0", end_s="1430.0"), "5 drops in 1400.0 s"),
        (typed("23", "668.0", "900", end_s="680.0"), "900 drops in 680.0 s"),
        (typed("51", "1502.0", "51", last_s="74.0", end_s="1510.0"), "50 drops in 74.0 s"),
    ],
)
def test_drops_that_the_clock_contradicts_leave_the_trial_unjudged(rows: tuple[Any, ...], said: str) -> None:
    """Drops come every 30 ± 5 s (two public pages): 999 in a minute cannot be, nor 5 in 23 minutes."""
    verdict = EDITION_2020.judge(trial(*rows))
    sentence = f"{said} cannot be at 30 ± 5 s from drop to drop; correct the number or the time"
    reasons = [c.reason for c in verdict.setup_criteria if c.key == "drops_by_clock"]
    assert (verdict.outcome, reasons) == ("not judged", [sentence])


@pytest.mark.parametrize(
    ("drop", "at_s", "outcome"),
    [
        (23, "549.9", "not judged"),  # 22 intervals of 25 s, the shortest allowed, take 550 s
        (23, "550.0", "fail"),
        (23, "805.0", "fail"),  # by 23 intervals of 35 s, the longest allowed, drop 24 has fallen
        (23, "805.1", "not judged"),
    ],
)
def test_the_clock_admits_the_shortest_and_the_longest_interval(drop: int, at_s: str, outcome: str) -> None:
    rows = typed(str(drop), at_s, str(drop), end_s="900.0")
    assert EDITION_2020.judge(trial(*rows)).outcome == outcome


@pytest.mark.parametrize(("trip", "trip_s", "fallen"), [("40", "1180.0", "30"), ("51", "1505.0", "50")])
def test_drops_that_contradict_each_other_leave_the_trial_unjudged(trip: str, trip_s: str, fallen: str) -> None:
    verdict = EDITION_2020.judge(trial(*typed(trip, trip_s, fallen, end_s="1510.0")))
    said = f"The device tripped at drop {trip}, yet {fallen} drops fell."
    assert (verdict.outcome, verdict.reasons[0]) == ("not judged", said)


def test_more_drops_than_the_watch_had_time_for_are_no_pass() -> None:
    rows = (row("contact", "0.0"), row("watch_ends", "74.0"), row("drops_fallen", value=D(999)),
            row("hole", value=False))  # fmt: skip
    assert judged(*rows) == ("not judged", ["drops_by_clock"])
    assert judged(rows[0], *rows[2:])[0] == "not judged"
