"""Reading the printed thermocouple tables of NIST SRD 60 as they are distributed (`type_k.tab` and so on)."""

import re
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

_ROW = re.compile(r"^\s*(-?\d+)((?:\s+-?\d+\.\d{3})+)\s*$")


def table_points(path: Path) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return every temperature with its printed emf, each once; rows below zero count downwards."""
    points: dict[int, float] = {}
    below = True
    for line in path.read_text(encoding="latin-1").splitlines():
        if re.match(r"^\s*\S*C\s+0\s", line):
            below = "-1" in line
        row = _ROW.match(line)
        if row is not None:
            start, direction = int(row[1]), -1 if below else 1
            for place, printed in enumerate(row[2].split()):
                points[start + direction * place] = float(printed)
    return np.array([float(t) for t in points]), np.array(list(points.values()))
