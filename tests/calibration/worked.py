"""Reads the worked examples of this app."""

import csv
from pathlib import Path

FOLDER = Path(__file__).resolve().parents[2] / "fixtures" / "worked" / "calibration"


def worked_rows(name: str) -> list[dict[str, str]]:
    """One file of worked examples, a dict per row."""
    with (FOLDER / name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))
