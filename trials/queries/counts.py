"""How many things need a hand, place by place."""

from datetime import datetime, timedelta

from django.utils import timezone

from calibration.queries.instruments import hands_needed_count
from labsite.ledger.queries import laboratory_or_none
from trials.queries.queue import QueueRow, queue_rows
from trials.queries.results import trials_open_now

COUNTER_REASONS = ("not reviewed", "deviation")
LEFT_OPEN = timedelta(hours=8)
"""A trial that is open for longer than a working day was most likely forgotten. Common practice."""


def hands_needed(at: datetime | None = None) -> dict[str, int]:
    """Counts by the place's title in lower case; a constant number of queries.

    The queue counts its rows that need a hand or a check; the counter orders that wait for a review or for a client's
    answer; the bench trials returned or left open; calibration instruments. Certificates are counted by a higher app.
    """
    if laboratory_or_none() is None:
        return {}
    at = at or timezone.now()
    rows = queue_rows(at, None)
    return {
        "counter": len({row.work.line.order_id for row in rows if _at_counter(row)}),
        "queue": sum(row.is_hand for row in rows),
        "bench": sum(row.work.standing.state == "returned" for row in rows)
        + sum(one.trial.opened_at < at - LEFT_OPEN for one in trials_open_now()),
        "certificates": 0,
        "calibration": hands_needed_count(at),
    }


def _at_counter(row: QueueRow) -> bool:
    return any(reason.code in COUNTER_REASONS for reason in row.work.reasons)
