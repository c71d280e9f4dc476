"""The day's line: what becomes ready or due today, and nothing when there is nothing."""

from datetime import timedelta

from specimens.models import ClimateRecord, StaySpecimen
from tests.factories.ledger import NOON
from trials.queries.queue import queue_rows
from trials.rendering.today import today_svg


def test_what_becomes_ready_today_stands_at_its_time(scene):
    ClimateRecord.objects.update(attached_at=NOON - timedelta(minutes=5))
    StaySpecimen.objects.update(in_at=NOON - timedelta(hours=20), out_at=None, out_by=None)
    rows = queue_rows(NOON, None)
    assert [(row.group, row.act) for row in rows] == [("time", "Conditioning, 20 h of 24 h")]
    svg = today_svg(rows, NOON)
    number = f"{scene.line.order.number[:2]}-{scene.line.order.number[2:6]}/1"
    assert f"16:00 {number} ready" in svg
    assert "now 12:00" in svg


def test_a_day_without_moments_draws_nothing(scene):
    assert today_svg(queue_rows(NOON, None), NOON) == ""
    assert today_svg([], NOON) == ""
