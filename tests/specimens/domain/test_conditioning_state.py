"""The state of one specimen from its stay and the record; figures worked out by hand."""

from datetime import UTC, datetime, timedelta
from decimal import Decimal
from zoneinfo import ZoneInfo

import pytest

from specimens.domain.atmospheres import ATMOSPHERES
from specimens.domain.conditioning import InBand, Span, Stretch
from specimens.domain.conditioning_state import Need, StayFacts, conditioning_state, lies_inside, without_stay

BERLIN = ZoneInfo("Europe/Berlin")
IN = datetime(2026, 3, 9, 7, 0, tzinfo=UTC)
ROOM, CLASS_2, CLASS_1 = (ATMOSPHERES[key] for key in ("15-35/45-75", "23/50 class 2", "23/50 class 1"))
NEED = Need(ROOM, Decimal(24), Decimal(4), use_within_enforced=True)
HOUR = timedelta(hours=1)


def state_of(counted_h, *, lost_h=0, at_h, out_h=None, record_h=None, need=NEED, atmosphere=ROOM):
    """In at IN; first counted, then lost, and no record after `record_h`."""
    end = IN + HOUR * (at_h if out_h is None else out_h)
    edges = [IN, IN + HOUR * counted_h, IN + HOUR * (counted_h + lost_h), end]
    missed = [Stretch(edges[1], edges[2], "gap", None, None)] if lost_h else []
    if edges[2] < end:
        missed.append(Stretch(edges[2], end, "no record", None, None))
    judged = InBand(IN, end, (Span(edges[0], edges[1]),), tuple(missed))
    return conditioning_state(
        need,
        StayFacts("CH-1", atmosphere, IN, None if out_h is None else end),
        judged,
        record_until=IN + HOUR * (counted_h + lost_h if record_h is None else record_h),
        at=IN + HOUR * at_h,
        zone=BERLIN,
    )


@pytest.mark.parametrize(
    ("inner", "outer", "inside"),
    [
        ("23/50 class 1", "23/50 class 2", True),
        ("23/50 class 2", "23/50 class 1", False),
        ("23/50 class 2", "23/50 class 2", True),
        ("23/50 class 2", "15-35/45-75", False),  # 40 % RH lies outside 45 to 75
        ("23/50 class 1", "15-35/45-75", True),
        ("oven 70", "15-35/45-75", False),
        ("desiccator", "oven 70", False),
        ("oven 70", "oven 70", True),
    ],
)
def test_stricter_means_both_bands_lie_inside(inner, outer, inside):
    assert lies_inside(ATMOSPHERES[inner], ATMOSPHERES[outer]) is inside


def test_an_atmosphere_without_humidity_is_inside_none_that_asks_for_it():
    assert not lies_inside(ATMOSPHERES["oven 70"], CLASS_2)


def test_hours_missing_give_the_expected_moment():
    state = state_of(10, lost_h=1, at_h=11)
    assert (state.counted_s, state.not_counted_s, state.awaiting_record_s) == (36000, 3600, 0)
    assert (state.ready, state.ready_at, state.expected_at) == (False, None, IN + HOUR * 25)
    assert state.sentence == "10 h of 24 h in CH-1 count; complete about Tue 10 Mar 09:00, if it stays in band."


def test_time_since_the_last_reading_is_awaited_and_not_lost():
    state = state_of(10, at_h=16)
    assert (state.not_counted_s, state.awaiting_record_s) == (0, 6 * 3600)
    assert state.expected_at == IN + HOUR * 24


def test_where_only_the_record_is_missing_the_sentence_asks_for_it():
    state = state_of(10, at_h=30)
    assert (state.ready, state.expected_at) == (False, IN + HOUR * 30)
    assert state.sentence == "10 h of 24 h in CH-1 count; bring in the record of the last 20 h."


def test_exactly_the_hours_are_enough():
    state = state_of(24, at_h=24)
    assert (state.ready, state.ready_at, state.expected_at) == (True, IN + HOUR * 24, None)
    assert state.sentence == "Complete since Tue 10 Mar 08:00, in CH-1; it may come out."


def test_a_second_less_is_not():
    assert state_of(24 - 1 / 3600, at_h=24).ready is False


def test_taken_out_it_may_be_tested_until_the_limit_and_at_it():
    state = state_of(30, at_h=34, out_h=30)
    assert (state.ready, state.inside, state.use_by) == (True, False, IN + HOUR * 34)
    assert state.sentence == (
        "Complete since Tue 10 Mar 08:00, in CH-1; out since Tue 10 Mar 14:00, to be tested by Tue 10 Mar 18:00."
    )


def test_after_the_limit_it_is_ready_only_where_the_limit_is_not_enforced():
    late = state_of(30, at_h=34.1, out_h=30)
    loose = state_of(30, at_h=34.1, out_h=30, need=Need(ROOM, Decimal(24), Decimal(4)))
    assert (late.ready, loose.ready) == (False, True)
    assert late.sentence.endswith("which is over: it must be conditioned again.")
    assert loose.sentence.endswith("which is over: the method does not enforce it.")


def test_out_too_early_it_stays_incomplete():
    state = state_of(10, at_h=40, out_h=10)
    assert (state.ready, state.expected_at, state.use_by) == (False, None, None)
    assert state.sentence == "10 h of 24 h in CH-1 count; it left on Mon 9 Mar 18:00."


def test_no_hour_counts_under_an_atmosphere_that_is_not_stricter():
    state = state_of(30, at_h=30, atmosphere=CLASS_2)
    assert (state.counted_s, state.not_counted_s, state.ready, state.expected_at) == (0, 30 * 3600, False, None)
    assert state.sentence == (
        "Its stay in CH-1 was under 21 to 25 °C and 40 to 60 % RH; the method asks for 15 to 35 °C and 45 to 75 % RH, "
        "so no hour of it counts."
    )


def test_a_stricter_atmosphere_counts():
    assert state_of(30, at_h=30, atmosphere=CLASS_1).ready is True


def test_before_any_stay():
    assert without_stay(NEED).sentence == "Not in a chamber yet; 24 h at 15 to 35 °C and 45 to 75 % RH are needed."
    assert without_stay(NEED).ready is False
    assert without_stay(NEED, received=False).sentence == "Nothing has come in yet."
    assert without_stay(Need(None, Decimal(0))).ready is True
    assert without_stay(Need(None, Decimal(0)), received=False).ready is False
