"""The day's line: what becomes ready or due today, and nothing when there is nothing."""

import re
from dataclasses import replace
from datetime import timedelta

from labsite.ledger.svg import CHARACTER_WIDTH_PX
from specimens.models import ClimateRecord, StaySpecimen
from tests.factories.ledger import NOON
from trials.queries.queue import queue_rows
from trials.rendering.today import NARROW_PX, today_svg


def test_what_becomes_ready_today_stands_at_its_time(scene):
    ClimateRecord.objects.update(attached_at=NOON - timedelta(minutes=5))
    StaySpecimen.objects.update(in_at=NOON - timedelta(hours=20), out_at=None, out_by=None)
    rows = queue_rows(NOON, None)
    assert [(row.group, row.act) for row in rows] == [("time", "Conditioning, 20 h of 24 h")]
    svg = today_svg(rows, NOON)
    number = f"{scene.line.order.number[:2]}-{scene.line.order.number[2:6]}/1"
    assert f"16:00 {number} ready" in svg
    assert "now 12:00" in svg


def test_a_busy_day_keeps_its_knots_and_leaves_out_labels_that_do_not_fit(scene):
    row = queue_rows(NOON, None)[0]
    minutes = (5, 8, 11, 14, 17, 120, 123, 126, 340)
    rows = [replace(row, group="time", urgent_at=NOON + timedelta(minutes=one)) for one in minutes]
    svg = today_svg(rows, NOON)
    assert svg.count("<circle") == len(minutes)
    boxes: list[tuple[float, float, float]] = []
    for x, y, css, dx, words in re.findall(
        r'<text x="([\d.]+)%" y="([\d.]+)" class="([^"]*)"(?: dx="(-?[\d.]+)")?>([^<]*)</text>', svg
    ):
        at, length = float(x) / 100 * NARROW_PX + float(dx or 0), len(words) * CHARACTER_WIDTH_PX
        left = at - length if "end" in css else at - length / 2 if "mid" in css else at
        assert not [box for box in boxes if abs(box[2] - float(y)) < 12 and left < box[1] and left + length > box[0]], (
            words
        )
        boxes.append((left, left + length, float(y)))


def test_a_day_without_moments_draws_nothing(scene):
    assert today_svg(queue_rows(NOON, None), NOON) == ""
    assert today_svg([], NOON) == ""
