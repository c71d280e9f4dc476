"""Which way of conditioning a specimen follows and how it stands; figures worked out by hand.

168 h at 70 °C, then at least 4 h in a desiccator, used within 30 min; or 48 h at 23 °C and 50 % RH, used within 1 h:
the two sets of the vertical small-flame test, IEC 60695-11-10 (figures from memory).
"""

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from zoneinfo import ZoneInfo

import pytest

from specimens.domain.atmospheres import ATMOSPHERES
from specimens.domain.conditioning import InBand, Span, Stretch
from specimens.domain.conditioning_plans import JudgedStay, followed_way, state_on_way
from specimens.domain.conditioning_state import Need, StayFacts, without_stay

BERLIN = ZoneInfo("Europe/Berlin")
IN = datetime(2026, 3, 2, 7, 0, tzinfo=UTC)
HOUR = timedelta(hours=1)
OVEN, DRY, CLASS_2, CLASS_1, HOT = (
    ATMOSPHERES[key] for key in ("oven 70", "desiccator", "23/50 class 2", "23/50 class 1", "27/65 class 2")
)
FIRST = Need(OVEN, Decimal(168))
ROOM_WAY = Need(CLASS_2, Decimal(48), Decimal(1), True, "room", "From the room")
OVEN_WAY = Need(DRY, Decimal(4), Decimal("0.5"), True, "oven", "From the oven", FIRST)
NEEDS = (ROOM_WAY, OVEN_WAY)


def stay(atmosphere, start_h, end_h=None, code="CH-1"):
    return StayFacts(code, atmosphere, IN + HOUR * start_h, None if end_h is None else IN + HOUR * end_h)


def judged(one, counted_h, at_h, record_h=None):
    """The first hours count; after `record_h` there is no record."""
    end = one.out_at or IN + HOUR * at_h
    split = one.in_at + HOUR * counted_h
    missed = (Stretch(split, end, "no record", None, None),) if split < end else ()
    known = split if record_h is None else IN + HOUR * record_h
    return JudgedStay(one, InBand(one.in_at, end, (Span(one.in_at, split),), missed), known)


def state_at(at_h, last, earlier=None, needs=NEEDS):
    stays = ([earlier.stay] if earlier else []) + [last.stay]
    way = followed_way(needs, stays)
    return state_on_way(way, last, None if way.earlier is None else earlier, at=IN + HOUR * at_h, zone=BERLIN)


@pytest.mark.parametrize(
    ("atmospheres", "plan", "in_earlier", "earlier"),
    [
        ((CLASS_2,), "room", False, None),
        ((CLASS_1,), "room", False, None),
        ((OVEN,), "oven", True, None),
        ((OVEN, DRY), "oven", False, 0),
        ((OVEN, DRY, DRY), "oven", False, 0),
        ((OVEN, OVEN, DRY), "oven", False, 1),
        ((DRY,), "oven", False, None),
        ((OVEN, CLASS_2), "room", False, None),
        ((CLASS_2, OVEN), "oven", True, None),
        ((HOT,), "", False, None),
    ],
)
def test_the_last_stay_decides_the_way(atmospheres, plan, in_earlier, earlier):
    way = followed_way(NEEDS, [stay(each, place) for place, each in enumerate(atmospheres)])
    assert (way.need.plan, way.in_earlier, way.earlier) == (plan, in_earlier, earlier)


def test_of_two_ways_with_one_last_atmosphere_the_stage_gone_through_decides():
    short = Need(CLASS_2, Decimal(24), plan="aged", title="Aged", earlier=FIRST)
    assert followed_way((ROOM_WAY, short), [stay(OVEN, 0, 168), stay(CLASS_2, 169)]).need.plan == "aged"
    assert followed_way((short, ROOM_WAY), [stay(CLASS_2, 0)]).need.plan == "room"


def test_in_the_oven_nothing_of_the_last_stage_counts():
    state = state_at(121, judged(stay(OVEN, 0, code="OV-1"), 120, 121))
    assert (state.plan, state.in_earlier, state.earlier_s, state.earlier_needed_s) == (
        "oven", True, 120 * 3600, 168 * 3600,
    )  # fmt: skip
    assert (state.counted_s, state.needed_s, state.ready, state.ready_at) == (0.0, 4 * 3600, False, None)
    assert (state.stage_counted_s, state.stage_needed_s, state.awaiting_record_s) == (120 * 3600, 168 * 3600, 3600)
    assert state.expected_at == IN + HOUR * 168
    assert state.sentence == (
        "From the oven: 120 h of 168 h in OV-1 count; complete about Mon 9 Mar 08:00, if it stays in band; "
        "then 4 h at 21 to 25 °C and 0 to 20 % RH."
    )


@pytest.mark.parametrize(("counted_h", "complete"), [(168 - 1 / 3600, False), (168, True), (169, True)])
def test_the_oven_is_complete_at_its_hours_and_the_specimen_is_not_ready(counted_h, complete):
    state = state_at(170, judged(stay(OVEN, 0, 170, "OV-1"), counted_h, 170))
    assert (state.stage_ready_at == IN + HOUR * 168) is complete
    assert (state.ready, state.ready_at, state.use_by) == (False, None, None)


