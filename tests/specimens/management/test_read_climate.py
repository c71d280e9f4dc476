"""The command prints what was understood as JSON, status 0, or refuses with one sentence, status 2."""

import json
from pathlib import Path
from typing import Any

import pytest
from django.core.management import call_command

from tests.specimens.climate_samples import FOLDER

Captured = pytest.CaptureFixture[str]


def run(capsys: Captured, name: str | Path, *options: str) -> tuple[int, Any, str]:
    """(exit status, JSON on standard output or None, standard error)."""
    status = 0
    try:
        call_command("read_climate", str(FOLDER / name), "--zone", "Europe/Berlin", *options)
    except SystemExit as stop:
        status = int(stop.code or 0)
    out, err = capsys.readouterr()
    return status, json.loads(out) if out else None, err


def test_a_record_with_a_gap(capsys: Captured) -> None:
    status, found, err = run(capsys, "gap_35_min.csv", "--atmosphere", "23/50 class 2")
    assert (status, err) == (0, "")
    assert {
        key: found[key] for key in ("encoding", "separator", "decimal_mark", "date_order", "rows", "interval_s")
    } == {
        "encoding": "utf-8",
        "separator": ",",
        "decimal_mark": ".",
        "date_order": "year-first",
        "rows": 34,
        "interval_s": 300.0,
    }
    assert found["first"] == {"at": "2026-11-17T07:00:00Z", "temperature_c": 23.0, "humidity_percent": 53.0}
    assert found["last"] == {"at": "2026-11-17T10:15:00Z", "temperature_c": 22.7, "humidity_percent": 47.5}
    assert found["gaps"] == [{"from": "2026-11-17T07:55:00Z", "until": "2026-11-17T08:30:00Z", "minutes": 35.0}]
    assert [(column["heading"], column["used_as"], column["unit"]) for column in found["columns"]] == [
        ("time", None, None),
        ("temp_c", "temperature", "C"),
        ("rh_pct", "humidity", "%"),
    ]
    # 08:00 to 11:15 is 195 min, less the gap of 35 min
    assert (found["in_band"]["counted_s"], found["in_band"]["not_counted_s"]) == (160 * 60.0, 35 * 60.0)
    assert [stretch["kind"] for stretch in found["in_band"]["stretches"]] == ["gap"]


def test_a_window_in_the_laboratorys_zone(capsys: Captured) -> None:
    window = ("--from", "2026-11-17T08:10", "--until", "2026-11-17T09:00+01:00")
    status, found, _ = run(capsys, "gap_35_min.csv", "--atmosphere", "23/50 class 2", *window)
    assert (status, found["in_band"]["from"], found["in_band"]["counted_s"]) == (0, "2026-11-17T07:10:00Z", 45 * 60.0)


def test_questions_come_as_json_and_their_answers_as_options(capsys: Captured) -> None:
    status, found, err = run(capsys, "order_never_resolves.csv")
    assert (status, [question["key"] for question in found["questions"]]) == (2, ["date_order"])
    assert err == (
        "order_never_resolves.csv leaves open what only a person can tell: Is “03/04/2026” in line 2 3 April 2026 or "
        "4 March 2026?\n"
    )
    assert found["understood"]["rows"] == 4
    status, found, _ = run(capsys, "order_never_resolves.csv", "--date-order", "day-first")
    assert (status, found["first"]["at"], found["answers"]) == (0, "2026-04-03T06:00:00Z", {"date_order": "day-first"})


@pytest.mark.parametrize(
    ("name", "options", "sentence"),
    [
        ("empty.csv", (), "empty.csv: the file is empty."),
        ("absent.csv", (), "absent.csv cannot be opened: No such file or directory."),
        ("gap_35_min.csv", ("--until", "noon", "--atmosphere", "oven 70"),
         "“noon” is not a date and time such as 2026-11-17T08:00."),
        ("gap_35_min.csv", ("--zone", "Mars/Base"),
         "“Mars/Base” is not the name of a time zone, such as Europe/Berlin."),
        (
            "gap_35_min.csv",
            ("--from", "2026-11-17T09:00", "--until", "2026-11-17T08:00", "--atmosphere", "oven 70"),
            "The window ends before it begins.",
        ),
    ],
)  # fmt: skip
def test_refusals(capsys: Captured, name: str, options: tuple[str, ...], sentence: str) -> None:
    status, _, err = run(capsys, name, *options)
    assert (status, err) == (2, sentence + "\n")


def test_an_unknown_atmosphere_names_the_known_ones(capsys: Captured) -> None:
    status, found, err = run(capsys, "gap_35_min.csv", "--atmosphere", "21/21")
    assert (status, found) == (2, None)
    assert err.startswith("There is no atmosphere “21/21”; there are: 15-35/45-75; 23/50 class 2;")
