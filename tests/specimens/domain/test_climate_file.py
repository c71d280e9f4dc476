"""Every worked climate file gives exactly the reading written here.

The files are invented, after public bug reports and logger exports (numpy #18861, cpython #119123, pandas #14301,
#14585, openhab-addons #14360, weewx #607, spout #480 and others); the expected readings were worked out by hand from
the files' text. Clock changes: IANA time zone database, Europe/Berlin, 2026-10-25 and 2027-03-28.
"""

import numpy as np
import pytest

from specimens.domain.climate_answers import Answers
from specimens.domain.climate_file import read_climate_file
from tests.specimens.climate_samples import FOLDER, LABORATORY_ZONE, asked, instants, reading_of, refusal_of


def test_byte_order_mark_is_no_part_of_the_first_heading() -> None:
    reading = reading_of("utf8_bom.csv")
    assert (reading.encoding, reading.separator, reading.decimal_mark) == ("utf-8", ",", ".")
    assert [column.heading for column in reading.columns] == ["Time", "Temperature (°C)", "Humidity (%RH)"]
    assert reading.rows == 24
    assert (reading.first_at.isoformat(), reading.last_at.isoformat()) == (
        "2026-11-17T07:00:00+00:00",
        "2026-11-17T10:50:00+00:00",
    )
    assert (reading.temperature_c[0], reading.humidity_percent[0]) == (23.0, 53.0)
    assert (reading.temperature_c[-1], reading.humidity_percent[-1]) == (23.3, 49.4)


def test_utf_16_with_tabs() -> None:
    reading = reading_of("utf16le_tab.csv")
    assert (reading.encoding, reading.separator, reading.rows) == ("utf-16", "\t", 24)
    assert (reading.temperature_c[0], reading.humidity_percent[0]) == (23.0, 53.0)


def test_a_table_without_times_is_no_evidence() -> None:
    refusal = refusal_of("semicolon_decimal_comma.csv")
    assert refusal.sentence == (
        "semicolon_decimal_comma.csv has no time column and no unit (headings in line 1: Consigne, Voie 1, Voie 2, "
        "Voie 3, Ambiance), so it cannot show that a band was kept."
    )
    assert (refusal.understood["separator"], refusal.understood["decimal_mark"]) == (";", ",")


def test_separator_by_equal_field_counts_and_a_heading_without_unit_is_asked() -> None:
    assert asked(refusal_of("sniffer_trap.csv")) == {"temperature_unit": ["C", "F", "K"]}
    reading = reading_of("sniffer_trap.csv", temperature_unit="C")
    assert (reading.separator, len(reading.columns), reading.rows) == (";", 7, 12)


def test_preamble_unit_per_row_and_an_ambiguous_zone() -> None:
    refusal = refusal_of("preamble_unit_per_row.csv")
    assert asked(refusal) == {"utc_offset": ["-06:00", "+08:00", "+09:30", "Europe/Berlin"]}
    assert refusal.understood["date_order"] == "day-first"
    assert refusal.understood["date_order_why"] == "“13/10/26” in line 28 is a date only when read day first"
    assert (refusal.understood["first_wall"], refusal.understood["last_wall"]) == (
        "2026-10-12T12:14:00",
        "2026-10-13T17:14:00",
    )
    reading = reading_of("preamble_unit_per_row.csv", utc_offset="+08:00")
    assert (reading.rows, reading.header_line, reading.temperature_unit) == (30, 15, "C")
    assert reading.preamble[3] == "Recording start:  Mon Oct 12 12:14:00 CST 2026"
    assert reading.first_at.isoformat() == "2026-10-12T04:14:00+00:00"


def test_one_date_order_for_the_whole_file() -> None:
    reading = reading_of("order_resolves_late.csv")
    assert (reading.date_order.order, reading.rows) == ("day-first", 7)
    # 08:00 in Berlin on 10 and 13 September 2026 (summer time)
    assert (instants(reading)[0], instants(reading)[-1]) == ("2026-09-10T06:00", "2026-09-13T06:00")


def test_an_order_that_nothing_proves_is_asked() -> None:
    refusal = refusal_of("order_never_resolves.csv")
    assert asked(refusal) == {"date_order": ["day-first", "month-first"]}
    assert [option.label for option in refusal.questions[0].options] == [
        "day first: 3 April 2026",
        "month first: 4 March 2026",
    ]
    assert instants(reading_of("order_never_resolves.csv", date_order="month-first"))[0] == "2026-03-04T07:00"


def test_twelve_hour_clock_with_odd_spaces() -> None:
    assert instants(reading_of("12_hour_clock.csv")) == [
        "2026-11-16T22:30",
        "2026-11-16T23:00",
        "2026-11-16T23:30",
        "2026-11-17T00:00",
        "2026-11-17T10:30",
        "2026-11-17T11:00",
        "2026-11-17T11:30",
        "2026-11-17T12:00",
    ]


