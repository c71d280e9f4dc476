"""What the methods say together: the staircase leads, the drift cuts it off, uses and counts stand beside them."""

from datetime import date
from decimal import Decimal

import pytest

from calibration.domain.interval_policy import IntervalPolicy
from calibration.domain.interval_proposal import Uses, proposal
from calibration.domain.interval_review import Place, Step, Visit

D = Decimal
SINCE = "trials since the newest calibration"


def yearly(*errors: str | None, permitted: str | None = "2.5") -> list[Visit]:
    """Calibrations at 850 °C on the same day of each year, oldest first; nothing was adjusted."""

    def place(error: str | None) -> Place:
        found = None if error is None else D(error)
        return Place(D("850.0"), "°C", found, found, None if permitted is None else D(permitted))

    return [Visit(date(2020 + n, 3, 1), (place(error),)) for n, error in enumerate(errors)]


def test_good_results_in_a_row_propose_a_longer_interval_with_the_numbers():
    found = proposal(yearly("0.1", "-0.4"), 12, "months", policy=IntervalPolicy(good_in_a_row=1))
    assert (found.step, found.present, found.interval, found.changes) == (Step.LENGTHEN, 12, 18, True)
    assert found.sentence == (
        "Calibrate less often: every 18 months in place of 12. On 1 Mar 2021 it was found 0.4 K off at 850.0 °C, "
        "0.160 of the 2.5 K permitted; 1 good result in a row after an interval like this one, where 1 are asked for "
        "to lengthen it."
    )


def test_a_result_beyond_its_limit_proposes_a_shorter_one():
    found = proposal(yearly("0.1", "0.2", "-3.9"), 12, "months")
    assert (found.step, found.interval) == (Step.SHORTEN, 7)
    assert found.sentence == (
        "Calibrate more often: every 7 months in place of 12. On 1 Mar 2022 it was found 3.9 K off at 850.0 °C, "
        "1.560 of the 2.5 K permitted, which is beyond its limit."
    )


def test_a_drift_that_reaches_its_limit_sooner_cuts_the_staircase_off():
    # The worked table of five years: within for 19 months after the newest; one month is taken as margin.
    found = proposal(yearly("0.1", "0.5", "0.8", "1.3", "1.6"), 24, "months")
    assert (found.step, found.interval) == (Step.SHORTEN, 18)
    assert [finding.interval for finding in found.findings if finding.method == "control chart"] == [18]
    assert found.sentence.startswith("Calibrate more often: every 18 months in place of 24. At 850.0 °C the error of")
    assert found.sentence.endswith(
        "5 calibrations moves by +0.380 K a year; with its expansion it stays within 2.5 K for 19 months after the "
        "newest, 18 with a margin."
    )


def test_a_far_drift_limits_how_much_longer_the_interval_gets():
    found = proposal(yearly("0.1", "0.5", "0.8", "1.3", "1.6"), 12, "months")
    assert [finding.interval for finding in found.findings[:2]] == [18, 18]
    assert (found.step, found.interval) == (Step.LENGTHEN, 18)
    strict = proposal(yearly("0.1", "0.5", "0.8", "1.3", "1.6"), 12, "months", policy=IntervalPolicy(margin_months=4))
    assert (strict.step, strict.interval) == (Step.LENGTHEN, 15)


def test_a_forecast_in_days_is_counted_in_days():
    found = proposal(yearly("0.1", "0.5", "0.8", "1.3", "1.6"), 730, "days")
    assert (found.interval, found.unit) == (547, "days")  # 18 mean months of 30.436875 days, cut off


