"""Records that do not fit together: what is unknown stays unknown, whatever the method.

That a time is not known where a row is missing or rows contradict one another follows from the rule that nothing is
judged that was not recorded; the records are constructed.
"""

from dataclasses import replace
from decimal import Decimal
from pathlib import Path  # noqa: TID251  (worked examples are files)

import pytest

from tests.trials.domain import horizontal_flame_trial as horizontal
from tests.trials.domain import tracking_trial as tracking
from tests.trials.domain import vertical_flame_trial as vertical
from tests.trials.domain.glow_wire_trial import row
from trials.domain.judge_file import judge_case
from trials.domain.methods.base import MethodEdition
from trials.domain.methods.registry import EDITIONS
from trials.domain.records import Observation, TrialRecord
from trials.domain.verdicts import Verdict

D = Decimal
WORKED = Path(__file__).parents[4] / "fixtures" / "worked"
BURNING = {"ignites", "flame_out", "glow_starts", "glow_ends", "layer_catches", "layer_out", "surroundings_catch",
           "other_part_ignites", "shrank", "consumed", "front_first", "front_second", "damaged_length"}  # fmt: skip


def a_pass_of(edition: MethodEdition) -> TrialRecord:
    """The record of the first worked example of the method that passes although nothing is said to have burned."""
    for file in sorted((WORKED / edition.slug.replace("-", "_")).glob("*.json")):
        case = judge_case(file.read_text("utf-8"))
        for _, record, _ in case.records:
            calm = tuple(one for one in record.observations if one.kind not in BURNING)
            found = replace(record, observations=calm)
            if case.edition is edition and edition.judge(found).outcome == "pass":
                return found
    raise LookupError(edition.key)


FLAMES = sorted(
    {edition.slug: edition.key for edition in EDITIONS.values() if "put_out" in edition.kinds_by_key}.values()
)


@pytest.mark.parametrize("key", FLAMES)
def test_what_was_put_out_had_burned_and_nobody_knows_how_long(key: str) -> None:
    edition = EDITIONS[key]
    record = a_pass_of(edition)
    rows = (*record.observations, row("put_out", "34.0"))
    verdict = edition.judge(replace(record, observations=rows))
    said = "Put out by hand at 34.0 s, yet nothing that burned is recorded before it."
    assert (verdict.outcome, verdict.warnings.count(said)) == ("not judged", 1)


def bar(*rows: Observation) -> Verdict:
    return vertical.EDITION_2013.judge(vertical.trial(*rows))


FRAME = {"contact": "0", "withdrawn": "10", "second_on": "12", "second_off": "22", "watch_ends": "60"}


@pytest.mark.parametrize(
    ("times", "why"),
    [
        ({"second_on": "5", "second_off": "15"}, "the second application is recorded before the end of the first"),
        ({"second_on": "32"}, "the end of the second application is recorded before its begin"),
        ({"contact": "30"}, "the end of the first application is recorded before its begin"),
        ({"watch_ends": "21.9"}, "the watch ended at 21.9 s, before the flame was taken away at 22 s"),
    ],
)
def test_a_vertical_bar_whose_rows_are_out_of_order_is_not_judged(times: dict[str, str], why: str) -> None:
    verdict = bar(*(row(kind, t) for kind, t in {**FRAME, **times}.items()))
    sentence = verdict.sentence.partition(" (and")[0].rstrip(".")
    assert sentence == f"Not judged at best class: {why}"


def test_a_watch_that_ends_with_the_last_application_is_a_watch() -> None:
    assert bar(*(row(kind, t) for kind, t in {**FRAME, "watch_ends": "22"}.items())).outcome == "pass"


def test_a_flame_that_goes_on_through_the_second_application_is_its_afterflame_too() -> None:
    verdict = bar(*(row(kind, t) for kind, t in {**FRAME, "ignites": "3", "flame_out": "50"}.items()))
    assert [verdict.quantity(key).text for key in ("t1", "t2")] == ["at least 0", "28"]
    never_out = bar(*(row(kind, t) for kind, t in {**FRAME, "ignites": "3"}.items()))
    assert [never_out.quantity(key).text for key in ("t1", "t2")] == ["at least 0", "at least 0"]


def test_a_second_row_of_the_same_burner_out_takes_nothing_off_again() -> None:
    once = (row("gas_out", "4"), row("relit", "6"), *(row(k, t) for k, t in {**FRAME, "withdrawn": "12"}.items()))
    assert [bar(*once).outcome, bar(*once, row("gas_out", "5", row="again")).outcome] == ["pass", "pass"]


@pytest.mark.parametrize(
    ("rows", "sentence"),
    [
        ((row("damaged_length", value=D(37)),), "Passed at HB40: the front stopped 37 mm past the first mark."),
        ((row("damaged_length", value=D(0)),), "Passed at HB40: the front stopped before the first mark."),
    ],
)
def test_a_length_past_the_first_mark_says_that_the_front_was_there(rows: list[Observation], sentence: str) -> None:
    assert horizontal.judged(*horizontal.course(*rows, row("flame_out", "150"))).sentence == sentence


def test_a_horizontal_bar_watched_only_before_the_flame_was_taken_away_is_not_judged() -> None:
    verdict = horizontal.judged(row("contact", "0"), row("withdrawn", "30"), row("watch_ends", "29.9"))
    why = "the watch ended at 29.9 s, before the flame was taken away at 30 s"
    assert verdict.sentence == f"Not judged at best class: {why}."


def tripped(drop: int, fallen: int, asked: str) -> Verdict:
    rows = (row("contact", "0"), row("trip", "1500", D(drop)), row("withdrawn", "1510"), row("watch_ends", "1511"),
            row("drops_fallen", value=D(fallen)), row("hole", value=False))  # fmt: skip
    return tracking.EDITION_2020.judge(tracking.trial(*rows, setup={"drops_asked": asked}))


def test_a_trip_at_a_drop_that_never_fell_survives_nothing() -> None:
    late = tripped(51, 50, "50")
    assert late.sentence.startswith("Not judged at 400 V: the device tripped at drop 51, yet 50 drops fell")
    within = tripped(60, 30, "100")
    assert (within.outcome, within.quantity("survived").text) == ("not judged", "not known")
    assert (tripped(51, 51, "50").outcome, tripped(60, 60, "100").quantity("survived").text) == ("pass", "59")


def test_the_time_of_fifty_drops_is_asked_of_fifty_whatever_a_proof_is_made_with() -> None:
    edition = tracking.EDITION_2020
    longer = edition.revised(replace(edition.parameter("proof_drops"), value=D(100)))
    record = tracking.trial(*tracking.course(drops=100), edition=longer, setup={"drops_asked": "100"})
    assert longer.judge(record).outcome == "pass"
