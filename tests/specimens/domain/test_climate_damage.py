"""Damaged files and files that are no record: good rows are kept, the rest is named, nothing else is raised."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from specimens.domain.climate_answers import Answers, ClimateRefused
from specimens.domain.climate_file import read_climate_file
from tests.specimens.climate_samples import (
    FOLDER,
    instants,
    minutes,
    reading_of,
    reading_of_text,
    refusal_of,
    refusal_of_text,
)


def test_zero_bytes_and_half_a_last_line() -> None:
    reading = reading_of("nul_block.csv")
    assert reading.rows == 20
    assert [(place.line, place.size) for place in reading.damage] == [(12, 512)]
    assert reading.notices == (
        "Line 12 holds 512 zero bytes where text should be: the file is damaged there.",
        "Line 22 is cut off; its reading is not used.",
    )
    assert instants(reading)[-1] == "2026-11-17T07:19"


@pytest.mark.parametrize(
    ("name", "sentence"),
    [
        ("empty.csv", "empty.csv: the file is empty."),
        ("bom_only.csv", "bom_only.csv: the file is empty."),
        ("blank_lines.csv", "blank_lines.csv: the file is empty."),
        (
            "header_only.csv",
            "header_only.csv holds no readings: line 1 is a heading and nothing follows it that is a reading.",
        ),
        (
            "renamed_xlsx.csv",
            (
                "renamed_xlsx.csv is a spreadsheet workbook under another name: give it the ending .xlsx, or open it "
                "and export the sheet as CSV."
            ),
        ),
        (
            "html_named.xls",
            "html_named.xls is a web page or XML document, not a table of readings: export the record as CSV instead.",
        ),
    ],
)
def test_files_that_hold_no_record(name: str, sentence: str) -> None:
    refusal = refusal_of(name)
    assert (refusal.sentence, refusal.questions) == (sentence, ())


def test_zero_bytes_inside_a_line_do_not_glue_its_neighbours() -> None:
    before = minutes("time,temp_c,rh_pct", "17.11.2026 08:{m},23.{d},50.1", 5)
    after = "".join(f"17.11.2026 08:{minute:02d},23.0,50.1\n" for minute in (7, 8))
    # the second file's remains look like a whole line of 7 November
    for torn in (
        "17.11.2026 08:05,23\0\0\0\0.11.2026 08:06,23.5,50.1\n",
        "17.11.2026 08:05,23.1,5\0\0\0\x007.11.2026 08:06,23.5,50.1\n",
    ):
        reading = reading_of_text(before + torn + after)
        assert [at[14:] for at in instants(reading)] == ["00", "01", "02", "03", "04", "07", "08"]
        assert [place.line for place in reading.damage] == [7]


@pytest.mark.parametrize(
    ("end", "rows"),
    [
        ("\n2026-11-17 08:09,23.4", 10),
        ("\n2026-11-17 08:09,23.", 9),
        ("\n2026-11-17 08:09,2", 9),
        ("\n2026-11-17 08:09,", 9),
        ("\n2026-11-17 08:0", 9),
        ("\n2026-11", 9),
    ],
)
def test_last_line_without_an_end(end: str, rows: int) -> None:
    assert reading_of_text(minutes("time,temp_c", "2026-11-17 08:{m},23.{d}").rstrip("\n") + end).rows == rows


@pytest.mark.parametrize(
    ("data", "sentence"),
    [
        (
            b"\x1f\x8b1234",
            "record.csv is a gzip archive, not a table of readings: export the record as CSV and bring that in.",
        ),
        (b"\0" * 400, "record.csv holds nothing but zero bytes: it was damaged, take it from the recorder again."),
        (bytes(range(256)) * 20, "record.csv is not a text file: export the record as CSV and bring that in."),
        (
            b"2026-11-17 08:00,23.1\n2026-11-17 08:01,23.1\n",
            (
                "record.csv has no heading above its first reading in line 1: without one nobody can tell which column "
                "is which; add a heading line such as time;temp °C;RH %."
            ),
        ),
        (
            b"day,temp_c\n2026-11-17,23.1\n2026-11-18,23.1\n",
            "Column “day” of record.csv has dates without a time of day: no hours can be counted.",
        ),
    ],
)
def test_what_is_no_record_is_refused_in_one_sentence(data: bytes, sentence: str) -> None:
    assert refusal_of_text(data).sentence == sentence


def test_an_unbalanced_quote_takes_no_rows_away() -> None:
    text = minutes("time,temp_c,note", "2026-11-17 08:{m},23.{d},x").replace("23.4,x", '23.4,5" pipe')
    assert reading_of_text(text).rows == 9
    assert reading_of_text(text.replace("23.7,x", '23.7,"x')).rows == 9


def test_a_clock_outside_all_reason_is_refused() -> None:
    text = "Time,Temp C\n46343.3,23.0\n99946343.3,23.0\n"
    assert refusal_of_text(text, serial_epoch="1900").sentence == (
        "The time in line 3 lies outside the years 1970 to 2199."
    )


WORKED = sorted(path.name for path in FOLDER.iterdir() if path.suffix in (".csv", ".xls", ".xlsx"))
ANSWERED = Answers(
    temperature_unit="C",
    utc_offset="+01:00",
    date_order="day-first",
    conflicts="leave-out",
    serial_epoch="1900",
    started_at="2026-11-17T08:00",
    decimal_mark=".",
)


@given(
    st.sampled_from(WORKED),
    st.lists(st.tuples(st.floats(0, 1), st.integers(0, 40), st.binary(max_size=12)), min_size=1, max_size=3),
    st.sampled_from([Answers(), ANSWERED]),
)
@settings(deadline=None)
def test_a_damaged_file_is_read_in_order_or_refused(
    name: str, cuts: list[tuple[float, int, bytes]], answers: Answers
) -> None:
    data = (FOLDER / name).read_bytes()
    for place, length, junk in cuts:
        at = int(place * len(data))
        data = data[:at] + junk + data[at + length :]
    try:
        reading = read_climate_file(data, file_name=name, zone="Europe/Berlin", answers=answers)
    except ClimateRefused:
        return  # with a sentence, which is all that is asked for here
    assert bool((np.diff(reading.times_utc) > np.timedelta64(0, "us")).all())
    assert reading.rows == reading.temperature_c.size == reading.humidity_percent.size
