"""`manage.py read_certificate`: JSON and status 0, or one sentence and status 2; large files leave memory alone."""

import json
import subprocess
import sys
from io import StringIO
from pathlib import Path
from typing import Any

import pytest
from django.core.management import call_command

from calibration.management.answers import Refused
from tests.calibration.digital_certificates import FOLDER, THERMOCOUPLE, certificate_bytes
from tests.calibration.reference_data import reference_path

ROOT = Path(__file__).parents[3]
PEAK = """
import resource, sys
import django
from django.core.management import CommandError, call_command
django.setup()
try:
    call_command("read_certificate", sys.argv[1])
except CommandError as refusal:
    print(refusal)
print(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss)
"""


def answer(*arguments: str) -> Any:
    out = StringIO()
    call_command("read_certificate", *arguments, stdout=out)
    return json.loads(out.getvalue())


def refusal(*arguments: str) -> str:
    with pytest.raises(Refused) as refused:
        answer(*arguments)
    assert refused.value.returncode == 2
    return str(refused.value)


def test_figures_with_their_digits():
    made = answer(str(FOLDER / THERMOCOUPLE))
    assert made["points"][0] == {
        "reference": "550.10",
        "indication": "550.90",
        "unit": "°C",
        "error": "0.80",
        "expanded_uncertainty": "1.1",
        "coverage_factor": "2.00",
        "coverage_probability": "0.9545",
        "as_left": True,
        "acceptance_low": "-2.2",
        "acceptance_high": "2.2",
        "conformity": "pass",
    }
    assert (made["begun_on"], made["ended_on"]) == ("2026-05-04", "2026-05-05")
    assert (made["schema"], made["signature"]) == ("not checked", "none")


def test_the_schema_is_looked_at_where_one_is_named():
    schemas = reference_path("dcc", "xsd")
    assert answer(str(FOLDER / THERMOCOUPLE), "--schema-dir", str(schemas))["schema"] == "followed"


def test_a_missing_schema_is_said(tmp_path):
    file = FOLDER / THERMOCOUPLE
    sentence = f"{file}: There is no schema of version 3.3.0 in {tmp_path}."
    assert refusal(str(file), "--schema-dir", str(tmp_path)) == sentence


def test_the_serial_number_is_compared():
    file = str(FOLDER / THERMOCOUPLE)
    assert answer(file, "--serial", "HV 00417")["items"][0]["serial"] == "HV 00417"
    assert refusal(file, "--serial", "5512-B") == (
        f"{file}: The certificate is for serial number HV 00417, the instrument’s is 5512-B."
    )


def test_a_file_that_is_not_there(tmp_path):
    file = str(tmp_path / "x.xml")
    assert refusal(file) == f"{file}: the file cannot be read (No such file or directory)."


def test_status_2_and_nothing_on_standard_output(tmp_path):
    file = tmp_path / "x.xml"
    file.write_text("<x/>")
    done = subprocess.run(  # noqa: S603  (its argument is a file made here)
        [sys.executable, "manage.py", "read_certificate", str(file)],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=False,
    )
    assert (done.returncode, done.stdout) == (2, "")
    assert done.stderr == (
        f"Refused: {file}: The file is not a digital calibration certificate: it begins with “x” without a namespace.\n"
    )


def peak_mb(file: Path) -> tuple[str, float]:
    """What the command says of a file, and the most memory the process held."""
    done = subprocess.run(  # noqa: S603  (its argument is a file made here)
        [sys.executable, "-c", PEAK, file], cwd=ROOT, capture_output=True, text=True, check=True
    )
    *said, peak = done.stdout.splitlines()
    return said[-1], int(peak) / 1024


def test_fifty_megabytes_and_a_bomb_leave_the_memory_flat(tmp_path):
    small, large, bomb, many, wide = (tmp_path / f"{name}.xml" for name in ("small", "large", "bomb", "many", "wide"))
    small.write_bytes(certificate_bytes())
    head, root, tail = certificate_bytes().partition(b"<dcc:administrativeData>")
    large.write_bytes(head + b"<a>filler</a>" * 4_000_000 + root + tail)
    levels = "".join(f'<!ENTITY l{n} "{f"&l{n - 1};" * 10}">' for n in range(1, 10))
    bomb.write_text(f'<?xml version="1.0"?><!DOCTYPE b [<!ENTITY l0 "boom">{levels}]><b>&l9;</b>')
    values = b"550.10 850.05 959.97"
    wide.write_bytes(certificate_bytes().replace(values, b"1 " * 4_500_000))
    many.write_bytes(head + b"<a/>" * 4_000_000 + root + tail)
    _, usual = peak_mb(small)
    for file, allowed_mb in ((large, 10), (bomb, 10), (many, 40), (wide, 80)):
        said, peak = peak_mb(file)
        assert said.startswith(f"{file}: The file " if file != wide else f"{file}: Result 1, table 1, ")
        assert peak < usual + allowed_mb
