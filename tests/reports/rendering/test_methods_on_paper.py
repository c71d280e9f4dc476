"""Certificates of every method, from the worked examples: the result as written, levels, sets, ways, risks."""

import re
import subprocess
from dataclasses import replace
from html import unescape

import pytest
from django.template.loader import render_to_string

from reports.domain.content import LevelContent
from reports.domain.content_items import Stated
from reports.rendering.evidence import is_drawn, shared_evidence
from reports.rendering.pdf import certificate_pdf, printed_context
from reports.rendering.print_course import course_drawing
from reports.rendering.tables import result_table, setup_rows, stays_of
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


@pytest.mark.parametrize("name", WRITTEN)
def test_times_are_counted_from_the_start_that_the_edition_names(name):
    start = {
        "glow_wire_end_product": "contact", "glow_wire_flammability_index": "contact",
        "glow_wire_ignition_temperature": "contact", "needle_flame": "flame on", "ball_pressure": "ball on",
        "horizontal_flame": "flame on", "vertical_flame": "flame on", "tracking": "first drop",
    }[name.partition("/")[0]]  # fmt: skip
    assert (
        f"Times are counted from the start of each trial ({start}) and given as recorded."
        in paper(worked_content(name))[1]
    )


def test_lines_that_start_otherwise_say_each_how():
    flame, drops = (worked_content(name) for name in ("needle_flame/one_of_three_fails", "tracking/cti_400_350"))
    lines = (flame.lines[0], replace(drops.lines[0], position=2))
    assert "start of each trial (flame on in line 1; first drop in line 2) and" in paper(replace(flame, lines=lines))[1]


@pytest.mark.parametrize("name", WRITTEN)
def test_nothing_is_said_twice(name):
    html, text = paper(worked_content(name))
    assert re.findall(r"(?:not )?met, (?:pass|fail)\b", text) == []
    line = worked_content(name).lines[0]
    assert [reason for reason in line.more_reasons if text.count(reason) != 1] == []
    assert re.findall(r">([a-z]+): \1 on<", html) == []
    lives = re.findall(r"<title>Life of the specimen", html)
    assert len(lives) <= 1


def test_a_search_at_one_level_names_it_for_each_specimen():
    line = worked_content("glow_wire_flammability_index/ladder_3_from_850").lines[0]
    trials = tuple(trial for trial in line.trials if trial.severity == line.trials[0].severity)
    table = result_table(replace(line, trials=trials))
    assert table.level_title == "Level"
    assert {row.level for group in table.groups for row in group.rows} == {line.trials[0].severity}


def test_each_level_of_the_set_up_has_the_limit_of_its_own():
    rows = setup_rows(worked_content("glow_wire_ignition_temperature/notation_775_3_0").lines[0])
    [tip] = [row for row in rows if row.title == "Tip temperature at contact"]
    assert (tip.limit, [one.criterion.limit for one in tip.found]) == (
        "", ["750 ± 10 °C", "800 ± 15 °C", "775 ± 10 °C"],
    )  # fmt: skip


def test_specimens_that_passed_alike_share_one_table_a_level():
    content = worked_content("tracking/cti_400_350")
    line = content.lines[0]
    shared = shared_evidence(line)
    assert [(one.level, len(one.rows)) for one in shared] == [("400 V", 5), ("350 V", 5)]
    together = [trial for one in shared for trial, _ in one.rows]
    assert [trial for trial in line.trials if trial not in together] == [
        one for one in line.trials if is_drawn(line, one)
    ]
    figures = {figure.title: figure.found for figure in shared[0].figures}
    assert figures["Last drop"] == (("1470.0 s", ()),)
    text = paper(content)[1]
    assert "Evidence, 400 V, 5 specimens that passed" in text
    assert text.count("Every limit is met at this level") == 2


def test_what_differs_between_specimens_names_them():
    line = worked_content("tracking/cti_400_350").lines[0]
    first = line.trials[0]
    assert first.severity == "400 V"
    other = replace(
        first,
        quantities=tuple(replace(one, text="1471.0") if one.key == "last_drop" else one for one in first.quantities),
    )
    [shared, _] = shared_evidence(replace(line, trials=(other, *line.trials[1:])))
    [last] = [figure for figure in shared.figures if figure.title == "Last drop"]
    assert [(shown, len(numbers)) for shown, numbers in last.found] == [("1471.0 s", 1), ("1470.0 s", 4)]


