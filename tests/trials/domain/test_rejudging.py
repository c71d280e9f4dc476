"""A stored record judged again: the same bytes by the same figures, differences in words by others."""

import json
from dataclasses import replace
from decimal import Decimal
from pathlib import Path  # noqa: TID251  # a test reads files; the code it tests does not

import orjson
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.trials.domain.glow_wire_trial import EDITION_2021, course, row, trial
from trials.domain.judge_file import judge_case
from trials.domain.parameter_changes import changed_edition
from trials.domain.record_json import record_from_json, record_to_json
from trials.domain.records import Conditioning, RecordError
from trials.domain.rejudging import Difference, judged_again, record_differences, verdict_differences
from trials.domain.verdicts import from_json, to_json, verdict_bytes, verdict_fingerprint, verdict_from_bytes

D = Decimal
EXAMPLES = sorted((Path(__file__).parents[3] / "fixtures" / "worked").glob("*/*.json"))
RECORD = trial(*course(row("ignites", "6.8"), row("flame_out", "31.4"), row("drip", "22.0")))


def stored(record):
    """What the database gives back: the record and the signer's reason beside it."""
    return json.loads(json.dumps(record_to_json(record) | {"reason": ""}))


@pytest.mark.parametrize("file", EXAMPLES, ids=lambda file: f"{file.parent.name}/{file.stem}")
def test_every_worked_example_is_judged_again_to_the_byte(file):
    case = judge_case(file.read_text("utf-8"))
    for _, record, _ in case.records:
        assert record_from_json(case.edition, stored(record)) == record
        verdict = case.edition.judge(record)
        again = judged_again(case.edition, stored(record))
        assert verdict_bytes(again) == verdict_bytes(verdict)
        assert verdict_differences(from_json(json.loads(json.dumps(to_json(verdict)))), again) == ()


def test_the_canonical_form_is_that_of_the_standard_library():
    """Sorted names, no spaces, nothing escaped that need not be: so bytes written earlier stay comparable."""
    verdict = EDITION_2021.judge(RECORD)
    text = json.dumps(to_json(verdict), sort_keys=True, ensure_ascii=False, separators=(",", ":"), allow_nan=False)
    assert verdict_bytes(verdict) == text.encode()
    assert verdict_from_bytes(verdict_bytes(verdict)) == verdict


@given(st.text(), st.text())
def test_any_text_is_written_as_the_standard_library_writes_it(sentence, warning):
    verdict = replace(
        EDITION_2021.judge(RECORD), sentence=sentence, warnings=(warning,), parameters=((sentence, warning),)
    )
    text = json.dumps(to_json(verdict), sort_keys=True, ensure_ascii=False, separators=(",", ":"))
    assert verdict_bytes(verdict) == text.encode()


def test_digits_that_were_typed_decide_the_fingerprint():
    other = trial(*RECORD.observations, setup={"force_n": D("0.960")})
    assert verdict_fingerprint(EDITION_2021.judge(other)) != verdict_fingerprint(EDITION_2021.judge(RECORD))
    assert [one.words for one in verdict_differences(EDITION_2021.judge(RECORD), EDITION_2021.judge(other))] == [
        "Force, found: 0.96 N → 0.960 N"
    ]


def test_changed_figures_show_what_they_change():
    tighter = changed_edition(EDITION_2021, {"force_n": {"value": D("1.00"), "tolerance": D("0.03")}})
    found = verdict_differences(EDITION_2021.judge(RECORD), judged_again(tighter, stored(RECORD)))
    assert [one.words for one in found if "source" not in one.what and "certainty" not in one.what] == [
        "Outcome: pass → invalid",
        (
            "Sentence: Passed at 850 °C: the flame was out at 31.4 s, and the layer did not catch. → "
            "Invalid at 850 °C: force 0.96 N is outside 1.00 ± 0.03 N."
        ),
        "Reasons: nothing → Force 0.96 N is outside 1.00 ± 0.03 N.",
        "Force, limit: 0.95 ± 0.10 N → 1.00 ± 0.03 N",
        "Force, holds: met → not met",
        "Force, reason: measured with FG-02 → force 0.96 N is outside 1.00 ± 0.03 N",
        "Force, decides: no → yes",
        "Figure of the edition, force of the tip on the specimen: 0.95 ± 0.10 N → 1.00 ± 0.03 N",
    ]