def test_after_the_oven_the_desiccator_counts():
    oven = judged(stay(OVEN, 0, 168, "OV-1"), 168, 168)
    early = state_at(171, judged(stay(DRY, 168, code="DC-1"), 3, 171), oven)
    assert (early.ready, early.counted_s, early.earlier_s, early.in_earlier) == (False, 3 * 3600, 168 * 3600, False)
    assert early.expected_at == IN + HOUR * 172
    done = state_at(172, judged(stay(DRY, 168, code="DC-1"), 4, 172), oven)
    assert (done.ready, done.ready_at, done.stage_ready_at) == (True, IN + HOUR * 172, IN + HOUR * 172)
    assert done.sentence == "From the oven: complete since Mon 9 Mar 12:00, in DC-1; it may come out."


@pytest.mark.parametrize(("minutes", "ready"), [(30, True), (30.001, False)])
def test_the_window_of_the_way_followed_holds(minutes, ready):
    oven = judged(stay(OVEN, 0, 168, "OV-1"), 168, 168)
    out = judged(stay(DRY, 168, 173, "DC-1"), 5, 173)
    state = state_at(173 + minutes / 60, out, oven)
    assert (state.ready, state.use_by) == (ready, IN + HOUR * 173.5)


def test_the_desiccator_counts_nothing_while_the_oven_is_not_complete():
    oven = judged(stay(OVEN, 0, 168, "OV-1"), 150, 168, record_h=168)
    state = state_at(178, judged(stay(DRY, 168, code="DC-1"), 10, 178), oven)
    assert (state.ready, state.counted_s, state.not_counted_s, state.earlier_s) == (False, 0.0, 36000.0, 150 * 3600)
    assert (state.expected_at, state.ready_at, state.stage_ready_at, state.stay_counts) == (None, None, None, False)
    assert state.sentence == (
        "From the oven: no hour in DC-1 counts yet: 168 h at 68 to 72 °C come first, 150 h of it count."
    )


def test_a_record_of_the_oven_that_is_missing_can_still_be_brought_in():
    oven = judged(stay(OVEN, 0, 168, "OV-1"), 150, 168)
    state = state_at(178, judged(stay(DRY, 168, code="DC-1"), 10, 178), oven)
    assert (state.ready, state.expected_at) == (False, IN + HOUR * 178)
    assert state.sentence.endswith("150 h of it count; bring in its record.")


RANGE = (ROOM_WAY, replace(OVEN_WAY, earlier=Need(OVEN, Decimal(166), most_hours=Decimal(170))))


@pytest.mark.parametrize(("hours", "ready"), [(165.999, False), (166, True), (170, True), (170.001, False)])
def test_an_oven_has_a_shortest_and_a_longest_time(hours, ready):
    oven = judged(stay(OVEN, 0, hours, "OV-1"), hours, hours, record_h=hours)
    out = judged(stay(DRY, hours, code="DC-1"), 4, hours + 4)
    assert state_at(hours + 4, out, oven, needs=RANGE).ready is ready


def test_too_long_in_the_oven_is_said_there_and_after():
    oven = judged(stay(OVEN, 0, 171, "OV-1"), 171, 171)
    told = (
        "From the oven: it had 171 h where 166 to 170 h at 68 to 72 °C are asked for: too long; take another specimen."
    )
    during = state_at(171, oven, needs=RANGE)
    assert (during.sentence, during.stay_counts, during.stage_ready_at, during.expected_at) == (told, False, None, None)
    after = state_at(176, judged(stay(DRY, 171, code="DC-1"), 5, 176), oven, needs=RANGE)
    assert (after.sentence, after.ready, after.counted_s, after.earlier_s) == (told, False, 0.0, 171 * 3600)


def test_the_desiccator_without_any_oven():
    state = state_at(10, judged(stay(DRY, 0, code="DC-1"), 10, 10))
    assert (state.plan, state.ready, state.earlier_s) == ("oven", False, 0.0)
    assert state.sentence == (
        "From the oven: no hour in DC-1 counts yet: 168 h at 68 to 72 °C come first, none of it is on record."
    )


def test_an_atmosphere_of_no_way_names_none():
    state = state_at(10, judged(stay(HOT, 0, code="CH-1"), 10, 10))
    assert (state.plan, state.ready, state.stay_counts) == ("", False, False)
    assert state.sentence == (
        "Its stay in CH-1 was under 25 to 29 °C and 55 to 75 % RH; the method asks for 21 to 25 °C and 40 to 60 % RH, "
        "so no hour of it counts."
    )


def test_one_way_without_a_name_says_what_it_always_said():
    only = Need(CLASS_2, Decimal(48))
    state = state_at(49, judged(stay(CLASS_2, 0), 48, 49), needs=(only,))
    assert (state.plan, state.sentence) == ("", "Complete since Wed 4 Mar 08:00, in CH-1; it may come out.")


def test_before_any_stay_all_ways_are_said():
    assert without_stay(*NEEDS).sentence == (
        "Not in a chamber yet; 48 h at 21 to 25 °C and 40 to 60 % RH, "
        "or 168 h at 68 to 72 °C, then 4 h at 21 to 25 °C and 0 to 20 % RH are needed."
    )
