"""The product-standard guide: rows that can be ordered, and how they are found. Levels are held row by row.

Expected levels: public excerpts and general knowledge, as each row says itself (`source`, `certainty`).
"""

from decimal import Decimal

import pytest

from trials.domain.methods.registry import EDITIONS
from trials.domain.parameter_changes import changed_edition, changes_from_json
from trials.domain.product_guide import GuideRow, found_rows, rows_for_standard
from trials.domain.product_guide_rows import ROWS, guide_row
from trials.domain.small_part import SMALL_PART_RULES

LEVELS = {
    ("IEC 60335-1", "glow-wire-end-product"): ["550", "750", "650", "850", "750", "650"],
    ("IEC 60335-1", "glow-wire-flammability-index"): ["850"],
    ("IEC 60335-1", "needle-flame"): ["30", "30", "30"],
    ("IEC 60335-1", "ball-pressure"): ["75", "125", ""],
    ("IEC 60335-1", "tracking"): ["100", "175", "400", "600"],
    ("IEC 60598-1", "glow-wire-end-product"): ["650"],
    ("IEC 60598-1", "needle-flame"): ["10"],
    ("IEC 60598-1", "ball-pressure"): ["75", "125"],
    ("IEC 60838-1", "glow-wire-end-product"): ["650"],
    ("IEC 60884-1", "glow-wire-end-product"): ["850", "750", "650"],
    ("IEC 60884-1", "ball-pressure"): ["125"],
    ("IEC 60669-1", "glow-wire-end-product"): ["850", "650"],
    ("IEC 60670-1", "glow-wire-end-product"): ["650", "850", "850"],
    ("IEC 60320-1", "glow-wire-end-product"): ["750", "650"],
    ("IEC 60898-1", "glow-wire-end-product"): ["960", "650"],
    ("IEC 61008-1", "glow-wire-end-product"): ["960", "650"],
    ("IEC 61009-1", "glow-wire-end-product"): ["960", "650"],
    ("IEC 61439-1", "glow-wire-end-product"): ["960", "850", "650"],
    ("IEC 60947-1", "glow-wire-end-product"): ["650", "850", "960"],
    ("IEC 61058-1", "glow-wire-end-product"): ["650", "750", "850"],
    ("IEC 60730-1", "glow-wire-end-product"): ["550", "750", "850"],
    ("IEC 62368-1", "vertical-flame"): ["V-1"],
    ("IEC 62368-1", "needle-flame"): [""],
}
JUDGED = {edition.slug for edition in EDITIONS.values()}


def row(key: str) -> GuideRow:
    found = guide_row(key)
    assert found is not None
    return found


def test_every_level_of_every_standard() -> None:
    found: dict[tuple[str, str], list[str]] = {}
    for one in ROWS:
        found.setdefault((one.standard, one.method), []).append(one.severity)
    assert found == LEVELS


def test_every_row_has_a_key_a_part_and_where_it_comes_from() -> None:
    assert len({one.key for one in ROWS}) == len(ROWS)
    assert [one.key for one in ROWS if not (one.part and one.source and one.certainty)] == []
    assert [one.key for one in ROWS if one.small_part_rule and one.small_part_rule not in SMALL_PART_RULES] == []


@pytest.mark.parametrize("one", [one for one in ROWS if one.method in JUDGED], ids=lambda one: one.key)
def test_every_row_can_be_ordered_by_every_edition_of_its_method(one: GuideRow) -> None:
    for edition in (edition for edition in EDITIONS.values() if edition.slug == one.method):
        changed_edition(edition, changes_from_json(edition, one.agreed))
        named = {level.label or f"{level.value:f}" for level in edition.severities}
        assert one.severity in {"", *named}