def test_an_offset_in_the_heading_is_confirmed_and_applied_once() -> None:
    refusal = refusal_of("header_offset.csv")
    assert asked(refusal) == {"utc_offset": ["-06:00", "Europe/Berlin"]}
    assert refusal.questions[0].text == (
        "The file says GMT-06:00: 08:00 at UTC-06:00 is 15:00 in the laboratory. Is that so?"
    )
    assert refusal.understood["first_utc"] == "2026-11-17T14:00:00Z"
    assert instants(reading_of("header_offset.csv", utc_offset="-06:00"))[0] == "2026-11-17T14:00"
    # the heading was wrong: the technician says that the clock showed the laboratory's time
    assert instants(reading_of("header_offset.csv", utc_offset="Europe/Berlin"))[0] == "2026-11-17T07:00"


def test_repeated_autumn_hour_in_file_order() -> None:
    reading = reading_of("dst_fold_in_order.csv")
    assert reading.rows == 25
    assert (instants(reading)[0], instants(reading)[-1]) == ("2026-10-24T22:00", "2026-10-25T04:00")
    assert set(np.diff(reading.times_utc).tolist()) == {np.timedelta64(15 * 60 * 10**6, "us").item()}


def test_times_that_do_not_exist_are_asked_about_and_never_shifted() -> None:
    refusal = refusal_of("dst_gap_times.csv")
    assert asked(refusal) == {"utc_offset": ["+01:00", "+02:00"]}
    assert "02:00 to 02:45 on 28 March 2027 (lines 6 to 9) does not exist in Europe/Berlin" in refusal.sentence
    reading = reading_of("dst_gap_times.csv", utc_offset="+01:00")
    assert (reading.rows, instants(reading)[4]) == (13, "2027-03-28T01:00")
    assert np.unique(np.diff(reading.times_utc)).size == 1


def test_two_downloads_drop_repeats_and_stop_on_a_contradiction() -> None:
    refusal = refusal_of("two_downloads_appended.csv")
    assert refusal.sentence == (
        "Two readings for 2026-11-17 09:40:00 contradict: line 12 has 23.5 °C and 52.2 % RH, "
        "line 17 has 29.9 °C and 50 % RH."
    )
    reading = reading_of("two_downloads_appended.csv", conflicts="leave-out")
    assert (reading.rows, reading.repeats_dropped) == (20, 3)
    assert np.flatnonzero(np.isnan(reading.temperature_c)).tolist() == [10]
    assert reading.notices == (
        "The heading stands again in line 14: several downloads in one file.",
        "Moments with two different readings, left out as confirmed: 1.",
        "3 exact repeats dropped (lines 15, 16, 18).",
        "1 reading was out of order and put in place (line 21).",
    )


def test_a_gap_is_named() -> None:
    reading = reading_of("gap_35_min.csv")
    assert reading.rows == 34
    assert reading.interval is not None
    assert reading.interval.total_seconds() == 300
    assert [(gap.from_at.isoformat(), gap.until_at.isoformat(), gap.minutes) for gap in reading.gaps] == [
        ("2026-11-17T07:55:00+00:00", "2026-11-17T08:30:00+00:00", 35)
    ]


def test_fault_tokens_are_missing_counted_and_located() -> None:
    reading = reading_of("fault_tokens.csv")
    assert (reading.rows, reading.fault_count) == (20, 17)
    assert np.flatnonzero(~np.isnan(reading.temperature_c)).tolist() == [0, 16]
    assert (reading.temperature_c[0], reading.temperature_c[16]) == (23.1, 23.2)
    assert {fault.token: fault.lines for fault in reading.faults} == {
        "---": (3,), "OL": (4,), "NaN": (5,), "-999.9": (6,), "-888.88": (7,), "-9999": (8,), "999": (9,),
        "3276.7": (10,), "-127": (11,), "-": (12,), "(empty)": (13,), "ERR": (14,), "#N/A": (15,), "*****": (16,),
        "1.#QNAN": (17,), "Open": (19,), "65535": (21,),
    }  # fmt: skip
    assert [(cell.token, cell.lines) for cell in reading.doubtful] == [("23,4", (20,))]
    assert [question.key for question in reading.questions] == ["doubtful_numbers"]
    answered = reading_of("fault_tokens.csv", doubtful_numbers="decimal", genuine_tokens=("-127",))
    assert (answered.temperature_c[18], answered.questions) == (23.4, ())
    # outside what any recorder of a room or oven reads, whatever a list says
    assert answered.fault_count == 17


@pytest.mark.parametrize(
    ("name", "heading", "encoding"),
    [
        ("degree_cp1252.csv", "Temp [°C]", "cp1252"),
        ("degree_double_encoded.csv", "Temp [Â°C]", "utf-8"),
    ],
)
def test_spellings_of_the_degree_sign(name: str, heading: str, encoding: str) -> None:
    reading = reading_of(name)
    assert (reading.encoding, reading.rows) == (encoding, 6)
    assert (reading.temperature_column.heading, reading.temperature_column.unit) == (heading, "C")


def test_an_unreadable_degree_sign_is_asked_about() -> None:
    refusal = refusal_of("degree_byte_c4.csv")
    assert asked(refusal) == {"temperature_unit": ["C", "F", "K"]}
    assert refusal.questions[0].text == (
        "The unit of “Temp1(ÄC)” cannot be read (“ÄC”). Is the temperature in °C or °F?"
    )


