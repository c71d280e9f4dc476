"""Where published tables and files lie that are read by tests but do not belong to this project."""

import os
from pathlib import Path

import pytest


def reference_path(*parts: str) -> Path:
    """Return a path in the folder named by REFERENCE_DATA; the test is skipped, and says so, where it is not there."""
    folder = os.environ.get("REFERENCE_DATA")
    if not folder:
        pytest.skip("REFERENCE_DATA names no folder with the published tables: not compared with them")
    path = Path(folder, *parts)
    if not path.exists():
        pytest.skip(f"{path} is not there: not compared with it")
    return path
