"""What was read out of a climate file: the readings, everything that was understood, and everything that was odd."""

from dataclasses import dataclass
from datetime import datetime, timedelta

from specimens.domain.climate_answers import Answers, Option, Question
from specimens.domain.climate_arrays import FloatArray, TimeArray, instant_us, moment
from specimens.domain.climate_bytes import Damage
from specimens.domain.climate_clock_changes import ClockDecision
from specimens.domain.climate_columns import Column
from specimens.domain.climate_dates import DateOrder
from specimens.domain.climate_series import Gap, Series

MOST_LINES = 50


@dataclass(frozen=True, slots=True)
class Oddity:
    """Cells of one column that gave no value: the text as written, how often, and the first lines (at most 50)."""

    column: str
    token: str
    count: int
    lines: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Mark:
    """An event row: the recorder noted something at this moment without a reading."""

    at: datetime
    line: int
    text: str


@dataclass(frozen=True, slots=True)
class ClimateReading:
    """A record of temperature and humidity, ready to be judged.

    Arrays have one entry per reading: `times_utc` datetime64[us] strictly rising, `temperature_c` in degC and
    `humidity_percent` in % RH as float64 with NaN for missing, `temperature_as_read` in the unit of the file.
    Nothing is interpolated, clipped or corrected. Line numbers are those of the file, from 1.
    """

    file_name: str
    encoding: str
    separator: str
    decimal_mark: str | None
    preamble: tuple[str, ...]
    header_line: int
    columns: tuple[Column, ...]
    temperature_column: Column
    humidity_column: Column | None
    temperature_unit: str
    device: str | None
    date_order: DateOrder
    clock: ClockDecision
    times_utc: TimeArray
    temperature_c: FloatArray
    temperature_as_read: FloatArray
    humidity_percent: FloatArray
    interval: timedelta | None
    gaps: tuple[Gap, ...]
    faults: tuple[Oddity, ...]
    doubtful: tuple[Oddity, ...]
    marks: tuple[Mark, ...]
    damage: tuple[Damage, ...]
    repeats_dropped: int
    notices: tuple[str, ...]
    answers: Answers

    @property
    def rows(self) -> int:
        return int(self.times_utc.size)

    @property
    def first_at(self) -> datetime:
        return moment(int(self.times_utc[0].astype("int64")))

    @property
    def last_at(self) -> datetime:
        return moment(int(self.times_utc[-1].astype("int64")))

    @property
    def fault_count(self) -> int:
        return sum(fault.count for fault in self.faults)

    @property
    def questions(self) -> tuple[Question, ...]:
        """What may still be asked: cells that can be read in two ways have no value until someone says how."""
        if not self.doubtful or self.answers.doubtful_numbers:
            return ()
        shown = ", ".join(f"“{cell.token}” in line {cell.lines[0]}" for cell in self.doubtful[:5])
        options = (
            Option("missing", "they are faults and have no value"),
            Option("decimal", "their mark is a decimal mark"),
            Option("thousands", "their mark separates thousands"),
        )
        return (
            Question(
                "doubtful_numbers", f"Some numbers can be read in two ways: {shown}. How are they meant?", options
            ),
        )

    @property
    def series(self) -> Series:
        return Series(self.times_utc, self.temperature_c, self.humidity_percent)

    def covers(self, at: datetime) -> bool:
        """Whether a moment lies between the first and the last reading."""
        return instant_us(self.first_at) <= instant_us(at) <= instant_us(self.last_at)
