"""The demo's recorder files: readings in real time, whatever the clocks do."""

import itertools
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from labsite.demo.climate import recorder_file

BERLIN = ZoneInfo("Europe/Berlin")


@pytest.mark.parametrize("day", ["2027-03-28", "2026-10-25", "2026-03-10"])
def test_every_reading_comes_two_minutes_after_the_last(day):
    from_at = datetime.fromisoformat(f"{day}T00:30").replace(tzinfo=BERLIN)
    content = recorder_file(
        seed=1,
        from_at=from_at,
        until_at=from_at + timedelta(hours=8),
        zone=BERLIN,
        temperature_c=23,
        humidity_percent=50,
    )
    times = [datetime.fromisoformat(line.split(",")[0]) for line in content.decode().splitlines()[1:]]
    assert {later - earlier for earlier, later in itertools.pairwise(times)} == {timedelta(minutes=2)}
