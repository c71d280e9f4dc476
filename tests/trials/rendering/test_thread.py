"""The evidence thread: knots at equal distance, gaps left open, long names within their column."""

import itertools
import re
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

from labsite.ledger.svg import CHARACTER_WIDTH_PX
from trials.queries.life import Stage
from trials.rendering.thread import NARROW_PX, thread_svg

BERLIN = ZoneInfo("Europe/Berlin")
START = datetime(2026, 3, 9, 9, 40, tzinfo=BERLIN)
LONG = "Wolfeschlegelsteinhausenbergerdorff-Featherstonehaugh of the Tests"


def stage(title, hours, **more):
    return Stage(title, START + timedelta(hours=hours), LONG, "GW-2, TC-05, IN-02, FG-02, TM-01, LG-01", **more)


STAGES = (
    stage("Received", 0),
    stage("Conditioned", 22, before=("22 h 30 min", "in C-3")),
    stage("Taken out", 94, before=("71 h 40 min count", "40 min do not"), busy=True, gaps=((0.5, 0.6),)),
    stage("Tested", 95, before=("44 min",)),
    Stage("Signed"),
    Stage("Checked"),
)


def test_knots_stand_at_equal_distance_and_open_ones_are_to_come():
    svg = thread_svg(STAGES, label="life")
    knots = re.findall(r'<circle class="(\w+)" cx="([\d.]+)%"', svg)
    assert [css for css, _ in knots] == ["dot"] * 4 + ["ring"] * 2
    places = [float(x) for _, x in knots]
    steps = {round(two - one, 1) for one, two in itertools.pairwise(places)}
    assert len(steps) == 1
    assert svg.count("still to come") == 2


def test_a_gap_is_an_open_slot_between_two_strokes():
    svg = thread_svg(STAGES, label="life")
    assert svg.count('class="busy"') == 2
    whole = thread_svg((STAGES[0], STAGES[1], stage("Taken out", 94, busy=True)), label="life")
    assert whole.count('class="busy"') == 1


def test_no_text_leaves_its_column_on_the_narrowest_page():
    svg = thread_svg(STAGES, label="life")
    column_px = NARROW_PX * (100 - 1.2) / 100 / len(STAGES)
    words = re.findall(r">([^<]+)</text>", svg)
    assert max(len(one) for one in words) * CHARACTER_WIDTH_PX <= column_px + 12


def test_a_stay_that_has_not_ended_is_drawn_half():
    svg = thread_svg((stage("Conditioned", 0), Stage("Taken out", before=("2 h count",), busy=True)), label="life")
    assert (svg.count('class="busy"'), svg.count("2 h count")) == (1, 1)


def test_names_are_escaped():
    assert "<b>" not in thread_svg((Stage("Received", START, "<b>x</b>", "<b>"),), label='"<b>')
