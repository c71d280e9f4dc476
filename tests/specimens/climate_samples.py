"""Recorder files for the tests: the worked files by name, and small files written in place."""

from pathlib import Path
from typing import Any

import pytest

from specimens.domain.climate_answers import Answers, ClimateRefused
from specimens.domain.climate_file import read_climate_file
from specimens.domain.climate_reading import ClimateReading

FOLDER = Path(__file__).resolve().parents[2] / "fixtures" / "worked" / "climate"
LABORATORY_ZONE = "Europe/Berlin"


def reading_of(name: str, **answers: Any) -> ClimateReading:
    """What a worked file gives in the laboratory's zone."""
    data = (FOLDER / name).read_bytes()
    return read_climate_file(data, file_name=name, zone=LABORATORY_ZONE, answers=Answers(**answers))


def refusal_of(name: str, **answers: Any) -> ClimateRefused:
    """Why a worked file is refused."""
    with pytest.raises(ClimateRefused) as caught:
        reading_of(name, **answers)
    return caught.value


def reading_of_text(text: str | bytes, zone: str = LABORATORY_ZONE, **answers: Any) -> ClimateReading:
    """What a file written in the test gives."""
    data = text if isinstance(text, bytes) else text.encode()
    return read_climate_file(data, file_name="record.csv", zone=zone, answers=Answers(**answers))


def refusal_of_text(text: str | bytes, zone: str = LABORATORY_ZONE, **answers: Any) -> ClimateRefused:
    """Why a file written in the test is refused."""
    with pytest.raises(ClimateRefused) as caught:
        reading_of_text(text, zone, **answers)
    return caught.value


def asked(refusal: ClimateRefused) -> dict[str, list[str]]:
    """The questions of a refusal: the name of each answer with the values offered."""
    return {question.key: [option.value for option in question.options] for question in refusal.questions}


def minutes(heading: str, row: str, count: int = 9) -> str:
    """A file with one row a minute; `row` is a template with the minute `m` and a running digit `d`."""
    return heading + "\n" + "".join(row.format(m=f"{minute:02d}", d=minute % 10) + "\n" for minute in range(count))


def instants(reading: ClimateReading) -> list[str]:
    """The times of all readings, ISO, UTC."""
    return [str(at)[:16] for at in reading.times_utc]
