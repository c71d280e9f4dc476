"""Answers are stored and come back as they were."""

import pytest

from specimens.domain.climate_answers import Answers, ClimateRefused

ALL = Answers(
    encoding="cp1252",
    separator=";",
    decimal_mark=",",
    date_order="day-first",
    temperature_unit="F",
    zone="Europe/Berlin",
    utc_offset="+01:00",
    device="2",
    time_column=1,
    temperature_column=2,
    humidity_column=0,
    serial_epoch="1904",
    elapsed_unit="min",
    started_at="2026-11-17T08:00",
    doubtful_numbers="missing",
    conflicts="leave-out",
    fault_tokens=("n.d.",),
    genuine_tokens=("999",),
)


@pytest.mark.parametrize("answers", [Answers(), ALL, Answers(humidity_column=0)])
def test_answers_survive_being_stored(answers: Answers) -> None:
    assert Answers.from_json(answers.to_json()) == answers


def test_only_what_was_answered_is_stored() -> None:
    assert Answers(device="2").to_json() == {"device": "2"}


@pytest.mark.parametrize(
    ("stored", "sentence"),
    [
        ({"colour": "red"}, "“colour” is not something that can be answered about a climate file."),
        ({"conflicts": "keep"}, "The answer “keep” for conflicts is not one of: leave-out."),
        ({"temperature_column": "two"}, "The answer for temperature_column must be a column number, counted from 1."),
        ({"device": 2}, "The answer for device must be a text."),
        ({"fault_tokens": "x"}, "The answer for fault_tokens must be a list of texts."),
    ],
)  # fmt: skip
def test_answers_that_mean_nothing_are_refused(stored: dict[str, object], sentence: str) -> None:
    with pytest.raises(ClimateRefused) as caught:
        Answers.from_json(stored)
    assert caught.value.sentence == sentence