def test_degree_look_alikes_are_all_celsius_and_the_column_is_asked() -> None:
    assert asked(refusal_of("degree_lookalikes.csv")) == {"temperature_column": ["2", "3", "4", "5", "6"]}
    reading = reading_of("degree_lookalikes.csv", temperature_column=4)
    assert [column.unit for column in reading.columns] == [None, "C", "C", "C", "C", "C"]
    assert (reading.rows, reading.temperature_column.heading) == (6, "T3 (℃)")


def test_fahrenheit_is_converted_and_kept_as_read() -> None:
    reading = reading_of("fahrenheit.csv")
    assert (reading.rows, reading.temperature_unit, reading.temperature_column.heading) == (12, "F", "Temp, (*F)")
    assert (reading.temperature_c[0], reading.temperature_as_read[0], reading.humidity_percent[0]) == (23.0, 73.4, 53.0)


def test_a_lost_unit_is_asked_never_inferred() -> None:
    assert asked(refusal_of("unit_lost.csv")) == {"temperature_unit": ["C", "F", "K"]}
    assert reading_of("unit_lost.csv", temperature_unit="C").temperature_c[2] == 70.1
    # (70.1 - 32) / 1.8 by hand
    assert reading_of("unit_lost.csv", temperature_unit="F").temperature_c[2] == 21.166666667


def test_humidity_above_100_is_kept_and_flagged() -> None:
    reading = reading_of("rh_over_100.csv")
    assert reading.humidity_percent.tolist() == [98.9, 99.9, 101.3, 102.9, 104.1, 100.0]
    assert reading.faults == ()
    assert reading.notices == ("3 humidity readings are above 100 % RH (up to 104.1); kept as read.",)


def test_serial_dates_are_asked_about_and_rounded_to_the_second() -> None:
    refusal = refusal_of("excel_serial.csv")
    assert [option.label for option in refusal.questions[0].options] == [
        "17 November 2026 08:00:00 (1900 system)",
        "18 November 2030 08:00:00 (1904 system)",
    ]
    reading = reading_of("excel_serial.csv", serial_epoch="1900")
    assert [str(at) for at in reading.times_utc[:2]] == ["2026-11-17T07:00:00.000000", "2026-11-17T07:10:00.000000"]
    assert reading.rows == 8


def test_group_separators_in_another_column_do_no_harm() -> None:
    reading = reading_of("group_spaces.csv")
    assert (reading.rows, reading.decimal_mark) == (7, ",")
    assert reading.temperature_c.tolist() == [23.1] * 7


def test_a_workbook_is_read_in_its_own_date_system() -> None:
    reading = reading_of("1904_workbook.xlsx")
    assert instants(reading) == [f"2026-11-17T07:{minute:02d}" for minute in range(0, 50, 10)]


def test_event_rows_are_marks() -> None:
    reading = reading_of("event_rows_trailing_comma.csv")
    assert reading.rows == 10
    assert [(mark.at.isoformat(), mark.line, mark.text) for mark in reading.marks] == [
        ("2026-11-17T07:34:11+00:00", 5, "Host connected: Logged"),
        ("2026-11-17T08:19:11+00:00", 9, "Host connected: Logged"),
        ("2026-11-17T09:20:00+00:00", 14, "Host connected: Logged; EOF: Logged"),
    ]
    assert (reading.faults, reading.gaps) == ((), ())
    assert reading.interval is not None
    assert reading.interval.total_seconds() == 900


def test_unit_row_elapsed_time_and_closing_summary() -> None:
    refusal = refusal_of("units_row_and_summary.csv")
    assert asked(refusal) == {"started_at": []}
    assert refusal.questions[0].text == "The file gives s since the start and no date: when did the record start?"
    reading = reading_of("units_row_and_summary.csv", started_at="2026-11-17T08:00")
    assert (reading.rows, instants(reading)[0], instants(reading)[-1]) == (15, "2026-11-17T07:00", "2026-11-17T07:14")
    assert reading.notices[:2] == (
        "A closing summary in lines 19, 20, 21 was not read as readings.",
        "The file's own minimum of temperature in line 19 is 22.9; its readings give 23.0.",
    )


def test_stacked_devices_are_picked_never_merged() -> None:
    assert asked(refusal_of("three_devices_stacked.csv")) == {"device": ["1", "2", "3"]}
    reading = reading_of("three_devices_stacked.csv", device="2", temperature_unit="C")
    assert (reading.rows, reading.device, reading.temperature_c[0]) == (8, "2", 24.0)


def test_stored_answers_give_the_same_reading_again() -> None:
    first = reading_of("header_offset.csv", utc_offset="-06:00")
    again = read_climate_file(
        (FOLDER / "header_offset.csv").read_bytes(),
        file_name="header_offset.csv",
        zone=LABORATORY_ZONE,
        answers=Answers.from_json(first.answers.to_json()),
    )
    assert again.times_utc.tolist() == first.times_utc.tolist()
    assert again.clock == first.clock
