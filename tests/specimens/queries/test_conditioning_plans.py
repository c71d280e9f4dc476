"""Specimens of a method with two ways of conditioning, in the database: hours stage by stage, what is proposed next."""

import pytest

from specimens.actions.climate import attach_climate_record
from specimens.queries.chamber_list import waiting_sets
from specimens.queries.conditioning import specimen_conditioning
from specimens.queries.stay_offers import recorder_of, stay_offer
from tests.factories.bars import AIR, Bars
from tests.factories.conditioning import HOUR, MINUTE, recorder_csv
from tests.factories.ledger import NOON

pytestmark = pytest.mark.usefixtures("conditioning_catalogue")


@pytest.fixture
def bars(person):
    """The scene."""
    return Bars(person("technician"))


def test_both_ways_side_by_side(bars):
    oven, room = bars.bars[:5], bars.bars[5:]
    bars.inside(room, "23/50 class 2", NOON, NOON + 48 * HOUR)
    bars.inside(oven, "oven 70", NOON, NOON + 168 * HOUR)
    bars.inside(oven, "desiccator", NOON + 168 * HOUR, NOON + 172 * HOUR)
    late = bars.state(NOON + 48 * HOUR + 60 * MINUTE, 5)
    assert (late.plan, late.ready, late.counted_s, late.earlier_s) == ("room", True, 48 * 3600, 0.0)
    aged = bars.state(NOON + 172 * HOUR + 30 * MINUTE, 0)
    assert (aged.plan, aged.ready, aged.counted_s, aged.earlier_s) == ("oven", True, 4 * 3600, 168 * 3600)
    assert bars.state(NOON + 172 * HOUR + 31 * MINUTE, 0).ready is False


def test_a_desiccator_after_a_short_oven_does_not_count_until_the_record_is_there(bars):
    oven = bars.bars[:5]
    bars.inside(oven, "oven 70", NOON, NOON + 168 * HOUR, recorded_until=NOON + 160 * HOUR)
    bars.inside(oven, "desiccator", NOON + 168 * HOUR, NOON + 173 * HOUR, out=False)
    at = NOON + 173 * HOUR + 2 * MINUTE
    assert (bars.state(at, 0).ready, bars.state(at, 0).earlier_s) == (False, 160 * 3600)
    place, recorder = bars.places["oven 70"]
    rest = recorder_csv(NOON + 160 * HOUR, NOON + 168 * HOUR, air=lambda _: AIR["oven 70"])
    attach_climate_record(by=bars.by, at=at, chamber=place, recorder=recorder, name="rest.csv", content=rest)
    assert (bars.state(at, 0).ready, bars.state(at, 0).earlier_s) == (True, 168 * 3600)


def test_the_form_proposes_the_smaller_set_and_then_the_next_stage(bars):
    def proposed(offer):
        return offer.proposed.atmosphere.key, list(offer.specimens)

    first = stay_offer(bars.line, NOON)
    assert (first.share, first.undecided, [plan.count for plan in first.plans]) == (5, 10, [0, 0])
    assert proposed(first) == ("23/50 class 2", bars.bars[:5])
    bars.inside(bars.bars[:5], "23/50 class 2", NOON, NOON + HOUR, out=False)
    second = stay_offer(bars.line, NOON + HOUR)
    assert proposed(second) == ("oven 70", bars.bars[5:])
    bars.inside(bars.bars[5:], "oven 70", NOON + 2 * HOUR, NOON + 170 * HOUR)
    third = stay_offer(bars.line, NOON + 171 * HOUR)
    assert proposed(third) == ("desiccator", bars.bars[5:])
    assert ([plan.count for plan in third.plans], third.undecided) == ([5, 5], 0)


def test_what_came_out_of_the_oven_waits_for_the_next_stage(bars):
    before = [(found.words, found.needed) for found in waiting_sets()]
    assert [needed for _, needed in before] == ["48 h or 168 h, then 4 h"]
    bars.inside(bars.bars, "oven 70", NOON, NOON + 168 * HOUR)
    waiting = waiting_sets()
    assert [(len(found.numbers), found.needed, found.under) for found in waiting] == [
        (10, "4 h", "Desiccator: 23 ± 2 °C, at most 20 % RH")
    ]


def test_the_recorder_of_a_chamber_is_that_of_its_last_set(bars):
    place, recorder = bars.places["oven 70"]
    assert recorder_of(place, NOON) is None
    bars.inside(bars.bars[:1], "oven 70", NOON, NOON + HOUR)
    assert (recorder_of(place, NOON + HOUR), recorder_of(None, NOON)) == (recorder, None)


def test_as_many_queries_for_ten_bars_as_for_one(bars, django_assert_num_queries):
    bars.inside(bars.bars[:5], "oven 70", NOON, NOON + 168 * HOUR)
    bars.inside(bars.bars[:5], "desiccator", NOON + 168 * HOUR, NOON + 173 * HOUR)
    bars.inside(bars.bars[5:], "23/50 class 2", NOON, NOON + 48 * HOUR)
    at = NOON + 174 * HOUR
    specimen_conditioning([bar.pk for bar in bars.bars], at)
    for some in (bars.bars[:1], bars.bars):
        with django_assert_num_queries(6):
            specimen_conditioning([bar.pk for bar in some], at)