def test_what_the_rows_change_is_what_their_standards_say() -> None:
    needle = row("60335-1-30.2.4").agreed
    assert needle["burn_after_removal_s"] == {"high": "15"}
    assert (needle["specimens_needed"], needle["further_rule"]) == ({"value": "1"}, {"value": "after a fail"})
    assert row("60598-1-13.3-live").agreed == {"limit_inclusive": {"value": True}}
    assert [one.key for one in ROWS if "flame_line" in one.agreed] == ["60335-1-30.2.3.2-750", "60335-1-30.2.3.2-650"]
    assert row("60884-1-28-fixed").agreed == {"judge_scorching": {"value": True}}
    assert row("61439-1-other").agreed["small_part_rule"] == {"value": "14 mm square"}


def test_who_holds_the_protective_conductor_differs_by_standard() -> None:
    assert row("61439-1-other").severity == "650"
    assert "protective conductor" in row("61439-1-other").part
    assert row("60898-1-live").severity == "960"
    assert "protective-circuit" in row("60898-1-live").part


def test_what_replaces_a_test_at_a_thickness_not_above_the_parts() -> None:
    instead = {one.key: [e.text for e in one.instead] for one in ROWS if one.instead}
    assert instead == {
        "60335-1-30.2.1": ["GWFI at least 550", "class HB40 or better"],
        "60335-1-30.2.2-750": ["GWFI at least 750"],
        "60335-1-30.2.2-650": ["GWFI at least 650"],
        "60335-1-30.2.3.2-750": ["GWIT at least 775"],
        "60335-1-30.2.3.2-650": ["GWIT at least 675"],
        "60335-1-30.2.3.2-above": ["class V-1 or better"],
        "60335-1-30.2.4": ["class V-0"],
        "61439-1-live": ["GWFI at least 960"],
        "61439-1-wall": ["GWFI at least 850"],
        "61439-1-other": ["GWFI at least 650"],
        "62368-1-enclosure": ["class V-1 or better"],
    }


@pytest.mark.parametrize(
    ("typed", "keys"),
    [
        ("60670-1 hollow", ["60670-1-cavity"]),
        ("HOLLOW wall 850", ["60670-1-cavity", "61439-1-wall"]),
        ("glow wire end product 960 external", ["60898-1-live", "61008-1-live", "61009-1-live"]),
        ("nothing of the kind", []),
    ],
)
def test_every_typed_word_must_occur(typed: str, keys: list[str]) -> None:
    assert [one.key for one in found_rows(ROWS, typed)] == keys


def test_no_words_find_all_rows() -> None:
    assert found_rows(ROWS, "  ") == list(ROWS)


@pytest.mark.parametrize(
    ("typed", "keys"),
    [
        ("IEC 60670-1:2002", ["60670-1-boxes", "60670-1-cavity", "60670-1-live"]),
        ("EN 60335-2-9:2003, 30.2.2", ["60335-1-30.2.2-750", "60335-1-30.2.2-650"]),
        ("60335-1 30.2.3", ["60335-1-30.2.3.1", "60335-1-30.2.3.1-part", "60335-1-30.2.3.2-750",
                            "60335-1-30.2.3.2-650", "60335-1-30.2.3.2-above"]),
        ("IEC 61439-1, 10.2.3.2.1", ["61439-1-live", "61439-1-wall", "61439-1-other"]),
        ("IEC 61008", ["61008-1-live", "61008-1-other"]),
        ("IEC 60598-1, 99.9", ["60598-1-13.3-shock", "60598-1-13.3-live", "60598-1-13.2-external",
                               "60598-1-13.2-live"]),
        ("IEC 60335-3", []),
        ("the client's own", []),
        ("", []),
    ],
)  # fmt: skip
def test_rows_of_the_standards_that_are_named(typed: str, keys: list[str]) -> None:
    assert [one.key for one in rows_for_standard(ROWS, typed)] == keys


def test_a_part_2_is_read_with_part_1() -> None:
    assert rows_for_standard(ROWS, "IEC 60335-2-15") == rows_for_standard(ROWS, "IEC 60335-1")


def test_levels_are_figures_or_classes() -> None:
    figures = [one.severity for one in ROWS if one.severity and not one.severity.startswith("V-")]
    assert all(Decimal(figure) > 0 for figure in figures)
