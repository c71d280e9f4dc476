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


def test_the_bench_has_one_function_for_first_letters_too() -> None:
    scripts = sorted((ROOT / "trials/static/trials").glob("*.js"))
    found = {
        path.name: re.findall(r".*(?:toLowerCase|toUpperCase).*", path.read_text(encoding="utf-8")) for path in scripts
    }
    assert {name: [line.partition(" =")[0] for line in lines] for name, lines in found.items() if lines} == {
        "course.js": ["export const lower"]
    }
