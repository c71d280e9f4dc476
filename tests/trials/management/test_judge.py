"""`manage.py judge`: JSON and status 0 with a result, one sentence and status 2 without."""

import json
import subprocess
import sys
from io import StringIO
from pathlib import Path

import pytest
from django.core.management import call_command

from trials.management.judge_files import Refused

ROOT = Path(__file__).parents[3]
EXAMPLE = ROOT / "fixtures" / "worked" / "glow_wire_end_product" / "layer_catches_fails.json"


def printed(file: Path) -> str:
    out = StringIO()
    call_command("judge", str(file), stdout=out)
    return out.getvalue()


def test_prints_verdict_and_line_as_sorted_json() -> None:
    text = printed(EXAMPLE)
    result = json.loads(text)
    assert text == json.dumps(result, sort_keys=True, indent=2, ensure_ascii=False) + "\n"
    assert set(result) == {"as_expected", "expected", "line", "method", "specimens"}
    assert (result["method"], result["line"]["state"]) == ("glow-wire-end-product@2021", "failed")
    verdict = result["specimens"][0]["verdict"]
    assert verdict["sentence"] == "Failed at 850 °C: the layer caught at 22.4 s, after the second drip at 22.0 s."
    assert {q["key"]: q["value"] for q in verdict["quantities"]}["application"] == "30.2"


def test_a_file_with_a_byte_order_mark_is_read(tmp_path: Path) -> None:
    file = tmp_path / "marked.json"
    file.write_bytes(b"\xef\xbb\xbf" + EXAMPLE.read_bytes())
    assert printed(file) == printed(EXAMPLE)


@pytest.mark.parametrize(
    ("content", "sentence"),
    [
        (b"{", "Line 1, column 2: this is not JSON (Expecting property name enclosed in double quotes)."),
        (b'{"severity": NaN}', "NaN is not a number that can be judged."),
        (b"\xff\xfe{", "the file is not UTF-8 text (byte 0)."),
        (b"{}", "method: a text is needed, and it is missing."),
    ],
)
def test_refuses_in_one_sentence(tmp_path: Path, content: bytes, sentence: str) -> None:
    file = tmp_path / "case.json"
    file.write_bytes(content)
    with pytest.raises(Refused) as refusal:
        printed(file)
    assert (str(refusal.value), refusal.value.returncode) == (f"{file}: {sentence}", 2)


def test_refuses_a_file_that_is_not_there(tmp_path: Path) -> None:
    with pytest.raises(Refused) as refusal:
        printed(tmp_path / "none.json")
    assert str(refusal.value) == f"{tmp_path / 'none.json'}: the file cannot be read (No such file or directory)."


@pytest.mark.parametrize(("name", "status"), [("layer_catches_fails.json", 0), ("none.json", 2)])
def test_status_on_the_command_line(name: str, status: int) -> None:
    command = [sys.executable, str(ROOT / "manage.py"), "judge", str(EXAMPLE.with_name(name))]
    run = subprocess.run(command, capture_output=True, text=True, check=False, cwd=ROOT)  # noqa: S603  # our own command
    assert run.returncode == status
    assert (run.stdout == "", run.stderr.count("\n")) == (status == 2, 1 if status else 0)
