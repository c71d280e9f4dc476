"""What an amendment changes, in words."""

from dataclasses import replace
from datetime import date, timedelta

import pytest

from reports.domain.content import LevelContent
from reports.domain.content_items import Stated
from reports.domain.differences import differences, results_changed
from tests.reports.domain.sample import CONTENT, DEVIATION, ITEM, LINE, TRIAL


def test_equal_contents_have_no_differences():
    assert differences(CONTENT, CONTENT) == ()


def test_number_moment_and_signature_are_no_differences():
    later = CONTENT.issued_at + timedelta(days=2)
    signed = replace(LINE.signed, at=later, name="Sue Signatory")  # type: ignore[type-var]
    new = replace(CONTENT, number="26-0001-C2", issued_at=later, lines=(replace(LINE, signed=signed),))
    assert differences(CONTENT, new) == ()


@pytest.mark.parametrize(
    ("new", "sentence"),
    [
        (
            replace(CONTENT, client=replace(CONTENT.client, address="Sample Street 17")),
            "Client, address: “Sample Street 17” was “Sample Street 1”.",
        ),
        (replace(CONTENT, purchase_order=""), "Purchase-order number: “0047” is taken out."),
        (
            replace(CONTENT, items=(replace(ITEM, material=Stated("PA6-GF30", "client")),)),
            "Item 26-0001-001-7, material: “PA6-GF30” was “PA66-GF25”.",
        ),
        (
            replace(CONTENT, items=(replace(ITEM, deviations=(replace(DEVIATION, answered_on=date(2026, 3, 7)),)),)),
            "Item 26-0001-001-7, deviation, answered on: “7 March 2026” was “6 March 2026”.",
        ),
        (
            replace(
                CONTENT,
                lines=(replace(LINE, trials=(replace(TRIAL, quantities=(replace(TRIAL.quantities[0], text="30"),)),)),),
            ),
            "Line 1, specimen 26-0001-002-5, figure In contact: “30” was “30.0”.",
        ),
    ],
)
def test_a_difference_names_its_place_and_both_values(new, sentence):
    assert [one.sentence for one in differences(CONTENT, new)] == [sentence]


@pytest.mark.parametrize("schema", [1, 2])
def test_an_uncertainty_an_older_schema_could_not_say_is_no_difference(schema):
    figure = replace(TRIAL.quantities[0], uncertain="(30.0 ± 0.4) s", coverage="k = 2.00, 95.45 %")
    new = replace(CONTENT, lines=(replace(LINE, trials=(replace(TRIAL, quantities=(figure, *TRIAL.quantities[1:])),)),))
    assert differences(replace(CONTENT, schema=schema), new) == ()
    assert not results_changed(replace(CONTENT, schema=schema), new)
    assert [one.now for one in differences(CONTENT, new)] == ["(30.0 ± 0.4) s", "k = 2.00, 95.45 %"]


def test_rows_are_matched_by_name_and_not_by_place():
    other = replace(TRIAL, specimen=replace(TRIAL.specimen, number="2600010033"))
    two = replace(CONTENT, lines=(replace(LINE, trials=(TRIAL, other)),))
    turned = replace(CONTENT, lines=(replace(LINE, trials=(other, TRIAL)),))
    assert differences(two, turned) == ()


def test_a_row_more_is_added():
    other = replace(TRIAL, specimen=replace(TRIAL.specimen, number="2600010033"))
    new = replace(CONTENT, lines=(replace(LINE, trials=(TRIAL, other)),))
    (found,) = differences(CONTENT, new)
    assert (found.where, found.was) == ("Line 1, specimen 26-0001-003-3", "")


def test_results_change_only_with_verdicts_and_figures():
    moved = replace(CONTENT, client=replace(CONTENT.client, address="Elsewhere"))
    failed = replace(CONTENT, lines=(replace(LINE, state="failed"),))
    assert (results_changed(CONTENT, moved), results_changed(CONTENT, failed)) == (False, True)


def test_what_an_older_schema_could_not_say_is_no_difference():
    old = replace(CONTENT, schema=1)
    level = LevelContent("850 °C", "850", "passed", ("26-0001-002-5",), "")
    trial = replace(TRIAL, severity="850 °C", quantities=(replace(TRIAL.quantities[0], table=True),))
    line = replace(LINE, result="PTI 400", levels=(level,), severity_title="Voltage", trials=(trial,))
    new = replace(CONTENT, lines=(line,))
    assert (differences(old, new), results_changed(old, new)) == ((), False)
    longer = replace(new, lines=(replace(line, sentence="Failed at 850 °C: it burned."),))
    assert [one.where for one in differences(old, longer)] == ["Line 1, sentence"]
    assert results_changed(old, longer)


@pytest.mark.parametrize(
    ("line", "sentences", "changed"),
    [
        (
            replace(LINE, result="CTI 425"),
            ["Line 1, result as written: “CTI 425” was “CTI 400”."],
            True,
        ),
        (
            replace(LINE, result="CTI 400", agreed=("Specimens: 1 in place of 3.",)),
            ["Line 1, agreed in place of the standard: “Specimens: 1 in place of 3.” is added."],
            False,
        ),
        (
            replace(LINE, result="CTI 400", levels=(LevelContent("400 V", "400", "failed", (), ""),)),
            ["Line 1, level 400 V: “400 V, 400, failed” is added."],
            False,
        ),
    ],
)
def test_results_levels_and_agreed_figures_are_compared(line, sentences, changed):
    before = replace(CONTENT, lines=(replace(LINE, result="CTI 400"),))
    after = replace(CONTENT, lines=(line,))
    assert [one.sentence for one in differences(before, after)] == sentences
    assert results_changed(before, after) is changed
