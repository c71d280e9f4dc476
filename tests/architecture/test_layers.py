"""The arrows between the apps and inside each hold as pyproject.toml draws them, and the drawing itself bites."""

import os
import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
APPS = ["reports", "trials", "specimens", "calibration"]

BETWEEN_APPS = "Arrows between apps point down only"
SITE = "The site is imported by none, its ledger aside"
LEDGER = "The ledger knows nothing of the site above it"
INSIDE_APPS = "Arrows inside an app point down only"
INSIDE_LEDGER = "Arrows inside the ledger point down only"
PURE = "Domain code knows no framework"
VIEWS = "Views reach models only through actions and queries"
ALL = {BETWEEN_APPS, SITE, LEDGER, INSIDE_APPS, INSIDE_LEDGER, PURE, VIEWS}


def kept_and_broken(folder: Path) -> tuple[set[str], set[str], str]:
    """Run the contracts over the packages in `folder`: names of those kept, of those broken, and the whole output."""
    run = subprocess.run(
        [
            sys.executable,
            "-c",
            "from importlinter.cli import lint_imports_command; lint_imports_command()",
            "--no-cache",
            "--no-logo",
        ],
        cwd=folder,
        env={**os.environ, "PYTHONPATH": str(folder), "COLUMNS": "200"},
        capture_output=True,
        text=True,
        check=False,
    )
    marks = re.findall(r"^(.+?) (KEPT|BROKEN)(?: \(.*\))?$", run.stdout, flags=re.MULTILINE)
    return (
        {name for name, mark in marks if mark == "KEPT"},
        {name for name, mark in marks if mark == "BROKEN"},
        run.stdout + run.stderr,
    )


def empty_house(folder: Path) -> None:
    """Lay out the apps with empty modules, under the project's own contracts."""
    modules = [f"{app}/{part}" for app in APPS for part in ("domain", "models", "queries", "actions", "forms", "views")]
    modules += [f"labsite/{part}" for part in ("settings", "urls", "checks")]
    modules += [
        f"labsite/ledger/{part}"
        for part in (
            "domain",
            "numbering",
            "refusals",
            "wording",
            "fields",
            "models",
            "queries",
            "actions",
            "access",
            "middleware",
        )
    ]
    for module in modules:
        package = folder / module
        package.mkdir(parents=True)
        (package / "__init__.py").touch()
    for parent in (*APPS, "labsite", "labsite/ledger"):
        (folder / parent / "__init__.py").touch()
    shutil.copy(ROOT / "pyproject.toml", folder)


def test_arrows_hold() -> None:
    kept, broken, output = kept_and_broken(ROOT)
    assert (kept, broken) == (ALL, set()), output


@pytest.mark.parametrize(
    ("place", "line", "expected"),
    [
        ("specimens/domain", "import calibration.domain", set()),
        ("trials/views", "import trials.actions, trials.queries, labsite.ledger.queries", set()),
        ("calibration/models", "import specimens.models", {BETWEEN_APPS}),
        ("labsite/ledger/queries", "import calibration.domain", {BETWEEN_APPS}),
        ("reports/actions", "import labsite.urls", {SITE}),
        ("reports/actions", "from labsite import settings", {SITE}),
        ("labsite/ledger/access", "import labsite.checks", {LEDGER}),
        ("specimens/models", "import specimens.actions", {INSIDE_APPS}),
        ("specimens/handy", "", {INSIDE_APPS}),
        ("labsite/ledger/models", "import labsite.ledger.access", {INSIDE_LEDGER}),
        ("trials/domain", "from django.utils import timezone", {PURE}),
        ("trials/views", "import trials.models", {VIEWS}),
        ("reports/views", "from labsite.ledger.models import User", {VIEWS}),
    ],
)
def test_planted_import_breaks_exactly_its_contract(tmp_path: Path, place: str, line: str, expected: set[str]) -> None:
    empty_house(tmp_path)
    (tmp_path / place).mkdir(exist_ok=True)
    (tmp_path / place / "__init__.py").write_text(line + "\n", encoding="utf-8")
    _, broken, output = kept_and_broken(tmp_path)
    assert broken == expected, output
