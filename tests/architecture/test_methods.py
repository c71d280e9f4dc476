"""A method is one module, one registry line, one folder of worked examples and one help page, and nothing elsewhere."""

import json
import re
from pathlib import Path

import pytest

from trials.domain.methods.registry import EDITIONS

ROOT = Path(__file__).resolve().parents[2]
METHODS = ROOT / "trials" / "domain" / "methods"
SLUGS = sorted({edition.slug for edition in EDITIONS.values()})
RIG_KINDS = ROOT / "calibration" / "models" / "rigs.py"  # kinds of apparatus; one is called like the method run on it
SCREENS = [
    file
    for app in ("trials", "reports", "specimens", "calibration")
    for part in ("views", "templates", "forms", "queries", "actions", "rendering", "exports", "models", "static")
    for file in sorted((ROOT / app / part).rglob("*"))
    if file.suffix in {".py", ".html", ".txt", ".css", ".js", ".svg"} and file != RIG_KINDS
]


def test_every_module_of_the_folder_is_a_registered_method() -> None:
    modules = {file.stem for file in METHODS.glob("*.py")} - {"__init__", "base", "registry"}
    assert modules == {slug.replace("-", "_") for slug in SLUGS}


def test_every_method_is_one_line_of_the_registry() -> None:
    lines = re.findall(r"^ *\*(\w+)\.EDITIONS,", (METHODS / "registry.py").read_text("utf-8"), flags=re.MULTILINE)
    assert sorted(lines) == [slug.replace("-", "_") for slug in SLUGS]


@pytest.mark.parametrize("key", sorted(EDITIONS))
def test_every_edition_has_worked_examples_with_a_source(key: str) -> None:
    edition = EDITIONS[key]
    folder = ROOT / "fixtures" / "worked" / edition.slug.replace("-", "_")
    examples = [json.loads(file.read_text("utf-8")) for file in sorted(folder.glob("*.json"))]
    own = [example for example in examples if f"{example['method']}@{example['edition']}" == key]
    assert own, f"{folder} has no example for edition {edition.edition}"
    assert all(example["source"].strip() and example["expected"] for example in own)


@pytest.mark.parametrize("slug", SLUGS)
def test_every_method_has_a_help_page_with_its_cautions(slug: str) -> None:
    text = (ROOT / "trials" / "help" / f"{slug}.md").read_text("utf-8")
    title = next(edition.title for edition in EDITIONS.values() if edition.slug == slug)
    assert text.startswith(f"# {title}\n")
    assert "local codes" in text


@pytest.mark.parametrize("key", sorted(EDITIONS))
def test_every_edition_states_what_the_pages_are_made_from(key: str) -> None:
    edition = EDITIONS[key]
    stated = (
        edition.parameters, edition.severities, edition.instruments, edition.setup_fields, edition.observation_kinds,
        edition.quantities, edition.decision_rules, edition.cautions,
    )  # fmt: skip
    assert all(stated)


@pytest.mark.parametrize("slug", SLUGS)
def test_no_screen_names_a_method(slug: str) -> None:
    names = (slug, slug.replace("-", "_"))
    naming = [str(f.relative_to(ROOT)) for f in SCREENS if any(name in f.read_text("utf-8") for name in names)]
    assert naming == []
