"""Other files of the same kinds, written in place; expectations worked out by hand from the text above each."""

import numpy as np
import pytest

from tests.specimens.climate_samples import (
    asked,
    instants,
    minutes,
    reading_of_text,
    refusal_of_text,
)


@pytest.mark.parametrize(
    ("heading", "row"),
    [
        ("Date;Time;Temp °C;RH %", "17.11.2026;08:{m}:00;23,{d};50,1"),
        ('"Time","Temp (°C)","RH (%)"', '"17.11.2026 08:{m}","23,{d}","50,1"'),
        ("time\ttemp_c\trh", "2026-11-17T07:{m}:00Z\t23.{d}\t50.1"),
        ("time,temp_c,rh", "2026-11-17T08:{m}:00+01:00,23.{d},50.1"),
        ("time|Celsius|rel. Feuchte", "17-Nov-2026 08:{m}|23.{d}|50.1"),
        ("time,temp_c,rh", '"Nov 17, 2026 8:{m}:00 AM",23.{d},50.1'),
        ("time,temp_c,rh", "Tue Nov 17 08:{m}:00 2026,23.{d},50.1"),
        ("Zeit;Temperatur [°C];rel. Feuchte [%]", "17.11.2026 08:{m};23.{d} °C;50.1 %"),
        ("time,temp,rh", "2026-11-17 08:{m},23.{d} °C,50.1 %"),
        ("Datum;T;rF", "17.11.2026 08.{m};23,{d} °C;50,1"),
    ],
)
def test_notations_of_one_and_the_same_record(heading: str, row: str) -> None:
    reading = reading_of_text(minutes(heading, row))
    assert instants(reading) == [f"2026-11-17T07:{minute:02d}" for minute in range(9)]
    assert reading.temperature_c.tolist() == [23.0, 23.1, 23.2, 23.3, 23.4, 23.5, 23.6, 23.7, 23.8]
    assert reading.humidity_percent.tolist() == [50.1] * 9


@pytest.mark.parametrize("encoding", ["utf-16-le", "utf-16-be", "utf-16", "utf-32", "cp1252", "utf-8-sig", "cp437"])
def test_encodings(encoding: str) -> None:
    text = minutes("time;Temp (°C)", "2026-11-17 08:{m};23,{d}")
    reading = reading_of_text(text.encode(encoding))
    assert (reading.rows, reading.temperature_column.unit) == (9, "C")


def test_headings_in_a_chinese_code_page() -> None:
    reading = reading_of_text(minutes("时间,温度(℃),湿度(%)", "2026/11/17 08:{m},23.{d},50").encode("gb18030"))
    assert (reading.encoding, reading.rows, reading.humidity_percent[0]) == ("gb18030", 9, 50.0)


@pytest.mark.parametrize("line_end", ["\n", "\r\n", "\r"])
def test_line_ends(line_end: str) -> None:
    text = minutes("time;Temp (°C)", "2026-11-17 08:{m};23,{d}").replace("\n", line_end)
    assert reading_of_text(text).rows == 9


def test_dates_that_are_stated_or_proved() -> None:
    stated = reading_of_text(minutes("Date (dd/mm/yyyy),temp_c", "03/04/2026 08:{m},23.{d}"))
    assert (stated.date_order.why, instants(stated)[0]) == ("the heading says so", "2026-04-03T06:00")
    german = reading_of_text(minutes("Datum TT.MM.JJJJ,temp_c", "03.04.2026 08:{m},23.{d}"))
    assert instants(german)[0] == "2026-04-03T06:00"
    preamble = reading_of_text("Start: 2026-03-04\n" + minutes("Date,temp_c", "03/04/2026 08:{m},23.{d}"))
    assert (preamble.date_order.order, instants(preamble)[0]) == ("month-first", "2026-03-04T07:00")


def test_year_first_with_two_figures() -> None:
    days = "".join(f"26/11/{day} 08:00,23.0\n" for day in range(17, 22))
    assert instants(reading_of_text("Date,temp_c\n" + days))[0] == "2026-11-17T07:00"
    assert asked(refusal_of_text(minutes("Date,temp_c", "10-11-12 08:{m},23.{d}"))) == {
        "date_order": ["day-first", "month-first", "year-first"]
    }


