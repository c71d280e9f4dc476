"""`manage.py budget`: JSON and status 0 with a result, one sentence and status 2 without."""

import json
from io import StringIO
from pathlib import Path

import pytest
from django.core.management import call_command

from calibration.management.answers import Refused

FIXTURES = Path(__file__).parents[3] / "fixtures" / "budgets"


def printed(file: Path) -> str:
    out = StringIO()
    call_command("budget", str(file), stdout=out)
    return out.getvalue()


def test_prints_what_the_rows_come_to() -> None:
    answer = json.loads(printed(FIXTURES / "thermocouple_n_1000_c.json"))
    assert list(answer) == [
        "quantity", "unit", "level", "shape", "formula", "rows", "value", "standard_uncertainty", "effective_degrees",
        "degrees", "coverage_factor", "expanded_uncertainty", "rest", "printed",
    ]  # fmt: skip
    assert answer["rows"][5] == {
        "name": "temperature of the furnace, K",
        "distribution": "normal",
        "standard_uncertainty": "0.64100000",
        "sensitivity": "38.5",
        "contribution": "24.678500",
        "degrees": None,
        "share_percent": "97.52",
    }
    assert answer["printed"] == {
        "value": "36229",
        "standard_uncertainty": "25",
        "coverage_factor": "2.00",
        "expanded_uncertainty": "50",
    }


@pytest.mark.parametrize("file", sorted(FIXTURES.glob("*.json")), ids=lambda file: file.stem)
def test_every_worked_budget_is_reckoned(file: Path) -> None:
    assert json.loads(printed(file))["unit"] == json.loads(file.read_text(encoding="utf-8"))["unit"]


ROW = '{"name": "a", "distribution": "rectangular", "half_width": %s}'


@pytest.mark.parametrize(
    ("content", "sentence"),
    [
        (b"{", "Line 1, column 2: this is not JSON (Expecting property name enclosed in double quotes)."),
        (b"\xff\xfe{", "the file is not UTF-8 text (byte 0)."),
        (b"{}", "quantity: a text is needed, and it is missing."),
        (b'{"quantity": "q", "rows": []}', "unit: a text is needed, and it is missing."),
        (b'{"quantity": "q", "unit": "K", "rows": []}', "A budget needs at least one row."),
        (b'{"quantity": "q", "unit": "K", "rows": [3]}', "rows[0]: an object in braces is needed, not 3."),
        (b'{"quantity": "q", "unit": "K", "k": 2}',
         "'k' is not known here; known are quantity, unit, level, shape, source, rows."),
        (f'{{"quantity": "q", "unit": "K", "rows": [{ROW % "NaN"}]}}'.encode(),
         "NaN is not a number that can be judged."),
        (f'{{"quantity": "q", "unit": "K", "rows": [{ROW % "1e400"}]}}'.encode(),
         "Row 1: half_width: 1E+400 has more than 15 digits."),
        (f'{{"quantity": "q", "unit": "K", "rows": [{ROW % "true"}]}}'.encode(),
         "Row 1 (a): the half-width is to be a number or a text."),
        (f'{{"quantity": "q", "unit": "K", "rows": [{",".join([ROW % 1] * 61)}]}}'.encode(),
         "A budget has at most 60 rows; this has 61."),
        (b" " * 1_000_001, "the file is larger than 1000000 bytes."),
    ],
)  # fmt: skip
def test_refuses_in_one_sentence(tmp_path: Path, content: bytes, sentence: str) -> None:
    file = tmp_path / "budget.json"
    file.write_bytes(content)
    with pytest.raises(Refused) as refusal:
        printed(file)
    assert (str(refusal.value), refusal.value.returncode) == (f"{file}: {sentence}", 2)


def test_refuses_a_file_that_is_not_there(tmp_path: Path) -> None:
    with pytest.raises(Refused) as refusal:
        printed(tmp_path / "none.json")
    assert str(refusal.value) == f"{tmp_path / 'none.json'}: the file cannot be read (No such file or directory)."
