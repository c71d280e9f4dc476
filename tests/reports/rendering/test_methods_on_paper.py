"""Certificates of every method, from the worked examples: the result as written, levels, sets, ways, risks."""

import re
from dataclasses import replace
from html import unescape

import pytest
from django.template.loader import render_to_string

from reports.domain.content import LevelContent
from reports.rendering.pdf import certificate_pdf, printed_context
from reports.rendering.tables import result_table, stays_of
from tests.reports.domain.sample import CONTENT, LINE, TRIAL
from tests.reports.worked import worked_content
from trials.domain.methods.registry import EDITIONS

WRITTEN = {
    "glow_wire_end_product/no_ignition_passes": "",
    "glow_wire_flammability_index/ladder_3_from_850": "GWFI: 775/3.0",
    "glow_wire_ignition_temperature/notation_775_3_0": "GWIT: 775/3.0",
    "needle_flame/one_of_three_fails": "",
    "ball_pressure/dent_2_0_mm_passes": "ball pressure 125 °C: d = 2.0 mm",
    "horizontal_flame/hb75_75_mm_in_90_s": "HB75 at 3.0 mm",
    "vertical_flame/second_set_complies_v_0": "V-0 at 1.5 mm",
    "tracking/cti_400_350": "CTI 400 (350)",
}
"""A worked example of each method, and its result in the trade's notation (IEC 60695-2-12, -2-13, 60112)."""


def paper(content):
    """The sheets as text, tags and extra spaces left out."""
    html = render_to_string("reports/print/certificate.html", printed_context(content, {}) | {"draft": False})
    return html, " ".join(unescape(re.sub(r"<[^>]+>", " ", re.sub(r"(?s)<svg.*?</svg>", " ", html))).split())


def test_every_method_is_printed_here():
    slugs = {name.partition("/")[0].replace("_", "-") for name in WRITTEN}
    assert slugs == {edition.slug for edition in EDITIONS.values()}


@pytest.mark.parametrize("name", WRITTEN)
def test_the_result_stands_large_and_every_specimen_below(name):
    content = worked_content(name)
    html, text = paper(content)
    line = content.lines[0]
    assert re.findall(r'<p class="written">([^<]*)</p>', html) == ([WRITTEN[name]] if WRITTEN[name] else [])
    assert line.rest in text
    table = result_table(line)
    assert [row.trial for group in table.groups for row in group.rows] == list(line.trials)
    assert set(table.titles) <= {kind.title for kind in EDITIONS[line.method_key].quantities if kind.table}
    assert certificate_pdf(content, {})[:5] == b"%PDF-"


def test_a_search_prints_its_ladder_its_levels_and_a_column_of_levels():
    html, text = paper(worked_content("glow_wire_flammability_index/ladder_3_from_850"))
    assert "Search by levels. 850 °C: 1 of 1 failed; 800 °C: 1 of 1 failed; 750 °C: 3 of 3 passed" in html
    assert "800 °C failed 1 failed 26-0001-003-3" in text
    assert "Level Index search;" in text
    assert "26-0001-004-1 750 °C 0 s no ignition not caught no ignition no glow passed" in text


def test_sets_of_bars_stand_apart_with_their_totals():
    line = worked_content("vertical_flame/second_set_complies_v_0").lines[0]
    table = result_table(line)
    assert [(group.title, group.state, len(group.rows)) for group in table.groups] == [
        ("first set, room", "open", 5), ("second set, room", "passed", 5), ("first set, oven", "passed", 5),
    ]  # fmt: skip
    assert table.groups[1].note == "V-0: all 5 bars meet V-0, total 0 s"
    assert table.titles == (
        "Afterflame, first", "Afterflame, second", "Afterglow, second", "Cotton", "Burned to the clamp",
        "Best class of this bar",
    )  # fmt: skip
    assert table.level_title == ""


def test_what_belongs_to_no_set_stands_last():
    other = replace(TRIAL, specimen=replace(TRIAL.specimen, number="2600010033"))
    third = replace(TRIAL, specimen=replace(TRIAL.specimen, number="2600010041"))
    levels = (
        LevelContent("first set", "", "passed", ("26-0001-002-5",), "fine"),
        LevelContent("second set", "", "failed", ("26-0001-003-3",), "not fine"),
    )
    table = result_table(replace(LINE, trials=(TRIAL, other, third), levels=levels))
    assert [(group.title, [row.trial for row in group.rows]) for group in table.groups] == [
        ("first set", [TRIAL]), ("second set", [other]), ("in no set", [third]),
    ]  # fmt: skip


def test_each_way_of_conditioning_names_its_specimens_and_stages():
    content = worked_content("vertical_flame/second_set_complies_v_0")
    assert [(stay.way, len(stay.stages), len(numbers)) for stay, numbers in stays_of(content)] == [
        ("From the room", 1, 10), ("From the oven", 2, 5),
    ]  # fmt: skip
    assert "Conditioning, from the oven Ageing oven in C-1" in paper(content)[1]
    assert [numbers for _, numbers in stays_of(CONTENT)] == [()]


def test_a_figure_nobody_took_has_no_column():
    titles = result_table(worked_content("tracking/cti_400_350").lines[0]).titles
    assert "Erosion" not in titles
    assert "Erosion" in result_table(worked_content("tracking/cti_400_with_erosion").lines[0]).titles


def test_the_statement_of_a_decision_rule_and_its_risk_are_printed():
    text = paper(worked_content("ball_pressure/guard_band_passes_conditionally"))[1]
    assert "Conditionally passed at 125 °C." in text
    assert "conditional pass" in text
    assert "risk of accepting wrongly 50 %" in text


def test_flags_agreed_figures_departures_and_further_places_are_printed():
    other = replace(
        TRIAL,
        specimen=replace(TRIAL.specimen, number="2600010033"),
        severity="800 °C",
        departure="The client asked for it.",
        again="The corner is far from the first place.",
        point="corner",
    )
    line = replace(
        LINE,
        trials=(replace(TRIAL, severity="850 °C"), other),
        flags=("Passed above a fail.",),
        agreed=("Specimens: 1 in place of 3.",),
        figures="revision 2 of the laboratory’s parameter sheet for this edition",
    )
    text = paper(replace(CONTENT, lines=(line,), items=(replace(CONTENT.items[0], photos=()),)))[1]
    assert "Passed above a fail." in text
    assert "Agreed in place of the standard: Specimens: 1 in place of 3." in text
    assert "Judged by revision 2 of the laboratory’s parameter sheet for this edition." in text
    assert (
        "Specimen 26-0001-003-3 was tested at 800 °C, which is not the level the rule called for next: "
        "The client asked for it."
    ) in text
    assert "Specimen 26-0001-003-3 was tested at another place, corner: The corner is far from the first place." in text
    assert "26-0001-003-3 800 °C" in text


def test_of_many_trials_only_those_that_did_not_pass_are_drawn():
    content = worked_content("tracking/cti_400_350")
    printed = printed_context(content, {})["trials"]
    assert [bool(one.course) for one in printed] == [one.trial.outcome == "fail" for one in printed]
