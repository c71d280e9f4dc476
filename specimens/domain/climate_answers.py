"""What a person confirmed about a climate file, what still has to be asked, and the refusal that carries it."""

from collections.abc import Mapping
from dataclasses import dataclass, fields
from typing import Any

DATE_ORDERS = {"day-first": "day first", "month-first": "month first", "year-first": "year first"}

CHOICES: dict[str, tuple[str, ...]] = {
    "separator": (",", ";", "\t", "|"),
    "decimal_mark": (".", ","),
    "date_order": tuple(DATE_ORDERS),
    "temperature_unit": ("C", "F", "K"),
    "serial_epoch": ("1900", "1904", "unix"),
    "elapsed_unit": ("ms", "s", "min", "h", "d"),
    "doubtful_numbers": ("missing", "decimal", "thousands"),
    "conflicts": ("leave-out",),
}


@dataclass(frozen=True, slots=True)
class Option:
    """One possible answer: the value to store and what it would mean, in words."""

    value: str
    label: str


@dataclass(frozen=True, slots=True)
class Question:
    """Something only a person can settle. `key` names the field of Answers that takes the answer."""

    key: str
    text: str
    options: tuple[Option, ...] = ()


class ClimateRefused(Exception):
    """The file cannot be taken as it is: one sentence with place and reason, and what would help.

    `questions` are non-empty when answers would let the same file be read; `understood` holds what had been
    made out by then, as plain data for the screen.
    """

    def __init__(
        self, sentence: str, *, questions: tuple[Question, ...] = (), understood: Mapping[str, Any] | None = None
    ) -> None:
        super().__init__(sentence)
        self.sentence = sentence
        self.questions = questions
        self.understood: dict[str, Any] = dict(understood or {})


@dataclass(frozen=True, slots=True)
class Answers:
    """What a technician confirmed; stored beside the file so that reading it again gives the same record.

    Columns are counted from 1; `humidity_column` 0 means that no humidity column is to be used.
    `utc_offset` is written "+01:00", `zone` is an IANA name, `started_at` an ISO date and time of the
    recorder's clock. `fault_tokens` are further texts that mean "no value", `genuine_tokens` are texts on the
    built-in fault list that this recorder does mean.
    """

    encoding: str | None = None
    separator: str | None = None
    decimal_mark: str | None = None
    date_order: str | None = None
    temperature_unit: str | None = None
    zone: str | None = None
    utc_offset: str | None = None
    device: str | None = None
    time_column: int | None = None
    temperature_column: int | None = None
    humidity_column: int | None = None
    serial_epoch: str | None = None
    elapsed_unit: str | None = None
    started_at: str | None = None
    doubtful_numbers: str | None = None
    conflicts: str | None = None
    fault_tokens: tuple[str, ...] = ()
    genuine_tokens: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        for name, choices in CHOICES.items():
            given = getattr(self, name)
            if given is not None and given not in choices:
                shown = ", ".join("tab" if choice == "\t" else choice for choice in choices)
                raise ClimateRefused(f"The answer “{given}” for {name} is not one of: {shown}.")

    def to_json(self) -> dict[str, Any]:
        """Only what was answered, as plain data."""
        given = {field.name: getattr(self, field.name) for field in fields(self)}
        return {
            name: list(value) if isinstance(value, tuple) else value
            for name, value in given.items()
            if value not in (None, ())
        }

    @classmethod
    def from_json(cls, stored: Mapping[str, Any]) -> "Answers":
        """The answers written by `to_json`. Raises ClimateRefused on a name or a kind of value we do not know."""
        known: dict[str, Any] = {}
        names = {field.name for field in fields(cls)}
        for name, value in stored.items():
            if name not in names:
                raise ClimateRefused(f"“{name}” is not something that can be answered about a climate file.")
            if name.endswith("_tokens"):
                if not (isinstance(value, list | tuple) and all(isinstance(each, str) for each in value)):
                    raise ClimateRefused(f"The answer for {name} must be a list of texts.")
                known[name] = tuple(value)
            elif name.endswith("_column"):
                if not isinstance(value, int) or isinstance(value, bool) or value < 0:
                    raise ClimateRefused(f"The answer for {name} must be a column number, counted from 1.")
                known[name] = value
            elif isinstance(value, str):
                known[name] = value
            else:
                raise ClimateRefused(f"The answer for {name} must be a text.")
        return cls(**known)