def test_a_criterion_that_comes_or_goes_is_named_whole():
    scorching = changed_edition(EDITION_2021, {"judge_scorching": {"value": True}})
    found = verdict_differences(EDITION_2021.judge(RECORD), judged_again(scorching, stored(RECORD)))
    assert Difference("Board not scorched", "nothing", "not recorded, not known") in found


def test_a_new_rule_version_alone_is_a_difference():
    newer = replace(EDITION_2021, rule_version=2)
    assert verdict_differences(EDITION_2021.judge(RECORD), judged_again(newer, stored(RECORD))) == (
        Difference("Rule version", "1", "2"),
    )


def test_what_no_list_names_is_still_a_difference():
    verdict = EDITION_2021.judge(RECORD)
    first = verdict.quantities[0]
    other = replace(verdict, quantities=(replace(first, symbol="τ"), *verdict.quantities[1:]))
    assert [one.what for one in verdict_differences(verdict, other)] == ["Form of the verdict"]


@pytest.mark.parametrize(
    ("change", "sentence"),
    [
        ({"colour": "red"}, "The stored record has other members than a record: colour, conditioning"),
        ({"setup": {"colour": "red"}}, "setup: 'colour' is not a set-up value of glow-wire-end-product@2021."),
        ({"setup": {"force_n": "much"}}, "The stored record cannot be read:"),
        ({"observations": [{"row": "1", "kind": "bang", "t_s": None}]}, "observation 1: 'bang' is not a kind"),
        ({"observations": [{"row": "1", "kind": "drip"}]}, "The stored record cannot be read: KeyError('t_s')."),
        ({"conditioning": {"weather": "1"}}, "The stored record has a member called 'weather', which nobody knows."),
        ({"temperature_readings": [{"t_s": "1", "read_c": None}]}, "The stored record cannot be read:"),
        ({"instruments": [{"part": "timer"}]}, "The stored record cannot be read:"),
    ],
)
def test_a_stored_record_is_read_strictly(change, sentence):
    with pytest.raises(RecordError) as refusal:
        record_from_json(EDITION_2021, stored(RECORD) | change)
    assert str(refusal.value).startswith(sentence)


def test_a_member_that_came_later_has_its_default():
    plain = stored(RECORD)
    del plain["conditioning"]["plan"], plain["conditioning"]["earlier_s"]
    assert record_from_json(EDITION_2021, plain) == RECORD


def test_records_that_differ_say_where():
    other = replace(RECORD, conditioning=Conditioning(D(1), D(44)))
    longer = replace(other, temperature_readings=other.temperature_readings[:-1])
    assert record_differences(stored(RECORD), stored(RECORD)) == ()
    assert [one.words for one in record_differences(stored(RECORD), stored(longer))] == [
        "temperature_readings 8, t_s: 0 → nothing",
        "temperature_readings 8, read_c: 850.4 → nothing",
        "temperature_readings 8, correction_k: 0.0 → nothing",
        "conditioning, counted_s: 258000 → 1",
    ]


def test_what_is_remembered_never_mixes_trials():
    """The same set-up but for one value, back and forth: every answer is that of its own record."""
    records = [trial(*RECORD.observations, setup={"force_n": force}) for force in map(D, ("0.96", "1.2", "0.960"))]
    alone = [verdict_bytes(changed_edition(EDITION_2021, {}).judge(one)) for one in records]
    fresh = [verdict_bytes(replace(EDITION_2021).judge(one)) for one in records]
    again = [verdict_bytes(EDITION_2021.judge(one)) for one in (*records, *reversed(records))]
    assert (alone, again) == (fresh, [*fresh, *reversed(fresh)])
    assert orjson.loads(fresh[1])["outcome"] == "invalid"
