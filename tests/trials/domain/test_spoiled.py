"""What spoils a trial does so while its source acts, and only then. Source: a reading of the methods' own words."""

import pytest

from tests.trials.domain import ball_pressure_trial as ball
from tests.trials.domain import needle_flame_trial as needle
from tests.trials.domain.glow_wire_trial import row
from trials.domain.verdicts import Verdict


def with_needle(*moments: str, off: bool = True) -> Verdict:
    ends = [row("withdrawn", "29.5")] if off else []
    rows = (row("contact", "0.0"), *ends, row("watch_ends", "99.0"), *(row("burner_out", t) for t in moments))
    return needle.EDITION_2016.judge(needle.trial(*rows))


@pytest.mark.parametrize(
    ("moments", "outcome"),
    [
        (("-50",), "pass"), (("0.0",), "invalid"), (("29.5",), "invalid"), (("29.6",), "pass"),
        (("-50", "12.0"), "invalid"), (("40", "50"), "pass"),
    ],
)  # fmt: skip
def test_a_burner_that_goes_out_spoils_the_trial_while_its_flame_is_on(moments, outcome):
    assert with_needle(*moments).outcome == outcome


def test_the_burner_and_when_it_went_out_are_named():
    assert with_needle("-50", "12.0").sentence == (
        "Invalid at 30 s: the burner went out at 12.0 s, before the flame was taken away."
    )


def test_without_the_end_of_the_application_it_is_unknown_whether_it_spoiled_anything():
    verdict = with_needle("12.0", off=False)
    assert (verdict.outcome, verdict.reasons) == (
        "not judged",
        (
            "How long the flame was applied is not recorded.",
            "The burner went out at 12.0 s; when the flame was taken away is not recorded.",
        ),
    )


@pytest.mark.parametrize(("moment", "outcome"), [("-1", "pass"), ("3612.0", "invalid"), ("3612.1", "pass")])
def test_a_ball_that_moves_spoils_the_trial_while_it_is_on(moment, outcome):
    assert ball.EDITION_2014.judge(ball.trial([*ball.course("1.5"), row("ball_moved", moment)])).outcome == outcome