def test_a_figure_that_differs_more_stands_in_a_table():
    content = worked_content("tracking/cti_400_350")
    line = content.lines[0]
    times = {trial.specimen.number: f"{1470 + place}.5" for place, trial in enumerate(line.trials)}
    trials = tuple(
        replace(
            trial,
            quantities=tuple(
                replace(one, text=times[trial.specimen.number]) if one.title == "Last drop" else one
                for one in trial.quantities
            ),
        )
        for trial in line.trials
    )
    line = replace(line, trials=trials)
    [shared, _] = shared_evidence(line)
    assert [figure.title for figure in shared.varied] == ["Last drop"]
    assert shared.varied_rows == tuple((trial, (f"{times[trial.specimen.number]} s",)) for trial, _ in shared.rows)
    text = paper(replace(content, lines=(line,)))[1]
    assert "Specimen Last drop 26-0001-002-5 1470.5 s 26-0001-004-1 1472.5 s" in text


def test_thickness_and_surface_are_said_once_where_they_are_the_same():
    line = worked_content("tracking/cti_400_350").lines[0]
    thick = [
        replace(one, specimen=replace(one.specimen, thickness=Stated("3.2 mm", "laboratory"))) for one in line.trials
    ]
    [shared, _] = shared_evidence(replace(line, trials=tuple(thick)))
    assert shared.pieces == ("thickness 3.2 mm, measured here",)
    other = replace(line.trials[0], specimen=replace(thick[0].specimen, thickness=Stated("3.3 mm", "laboratory")))
    [shared, _] = shared_evidence(replace(line, trials=(other, *thick[1:])))
    assert shared.pieces[:2] == (
        "26-0001-002-5 thickness 3.3 mm, measured here", "26-0001-004-1 thickness 3.2 mm, measured here",
    )  # fmt: skip


def test_who_doubted_a_result_gets_an_account_of_its_own():
    line = worked_content("tracking/cti_400_350").lines[0]
    doubted = replace(line.trials[0], doubt="The pump stuttered.")
    line = replace(line, trials=(doubted, *line.trials[1:]))
    assert is_drawn(line, doubted)
    assert [len(one.rows) for one in shared_evidence(line)] == [4, 5]


@pytest.mark.parametrize("name", WRITTEN)
def test_the_signatures_stand_on_the_first_page(name, tmp_path):
    file = tmp_path / "certificate.pdf"
    file.write_bytes(certificate_pdf(worked_content(name), {}))
    run = subprocess.run(["pdftotext", "-l", "1", str(file), "-"], check=True, capture_output=True, text=True)  # noqa: S603, S607  (poppler on our own file)
    assert "Authorised and released" in run.stdout


def test_a_label_never_lies_across_a_flame():
    content = worked_content("horizontal_flame/hb75_75_mm_in_90_s")
    line, trial = content.lines[0], content.lines[0].trials[0]
    drawn = course_drawing(trial, EDITIONS[line.method_key])
    [box] = re.findall(r'<polygon points="([^"]*)"', drawn)
    corners = [tuple(map(float, corner.split(","))) for corner in box.split()]
    left, right = min(x for x, _ in corners), max(x for x, _ in corners)
    top, bottom = min(y for _, y in corners), max(y for _, y in corners)
    labels = re.findall(r'<text x="([\d.]+)" y="([\d.]+)" [^>]*text-anchor="(\w+)"[^>]*>([^<]*)<', drawn)
    inside = []
    for x, y, anchor, words in labels:
        length = len(words) * 7 * 0.5
        start = float(x) - {"start": 0.0, "middle": length / 2, "end": length}[anchor]
        if start < right and start + length > left and top - 1 < float(y) - 2 < bottom:
            inside.append(words)
    assert inside == []


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
    assert [one.trial for one in printed] == [one for one in content.lines[0].trials if one.outcome == "fail"]
    assert [bool(one.course) for one in printed] == [True, True]
