"""A line at one level: trials at another level never count, and the dents are written in the order of the trials."""

from dataclasses import replace
from decimal import Decimal
from itertools import permutations

import pytest

from tests.trials.domain import ball_pressure_trial as ball
from tests.trials.domain import glow_wire_trial as glow_wire
from tests.trials.domain import needle_flame_trial as needle
from trials.domain.line_result import Asked, Doubt, LineTrial
from trials.domain.parameter_changes import changed_edition

D = Decimal
GLOW_WIRE = glow_wire.EDITION_2021
PASSES = {
    GLOW_WIRE: (glow_wire.trial(*glow_wire.course()), "850 °C", "750 °C", D(750)),
    needle.EDITION_2016: (needle.trial(*needle.course()), "30 s", "10 s", D(10)),
    ball.EDITION_2014: (ball.trial(ball.course("1.5")), "125 °C", "75 °C", D(75)),
}


@pytest.mark.parametrize("edition", PASSES, ids=lambda one: one.slug)
def test_a_trial_at_another_level_never_counts(edition):
    record, ordered, other, level = PASSES[edition]
    passes = LineTrial("01", edition.judge(record), 0, level)
    line = edition.judge_line(Asked(record.severity), [passes])
    assert (line.state, line.counted, line.set_aside) == ("not started", (), ("01",))
    assert line.flags == (f"Specimen 01 does not count: it was tested at {other}, not at {ordered}.",)
    right = edition.judge_line(Asked(record.severity), [replace(passes, severity=record.severity)])
    assert (right.counted, right.set_aside, right.flags) == (("01",), (), ())


def test_a_fail_with_no_further_specimens_stays_a_fail():
    edition = changed_edition(
        GLOW_WIRE, {"further_rule": {"value": "after a fail"}, "further_specimens": {"value": D(0)}}
    )
    late = (glow_wire.row("ignites", "5.0"), glow_wire.row("flame_out", "70.0"))
    fails = edition.judge(glow_wire.trial(*glow_wire.course(*late, watch="75.0"), edition=edition))
    line = edition.judge_line(Asked(D(850)), [LineTrial("01", fails, 0, D(850))])
    assert line.sentence == (
        "Failed at 850 °C: specimen 01, the flame ended at 70.0 s, 9.8 s after the limit of 60.2 s."
    )


GUARDED = ball.edition(
    {
        "decision_rule": {"value": "guard band"},
        "u_dent_mm": {"value": D("0.2")},
        "further_rule": {"value": "after a fail"},
    }
)


def dents(*texts: str) -> list[LineTrial]:
    """One trial for each dent; several readings are joined by a plus."""
    verdicts = [GUARDED.judge(ball.trial(ball.course(*text.split("+")), judged_by=GUARDED)) for text in texts]
    return [LineTrial(f"{n:02}", verdict, n, D(125)) for n, verdict in enumerate(verdicts)]


@pytest.mark.parametrize(
    ("texts", "sentence"),
    [
        (("2.1", "1.0", "1.0"), "Passed at 125 °C: 2 specimens tested further, all passed."),
        (("2.1", "1.9", "1.0"), "Conditionally passed at 125 °C: 2 specimens tested further, all passed."),
    ],
)
def test_a_fail_that_further_specimens_outweigh_does_not_name_the_pass(texts, sentence):
    assert GUARDED.judge_line(Asked(D(125)), dents(*texts)).sentence == sentence


def test_dents_are_written_in_the_order_of_the_trials_whatever_order_they_come_in():
    trials = dents("2.1", "1.0", "1.2")
    lines = {GUARDED.judge_line(Asked(D(125)), order) for order in permutations(trials)}
    assert [line.result for line in lines] == ["ball pressure 125 °C: d = 2.1, 1.0, 1.2 mm"]


def test_the_order_of_doubts_changes_no_word():
    passes = LineTrial("01", GLOW_WIRE.judge(glow_wire.trial(*glow_wire.course())), 0, D(850))
    doubts = [Doubt("01", reason, before) for reason in ("flicker", "") for before in (True, False)]
    lines = {GLOW_WIRE.judge_line(Asked(D(850)), [passes], order) for order in permutations(doubts)}
    assert len(lines) == 1
