"""`manage.py thermocouple`: JSON and status 0, or one sentence and status 2."""

import json
import subprocess
import sys
from io import StringIO
from pathlib import Path
from typing import Any

import pytest
from django.core.management import call_command

from calibration.management.answers import Refused

ROOT = Path(__file__).parents[3]


def answer(*arguments: str) -> Any:
    out = StringIO()
    call_command("thermocouple", *arguments, stdout=out)
    return json.loads(out.getvalue())


def test_an_emf_with_its_reference_junction():
    # Computed from the functions of NIST SRD 60: 38.789 mV with the junction at 23 °C is 960.007 °C.
    assert answer("K", "--emf-mv", "38.789", "--junction-c", "23") == {
        "type": "K",
        "temperature_c": pytest.approx(960.007, abs=0.0005),
        "junction_c": 23.0,
        "emf_mv": 38.789,
        "sensitivity_uv_per_k": pytest.approx(39.40, abs=0.005),
        "tolerance_k": {"1": pytest.approx(3.84, abs=0.001), "2": pytest.approx(7.2, abs=0.001), "3": None},
    }


def test_a_temperature():
    # NIST SRD 60, table of type T: 20.872 mV at 400 °C; no tolerance class reaches there.
    made = answer("T", "--temperature-c", "400")
    assert (made["emf_mv"], made["junction_c"]) == (pytest.approx(20.872, abs=0.0005), 0.0)
    assert made["tolerance_k"] == {"1": None, "2": None, "3": None}


def test_both_ways_agree_with_a_junction_that_is_warm():
    there = answer("N", "--temperature-c", "850", "--junction-c", "31.5")
    assert answer("N", "--emf-mv", str(there["emf_mv"]), "--junction-c", "31.5")["temperature_c"] == pytest.approx(
        850, abs=1e-4
    )


@pytest.mark.parametrize(
    ("arguments", "sentence"),
    [
        (("K", "--emf-mv", "38.789"), "--junction-c; 0 is that of an ice point."),
        (("K", "--emf-mv", "99", "--junction-c", "0"), "99 mV is outside, and nothing is extrapolated."),
        (("K", "--temperature-c", "1372.5"), "1372.5 °C is outside, and nothing is extrapolated."),
        (("K", "--emf-mv", "1", "--junction-c", "5000"), "5000 °C is outside, and nothing is extrapolated."),
        (("R", "--emf-mv", "1", "--junction-c", "23"), "“R” is none of them."),
        (("K", "--emf-mv", "1,5", "--junction-c", "23"), "“1,5” is no number for the emf; write it like 38.789."),
        (("K", "--emf-mv", "nan", "--junction-c", "23"), "“nan” is no number for the emf."),
        (("K", "--temperature-c", "Infinity"), "“Infinity” is no number for the temperature."),
    ],
)
def test_what_cannot_be_answered_is_refused_in_a_sentence(arguments, sentence):
    with pytest.raises(Refused) as refusal:
        answer(*arguments)
    assert str(refusal.value).endswith(sentence)
    assert refusal.value.returncode == 2


def test_status_2_and_nothing_on_standard_output():
    done = subprocess.run(
        [sys.executable, "manage.py", "thermocouple", "K", "--emf-mv", "-7", "--junction-c", "0"],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=False,
    )
    assert (done.returncode, done.stdout) == (2, "")
    assert done.stderr.strip().endswith("-7 mV is outside, and nothing is extrapolated.")
