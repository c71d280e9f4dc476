"""Texts change their first letter by one function alone: a blunt change of case spoils terms, symbols and units."""

import re
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
APPS = ("calibration", "labsite", "reports", "specimens", "trials")

BLUNT = re.compile(
    r"""\.capitalize\(\)|\.title\(\)|\|lower\b|\|capfirst\b|\|title\b|\[(?:0|:1)\]\.(?:lower|upper)\(\)"""
)
ALLOWED = {
    ("labsite/ledger/wording.py", "[:1].lower()"),
    ("labsite/ledger/wording.py", "[:1].upper()"),
    ("labsite/templates/base.html", "|lower"),
    ("specimens/domain/climate_columns.py", "[0].upper()"),
}
"""The function itself; an element's id, which nobody reads; a unit read from a file's heading."""


def test_no_code_or_template_changes_case_bluntly() -> None:
    found = {
        (str(path.relative_to(ROOT)), hit)
        for app in APPS
        for path in sorted((ROOT / app).rglob("*"))
        if path.suffix in {".py", ".html"}
        for hit in BLUNT.findall(path.read_text(encoding="utf-8"))
    }
    assert found == ALLOWED
