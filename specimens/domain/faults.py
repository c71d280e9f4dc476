"""One thing wrong with what was typed, named so that it can stand beside its field."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Fault:
    """The field it belongs to and one sentence with the reason and a way on."""

    field: str
    sentence: str
