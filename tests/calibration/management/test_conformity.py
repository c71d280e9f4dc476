"""`manage.py conformity`: JSON and status 0 with a result, one sentence and status 2 without."""

import json
from io import StringIO
from pathlib import Path
from typing import Any

import pytest
from django.core.management import call_command

from calibration.management.answers import Refused

FIXTURES = Path(__file__).parents[3] / "fixtures" / "conformity"


def answer(file: Path) -> Any:
    out = StringIO()
    call_command("conformity", str(file), stdout=out)
    return json.loads(out.getvalue())


def test_a_thermocouple_that_came_back_low() -> None:
    # IEC 60584-1:2013 class 1 by published tables: 0.004 x 850 = 3.4 K
    said = answer(FIXTURES / "thermocouple_class_1.json")
    assert list(said) == ["as_found", "as_left", "points", "as_expected"]
    assert said["as_found"] == {
        "statement": "fail",
        "holds": False,
        "sentence": (
            "As found it is out of its limits at 1 of 3 points: it read 3.9 K low at 850.0 °C, 3.4 K are permitted."
        ),
    }
    point = said["points"][2]
    risk = point.pop("risk")
    assert (risk, point.pop("conformance_probability")) == (pytest.approx(0.18165, abs=5e-5),) * 2
    assert point == {
        "kind": "as found",
        "reference": "850.0",
        "indication": "846.1",
        "unit": "°C",
        "error": "-3.9",
        "error_unit": "K",
        "permitted": "3.4",
        "accepted_from": "-3.4",
        "accepted_to": "3.4",
        "statement": "fail",
        "holds": False,
        "risk_text": "18 %",
        "reason": "",
    }


@pytest.mark.parametrize("file", sorted(FIXTURES.glob("*.json")), ids=lambda file: file.stem)
def test_every_worked_example_comes_out_as_its_source_says(file: Path) -> None:
    stated = json.loads(file.read_text("utf-8"))
    assert stated["source"]
    assert answer(file)["as_expected"] is True


def test_an_example_that_comes_out_otherwise_is_told(tmp_path: Path) -> None:
    text = (FIXTURES / "uncritical.json").read_text("utf-8").replace('"as_found": "fail"', '"as_found": "pass"')
    file = tmp_path / "other.json"
    file.write_text(text, "utf-8")
    assert answer(file)["as_expected"] is False


def test_probabilities_of_the_two_sided_guard_band() -> None:
    # JCGM 106:2012 clause 7, own arithmetic: 960 with 15 on each side, U = 8, k = 2
    said = answer(FIXTURES / "nine_hundred_sixty_w_u.json")["points"]
    assert [point["conformance_probability"] for point in said] == pytest.approx(
        [0.99982, 0.97725, 0.97725, 0.89435, 0.500, 0.40129], abs=5e-6
    )
    assert {(point["accepted_from"], point["accepted_to"]) for point in said} == {("-7", "7")}


GOOD = '{"limits": [%s], "points": [%s]}'
LIMIT = '{"unit": "N", "absolute": 1}'
POINT = '{"reference": 1, "indication": 1, "unit": "N"}'


@pytest.mark.parametrize(
    ("content", "sentence"),
    [
        ("{", "Line 1, column 2: this is not JSON (Expecting property name enclosed in double quotes)."),
        ("{}", "limits: a limit is needed, and there is none."),
        (GOOD % (LIMIT, ""), "points: there is none, and none means nothing to judge."),
        (GOOD % (f"{LIMIT}, {LIMIT}", POINT), "limits[1]: there is a limit in N already."),
        (GOOD % ('{"unit": "N"}', POINT), "limits[0]: absolute or relative is needed, or a thermocouple's class."),
        (GOOD % ('{"unit": "N", "absolute": -1}', POINT), "limits[0].absolute: -1 is below zero."),
        (GOOD % ('{"absolute": 1}', POINT), "limits[0].unit: a text is needed, and it is missing."),
        (
            GOOD % ('{"thermocouple": "J", "class": 3}', POINT),
            "limits[0]: thermocouples of type 'J' have no class 3.",
        ),
        (
            GOOD % ('{"thermocouple": "K", "class": 1, "absolute": 1}', POINT),
            "limits[0]: a tolerance class brings its own figures; leave unit, figures and range out.",
        ),
        (
            GOOD % ('{"unit": "N", "absolute": 1, "rule": "by eye"}', POINT),
            "limits[0].rule: 'by eye' is no rule here; there are simple acceptance, guard band.",
        ),
        (
            GOOD % ('{"unit": "N", "absolute": 1, "guard_factor": -2}', POINT),
            "limits[0].guard_factor: -2 is below -1: a band is at most U beyond the limit.",
        ),
        (GOOD % ('{"unit": "N", "absolute": 1, "low": 2, "high": 1}', POINT), "limits[0]: low is above high."),
        (
            GOOD % (LIMIT, '{"reference": 1, "indication": 1, "unit": "kN"}'),
            "points[0].unit: 'kN' is none of °C, K, N, s, mm, g, % RH, lx, A, V, kPa, µm, mV.",
        ),
        (
            GOOD % (LIMIT, '{"indication": 1, "unit": "N"}'),
            "points[0].reference: a number is needed, and it is missing.",
        ),
        (
            GOOD % (LIMIT, '{"reference": "1,5", "indication": 1, "unit": "N"}'),
            'points[0].reference: a number is needed, not "1,5".',
        ),
        (
            GOOD % (LIMIT, '{"reference": 1, "indication": 1e400, "unit": "N"}'),
            "points[0].indication: 1E+400 has more than 15 digits.",
        ),
        (
            GOOD % (LIMIT, '{"reference": 1, "indication": "1234567890.1234567", "unit": "N"}'),
            "points[0].indication: 1234567890.1234567 has more than 15 digits.",
        ),
        (
            GOOD % (LIMIT, '{"reference": 1, "indication": 1, "unit": "N", "coverage_factor": 0}'),
            "points[0].coverage_factor: 0 is not above zero.",
        ),
        (
            GOOD % (LIMIT, '{"reference": 1, "indication": 1, "unit": "N", "expanded_uncertainty": -1}'),
            "points[0].expanded_uncertainty: -1 is below zero.",
        ),
        (
            GOOD % (LIMIT, '{"reference": 1, "indication": 1, "unit": "N", "kind": "found"}'),
            "points[0].kind: 'found' is neither as found nor as left.",
        ),
        (
            GOOD % (LIMIT, ", ".join([POINT] * 1001)),
            "points: there are 1001; at most 1000 are judged at once.",
        ),
    ],
)
def test_a_file_that_cannot_be_judged_is_refused_with_its_place(tmp_path: Path, content: str, sentence: str) -> None:
    file = tmp_path / "wrong.json"
    file.write_text(content, "utf-8")
    with pytest.raises(Refused) as refusal:
        answer(file)
    assert (str(refusal.value), refusal.value.returncode) == (f"{file}: {sentence}", 2)


def test_a_file_that_is_not_there(tmp_path: Path) -> None:
    with pytest.raises(Refused, match=r"the file cannot be read \(No such file or directory\)"):
        answer(tmp_path / "none.json")
