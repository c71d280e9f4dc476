"""How a certificate tells the conditioning of bars that went through an oven and a desiccator, or through the room."""

from zoneinfo import ZoneInfo

import pytest

from reports.queries.stay_content import stays_content
from tests.factories.bars import Bars
from tests.factories.conditioning import HOUR, MINUTE
from tests.factories.ledger import NOON

ZONE = ZoneInfo("Europe/Berlin")
VERTICAL = "vertical-flame@2013"


@pytest.fixture
def bars(person):
    """Bars of a line that is ordered by the real edition."""
    return Bars(person("technician"), VERTICAL)


def test_both_stages_of_the_way_are_told(bars):
    oven, room = bars.bars[0], bars.bars[5]
    bars.inside([room], "23/50 class 2", NOON, NOON + 50 * HOUR)
    bars.inside([oven], "oven 70", NOON, NOON + 168 * HOUR)
    bars.inside([oven], "desiccator", NOON + 168 * HOUR, NOON + 173 * HOUR)
    contact_at = NOON + 173 * HOUR + 20 * MINUTE
    told = stays_content({1: (oven.pk, contact_at), 2: (room.pk, contact_at)}, ZONE)
    assert [(stage.atmosphere.partition(":")[0], stage.counted_s) for stage in told[1].stages] == [
        ("Ageing oven", 168 * 3600), ("Desiccator", 5 * 3600),
    ]  # fmt: skip
    assert (told[1].way, told[2].way, len(told[2].stages)) == ("From the oven", "From the room", 1)


def test_a_stay_that_ended_the_way_earlier_is_left_out(bars):
    bar = bars.bars[0]
    bars.inside([bar], "oven 70", NOON, NOON + 168 * HOUR)
    bars.inside([bar], "23/50 class 2", NOON + 170 * HOUR, NOON + 220 * HOUR)
    told = stays_content({1: (bar.pk, NOON + 220 * HOUR + 10 * MINUTE)}, ZONE)[1]
    assert (told.way, [stage.chamber[:5] for stage in told.stages]) == ("From the room", ["BAR-2"])
