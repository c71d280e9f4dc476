"""How criteria become an outcome, and the canonical bytes of a verdict."""

import json
from dataclasses import replace
from itertools import product

import pytest

from tests.trials.domain.glow_wire_trial import EDITION_2021, course, row, trial
from trials.domain.criteria import Criterion
from trials.domain.verdicts import from_json, outcome_of, to_json, verdict_bytes, verdict_from_bytes

HOLDS = Criterion("k", "Title", "found", "limit", True, "", "", "published")
BROKEN, UNKNOWN = replace(HOLDS, holds=False), replace(HOLDS, holds=None)
VERDICT = EDITION_2021.judge(trial(*course(row("ignites", "6.5"), row("flame_out", "43.5"), row("drip", "22.0"))))


@pytest.mark.parametrize(
    ("setup", "result", "outcome"),
    [
        ([HOLDS], [HOLDS], "pass"),
        ([HOLDS], [HOLDS, BROKEN], "fail"),
        ([HOLDS], [UNKNOWN, BROKEN], "fail"),
        ([HOLDS], [HOLDS, UNKNOWN], "not judged"),
        ([HOLDS, UNKNOWN], [BROKEN], "not judged"),
        ([BROKEN, UNKNOWN], [HOLDS], "invalid"),
        ([HOLDS, BROKEN], [BROKEN], "invalid"),
    ],
)
def test_validity_comes_before_the_verdict(setup: list[Criterion], result: list[Criterion], outcome: str) -> None:
    assert outcome_of(setup, result) == outcome


def test_unenforced_criteria_never_decide() -> None:
    for setup, result in product((BROKEN, UNKNOWN), repeat=2):
        soft = (replace(setup, enforced=False), HOLDS), (replace(result, enforced=False), HOLDS)
        assert outcome_of(*soft) == "pass"


def test_bytes_come_back_the_same() -> None:
    assert verdict_from_bytes(verdict_bytes(VERDICT)) == VERDICT
    assert verdict_bytes(verdict_from_bytes(verdict_bytes(VERDICT))) == verdict_bytes(VERDICT)


def test_bytes_are_canonical() -> None:
    plain = json.loads(verdict_bytes(VERDICT))
    assert verdict_bytes(VERDICT) == json.dumps(
        plain, sort_keys=True, ensure_ascii=False, separators=(",", ":")
    ).encode()  # fmt: skip


def test_figures_keep_their_digits_as_text() -> None:
    figures = {q["key"]: q["value"] for q in to_json(VERDICT)["quantities"]}
    assert figures == {
        "temperature": "850.4", "application": "30.2", "ignites": "6.5", "layer_ignites": None, "flames_end": "43.5",
        "glow_ends": None, "latest": "60.2", "longest_flame": "37.0", "height": None, "drips": "1",
    }  # fmt: skip
    assert VERDICT.quantity("layer_ignites").text == "not caught"
    assert VERDICT.quantity("glow_ends").text == "no glow"


def test_quantity_of_another_name_is_an_error() -> None:
    with pytest.raises(KeyError):
        VERDICT.quantity("colour")


def test_an_unknown_outcome_is_refused() -> None:
    with pytest.raises(ValueError, match=r"^There is no outcome called 'maybe'\.$"):
        from_json({**to_json(VERDICT), "outcome": "maybe"})
