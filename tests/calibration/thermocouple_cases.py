"""Readings of thermocouples gone wrong, constructed from the functions; the files lie in `fixtures/thermocouples`."""

import csv
from pathlib import Path

CASES = Path(__file__).parents[2] / "fixtures" / "thermocouples"


def case_rows(name: str) -> list[dict[str, str]]:
    """Return the rows of one file, by column."""
    with (CASES / name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))