def test_an_answer_that_a_date_contradicts_is_refused() -> None:
    refusal = refusal_of_text(minutes("Date,temp_c", "13/04/2026 08:{m},23.{d}"), date_order="month-first")
    assert refusal.sentence == "Line 2: “13/04/2026” is no date when read month first."


def test_numbers_in_groups_of_three_only_are_asked() -> None:
    assert asked(refusal_of_text(minutes("time\ttemp_c", "2026-11-17 08:{m}\t23.12{d}"))) == {
        "decimal_mark": [".", ","]
    }
    answered = reading_of_text(minutes("time\ttemp_c", "2026-11-17 08:{m}\t23.12{d}"), decimal_mark=".")
    assert answered.temperature_c[1] == 23.121
    # between separating commas the point can only be a decimal mark
    assert reading_of_text(minutes("time,temp_c", "2026-11-17 08:{m},23.12{d}")).temperature_c[1] == 23.121


def test_an_unquoted_decimal_comma_between_commas_is_refused() -> None:
    refusal = refusal_of_text(minutes("time,temp_c", "2026-11-17 08:{m},23,{d}"))
    assert refusal.sentence == (
        "Line 2 has 3 fields where the heading in line 1 has 2: the separator “,” may also stand inside numbers; "
        "export with another separator."
    )


def test_everything_open_is_asked_at_once() -> None:
    refusal = refusal_of_text(minutes("time;temp", "03/04/2026 08:{m};23,12{d}"))
    assert list(asked(refusal)) == ["decimal_mark", "date_order", "temperature_unit"]


AUTUMN = {
    "repeated once an hour": (
        ["00:00", "01:00", "02:00", "02:00", "03:00"],
        ["22:00", "23:00", "00:00", "01:00", "02:00"],
    ),
    "ends in the first pass": (["01:00", "01:30", "02:00", "02:30"], ["23:00", "23:30", "00:00", "00:30"]),
    "begins in the second pass": (["02:00", "02:30", "03:00", "03:30"], ["01:00", "01:30", "02:00", "02:30"]),
    "every two hours": (["00:00", "02:00", "03:00", "05:00"], ["22:00", "00:00", "02:00", "04:00"]),
}


@pytest.mark.parametrize("kind", AUTUMN)
def test_autumn_hour(kind: str) -> None:
    walls, expected = AUTUMN[kind]
    reading = reading_of_text("time;temp °C\n" + "".join(f"25.10.2026 {wall};23,1\n" for wall in walls))
    assert [at[11:] for at in instants(reading)] == expected


@pytest.mark.parametrize(
    "walls",
    [
        ["00:30", "01:00", "01:30", "02:00", "02:30", "03:00", "03:30"],  # a clock that never changes
        ["02:00", "02:15", "02:30"],  # wholly inside the hour: either pass
        ["00:00", "02:00", "04:00"],  # runs through the change in its usual step
    ],
)
def test_autumn_clock_that_shows_nothing_is_asked(walls: list[str]) -> None:
    text = "time;temp °C\n" + "".join(f"25.10.2026 {wall};23,1\n" for wall in walls)
    assert asked(refusal_of_text(text)) == {"utc_offset": ["+01:00", "+02:00", "Europe/Berlin"]}
    fixed = reading_of_text(text, utc_offset="+01:00")
    assert np.unique(np.diff(fixed.times_utc)).size == 1


def test_spring_clock_that_jumps_is_read_and_one_that_never_changes_is_asked() -> None:
    jumping = "time;temp °C\n" + "".join(f"28.03.2027 {wall};23,1\n" for wall in ["01:30", "01:45", "03:00", "03:15"])
    assert [at[11:] for at in instants(reading_of_text(jumping))] == ["00:30", "00:45", "01:00", "01:15"]
    coarse = "time;temp °C\n" + "".join(
        f"{day}.03.2027 {wall};23,1\n" for day in (27, 28) for wall in ("06:00", "18:00")
    )
    assert asked(refusal_of_text(coarse)) == {"utc_offset": ["+01:00", "+02:00", "Europe/Berlin"]}


def test_zone_names_in_the_rows_that_fit_the_laboratory() -> None:
    rows = ["01:30 CEST", "02:00 CEST", "02:30 CEST", "02:00 CET", "02:30 CET", "03:00 CET"]
    reading = reading_of_text("time,temp_c\n" + "".join(f"25.10.2026 {row},23.1\n" for row in rows))
    assert [at[11:] for at in instants(reading)] == ["23:30", "00:00", "00:30", "01:00", "01:30", "02:00"]


