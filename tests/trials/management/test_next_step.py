"""`manage.py next_step`: JSON and status 0 with an answer, one sentence and status 2 without."""

import json
import subprocess
import sys
from io import StringIO
from pathlib import Path

import pytest
from django.core.management import call_command

from trials.domain.next_step_file import next_step_result
from trials.management.judge_files import Refused

ROOT = Path(__file__).parents[3]
EXAMPLES = sorted((ROOT / "fixtures" / "worked").glob("*/*.json"))


def printed(file: Path) -> str:
    out = StringIO()
    call_command("next_step", str(file), stdout=out)
    return out.getvalue()


def test_prints_sorted_json(tmp_path: Path) -> None:
    file = tmp_path / "line.json"
    members = {"method": "glow-wire-end-product", "edition": "2021", "severity": 850, "specimens": []}
    file.write_text(json.dumps(members), "utf-8")
    text = printed(file)
    assert text == json.dumps(json.loads(text), sort_keys=True, indent=2, ensure_ascii=False) + "\n"
    assert json.loads(text)["next"]["specimens"] == 1


@pytest.mark.parametrize("file", EXAMPLES, ids=lambda file: f"{file.parent.name}/{file.stem}")
def test_every_worked_example_has_its_next_step(file: Path) -> None:
    """The command and the line result of `judge` say the same, for every method."""
    expected = json.loads(file.read_text("utf-8")).get("expected", {})
    found = next_step_result(file.read_text("utf-8"))
    if "line" in expected:
        assert found["state"] == expected["line"]
    if "needed" in expected:
        assert found["needed"] == expected["needed"]
    assert (found["next"] is None) == (found["needed"] == 0)
    if found["next"] is not None:
        assert found["next"]["specimens"] == found["needed"]
        assert found["next"]["reason"]


def test_refuses_in_one_sentence(tmp_path: Path) -> None:
    file = tmp_path / "case.json"
    file.write_text("{}", "utf-8")
    with pytest.raises(Refused) as refusal:
        printed(file)
    assert (str(refusal.value), refusal.value.returncode) == (
        f"{file}: method: a text is needed, and it is missing.",
        2,
    )


def test_status_on_the_command_line(tmp_path: Path) -> None:
    command = [sys.executable, str(ROOT / "manage.py"), "next_step", str(tmp_path / "none.json")]
    run = subprocess.run(command, capture_output=True, text=True, check=False, cwd=ROOT)  # noqa: S603  # our own command
    assert (run.returncode, run.stdout, run.stderr.count("\n")) == (2, "", 1)