@pytest.mark.parametrize(
    ("visits", "words"),
    [
        ([], "No accepted calibration speaks for it."),
        (
            yearly("0.1", None),
            "The newest calibration does not say how the instrument came in, so its history cannot be judged.",
        ),
        (
            yearly("0.1", permitted=None),
            "No permitted error is stated for what was calibrated, so its history cannot be judged.",
        ),
    ],
)
def test_a_history_that_cannot_be_judged_keeps_the_interval_and_says_why(visits, words):
    found = proposal(visits, 12, "months")
    assert (found.step, found.interval, found.changes) == (Step.UNKNOWN, 12, False)
    assert found.sentence == f"Keep 12 months. {words}"
    assert [finding.interval for finding in found.findings] == [None] * 3


def test_a_result_near_its_limit_keeps_the_interval():
    found = proposal(yearly("0.1", "2.1"), 12, "months")
    assert found.step is Step.KEEP
    assert found.sentence == (
        "Keep 12 months. On 1 Mar 2021 it was found 2.1 K off at 850.0 °C, 0.840 of the 2.5 K permitted; that is "
        "within, and above the 0.8 that would speak for a longer interval."
    )


@pytest.mark.parametrize(
    ("uses", "words"),
    [
        (Uses(0, ((0, True),)), "No trial has used it yet."),
        (Uses(3, ((0, True),)), f"3 {SINCE}; after how many it stays within limits is not known yet."),
        (Uses(0, ((60, True),)), f"0 {SINCE}; it was found within limits after 60."),
        (Uses(1), "1 trial since the newest calibration; after how many it stays within limits is not known yet."),
        (Uses(40, ((60, True), (90, False))), f"40 {SINCE}; it was found within limits after 60."),
        (Uses(60, ((60, True), (20, None))), f"60 {SINCE}; it was found within limits after 60."),
        (
            Uses(61, ((60, True), (20, True))),
            f"61 {SINCE}, more than the 60 after which it was ever found within limits: calibrate early?",
        ),
    ],
)
def test_the_in_use_time_is_set_beside_what_was_seen_good(uses: Uses, words: str):
    found = proposal(yearly("0.1"), 12, "months", uses)
    assert [finding.says for finding in found.findings if finding.method == "in-use time"] == [words]
    assert found.interval == 12


def test_without_a_count_of_uses_nothing_is_said_of_them():
    assert [finding.method for finding in proposal(yearly("0.1"), 12, "months").findings] == [
        "staircase",
        "control chart",
        "counts",
    ]


def test_the_counts_are_said_and_nothing_follows_from_them():
    found = proposal(yearly("0.1", "9.0", "0.1", "0.1"), 12, "months").findings[-1]
    # By hand: 3 of 4 within, target 0.95: 1 - 2 (1 - 0.95^4) = 0.62901250.
    assert found.says == (
        "3 of 4 came back within limits, which contradicts a target of 0.95 with 62.90 % confidence. "
        "No interval follows from the count."
    )
    assert found.interval is None
    none_out = proposal(yearly("0.1", "0.1"), 12, "months").findings[-1]
    assert none_out.says == (
        "2 of 2 came back within limits, which does not contradict a target of 0.95. "
        "No interval follows from the count."
    )


@pytest.mark.parametrize(
    ("errors", "words"),
    [
        (
            ("0.1", "0.2"),
            "Fewer than 3 calibrations say how it came in at the same place of its range; no line is drawn.",
        ),
        (("0.2", "0.2", "0.2"), "Nowhere does the drift reach its limit within ten years."),
        (("-2.0", "2.0", "-2.0", "2.0"), "At 850.0 °C the 4 errors scatter too much for a forecast."),
    ],
)
def test_what_the_chart_cannot_say_is_said(errors, words):
    found = proposal(yearly(*errors), 12, "months").findings[1]
    assert (found.says, found.interval) == (words, None)


def test_the_numbers_kept_with_a_decision_are_those_shown():
    found = proposal(yearly("0.1", "0.2"), 12, "months", Uses(3))
    assert found.numbers == {
        "present": "12 months",
        "proposed": "12 months",
        "sentence": found.sentence,
        "methods": {finding.method: finding.says for finding in found.findings},
    }