def test_another_zone() -> None:
    text = "time,temp_c\n" + "".join(f"2026-11-01 {wall},23.1\n" for wall in ["01:00", "01:30", "01:00", "01:30"])
    # America/New_York leaves daylight time at 02:00 on 1 November 2026 (IANA time zone database)
    assert [at[11:] for at in instants(reading_of_text(text, zone="America/New_York"))] == [
        "05:00",
        "05:30",
        "06:00",
        "06:30",
    ]


@pytest.mark.parametrize("second", ["{m}:00", "{m}:30"])
def test_stacked_records_without_a_device_column(second: str) -> None:
    text = minutes("time,temp_c", "2026-11-17 08:{m}:00,23.{d}")
    text += minutes("", f"2026-11-17 08:{second},24.{{d}}").lstrip("\n")
    refusal = refusal_of_text(text)
    assert asked(refusal) == {"device": ["part 1", "part 2"]}
    part = reading_of_text(text, device="part 2")
    assert (part.rows, part.temperature_c[0]) == (9, 24.0)


def test_newest_first_is_turned_round() -> None:
    rows = "".join(f"2026-11-17 08:{minute:02d},23.{minute}\n" for minute in range(8, -1, -1))
    reading = reading_of_text("time,temp_c\n" + rows)
    assert reading.temperature_c.tolist() == [23.0, 23.1, 23.2, 23.3, 23.4, 23.5, 23.6, 23.7, 23.8]


def test_preamble_with_as_many_fields_as_the_table() -> None:
    preamble = "Serial,12345\nStart,2026-11-17 08:00\nInterval,1 min\n\n"
    reading = reading_of_text(preamble + minutes("time,temp_c", "2026-11-17 08:{m},23.{d}"))
    assert (reading.header_line, reading.rows, len(reading.preamble)) == (5, 9, 4)


def test_units_that_change_from_row_to_row() -> None:
    rows = "2026-11-17 08:00,F,73.4\n2026-11-17 08:01,C,23.0\n2026-11-17 08:02,K,296.15\n"
    assert reading_of_text("time,unit,value\n" + rows).temperature_c.tolist() == [23.0, 23.0, 23.0]
    bad = refusal_of_text("time,unit,value\n" + rows + "2026-11-17 08:03,bar,1.0\n")
    assert bad.sentence == "Line 5 gives the unit “bar”, which is not a unit of temperature."


def test_seconds_since_1970_and_elapsed_minutes() -> None:
    unix = "unix time,temp_c\n1794900000,23.0\n1794900060,23.1\n"
    # date -u -d @1794900000 (GNU coreutils): 2026-11-17 07:20:00
    assert instants(reading_of_text(unix)) == ["2026-11-17T07:20", "2026-11-17T07:21"]
    elapsed = "time (min);temp °C\n0;23,0\n10;23,1\n20;23,2\n"
    found = reading_of_text(elapsed, started_at="2026-10-25T01:55")
    assert instants(found) == ["2026-10-24T23:55", "2026-10-25T00:05", "2026-10-25T00:15"]


def test_a_fault_in_a_row_is_no_event() -> None:
    text = "time,temp_c,state\n" + "".join(
        f"2026-11-17 08:{minute:02d},{'' if minute == 4 else '23.1'},ok\n" for minute in range(9)
    )
    reading = reading_of_text(text)
    assert (reading.rows, reading.marks, reading.fault_count) == (9, (), 1)


def test_two_hundred_thousand_rows_in_several_blocks() -> None:
    start = np.datetime64("2026-10-01T00:00:00", "s")
    stamps = np.datetime_as_string(start + np.arange(200_000) * np.timedelta64(1, "s"))
    text = "time,temp_c,rh_pct\n" + "".join(f"{at},23.{i % 97:02d},{50 + i % 5}.0\n" for i, at in enumerate(stamps))
    reading = reading_of_text(text, zone="UTC")
    assert (reading.rows, str(reading.times_utc[-1])[:19]) == (200_000, str(stamps[-1]))
    assert reading.temperature_c[:98].tolist() == [float(f"23.{i % 97:02d}") for i in range(98)]
    assert reading.gaps == ()
