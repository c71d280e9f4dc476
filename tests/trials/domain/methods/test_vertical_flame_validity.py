"""The vertical flame: what spoils a bar, what leaves it unjudged, what editions ask, and what always holds."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.trials.domain.glow_wire_trial import row
from tests.trials.domain.vertical_flame_trial import (
    EDITION_2013,
    STAYS,
    V0,
    V1,
    V2,
    best,
    course,
    edition,
    judged,
    trial,
)
from trials.domain.criteria import Value
from trials.domain.methods.registry import method_edition
from trials.domain.records import Observation
from trials.domain.verdicts import verdict_bytes, verdict_from_bytes

D = Decimal
RANK = {"V-0": 0, "V-1": 1, "V-2": 2, "none": 3}


@pytest.mark.parametrize(
    ("rows", "severity", "outcome"),
    [
        (course("0", "0", "0", row("shrank", "4")), None, "invalid"),
        (course("5", "0", "0", row("shrank", "4")), None, "pass"),
        (course("0", "0", "0", row("burner_out", "9.9")), None, "invalid"),
        (course("5", "0", "0", row("burner_out", "12")), None, "pass"),
        (course("5", "0", "0", row("burner_out", "16")), None, "invalid"),
        (course("0", "0", "0", row("gas_out", "4")), None, "not judged"),
        (course("0", "0", "0", row("gas_out", "4"), row("relit", "4.5")), None, "pass"),
        (course("0", "0", "0", row("gas_out", "4"), row("relit", "4.6")), None, "invalid"),
        (course("0", "0", "0", row("withdrawn", "11", row="again")), None, "not judged"),
        (course("0", "0", "0", row("tilted", "5")), None, "pass"),
    ],
)
def test_what_spoils_a_bar(rows: tuple[Observation, ...], severity: Decimal | None, outcome: str) -> None:
    # shrinking: UL 94:2021 excerpt; burner lost and relit: general knowledge
    assert EDITION_2013.judge(trial(*rows, severity=severity)).outcome == outcome


@pytest.mark.parametrize(("put_out", "outcome"), [("20.4", "not judged"), ("20.5", "fail")])
def test_a_flame_put_out_by_hand_lasted_that_long_at_least(put_out: str, outcome: str) -> None:
    rows = (row("contact", "0"), row("ignites", "3"), row("withdrawn", "10"), row("put_out", put_out),
            row("second_on", "21"), row("second_off", "31"), row("watch_ends", "40"))  # fmt: skip
    assert EDITION_2013.judge(trial(*rows, severity=V0)).outcome == outcome


def test_a_flame_that_crosses_the_second_application_is_not_judged() -> None:
    rows = (row("contact", "0"), row("ignites", "3"), row("withdrawn", "10"), row("second_on", "14"),
            row("flame_out", "16"), row("second_off", "24"), row("watch_ends", "40"))  # fmt: skip
    verdict = EDITION_2013.judge(trial(*rows, severity=V0))
    assert (verdict.outcome, [c.key for c in verdict.criteria if c.decides]) == ("not judged", ["t1"])


def test_a_late_second_application_is_said_and_not_judged() -> None:
    rows = (row("contact", "0"), row("withdrawn", "10"), row("second_on", "13.1"), row("second_off", "23.1"),
            row("watch_ends", "40"))  # fmt: skip
    verdict = EDITION_2013.judge(trial(*rows))
    said = "The flame was put on again 3.1 s after the bar had gone out."
    assert (verdict.outcome, verdict.warnings) == ("pass", (said,))


def test_a_bar_off_its_nominal_thickness_is_not_judged_until_it_is_corrected() -> None:
    found = [EDITION_2013.judge(trial(*course(), setup={"thickness_mm": D(mm)}))
             for mm in ("1.29", "1.30", "1.70", "1.71")]  # fmt: skip
    assert [one.outcome for one in found] == ["not judged", "pass", "pass", "not judged"]
    assert found[3].sentence.endswith(
        "the bar measures 1.71 mm, 0.21 mm off its nominal 1.5 mm, at most 0.2 mm is allowed; "
        "correct the one or the other."
    )


def test_an_open_order_names_the_best_class_or_fails() -> None:
    assert judged("5", "5").sentence == "Passed at V-0: t1 5 s, t2 5 s, t3 0 s, and the cotton did not catch."
    assert judged("31").sentence == "Failed at V-2: t1 of 31 s is over 30 s."
    gone = [one for one in course() if one.kind != "watch_ends"]
    assert (
        EDITION_2013.judge(trial(*gone)).sentence == "Not judged at best class: the end of the watch is not recorded."
    )


def test_the_limits_of_a_class_are_figures_of_the_edition() -> None:
    strict = edition(v0_each_s={"high": D(9)}, v1_glow_s={"high": D(30)})
    assert judged("10", judged_by=strict).quantity("class").text == "V-1"
    # one public page says 30 s of afterglow for V-1
    assert judged("0", "0", "31", judged_by=strict).quantity("class").text == "V-2"


def test_older_editions_ask_nothing_of_the_drying_of_the_cotton() -> None:
    for key in ("vertical-flame@1999", "vertical-flame@2003"):
        old = method_edition(key)
        setup: dict[str, Value] = {f.key: trial().setup[f.key] for f in old.setup_fields if f.key in trial().setup}
        record = trial(*course("5", "5"), judged_by=old)
        plain = type(record)(**{**vars(record), "setup": setup})
        assert old.judge(plain).quantity("class").text == "V-0"
        assert [need.atmosphere for need in old.conditionings] == ["23/45-55", "desiccator"]
    assert [need.atmosphere for need in EDITION_2013.conditionings] == ["23/50 class 2", "desiccator"]


def test_no_better_class_than_v_0_is_ever_offered() -> None:
    assert [level.text for level in EDITION_2013.severities] == ["V-0", "V-1", "V-2"]


TENTHS = st.integers(0, 700).map(lambda n: D(n) / 10)


@given(times=st.tuples(TENTHS, TENTHS, TENTHS), which=st.integers(0, 2), longer=TENTHS)
def test_longer_burning_never_improves_the_class(
    times: tuple[Decimal, Decimal, Decimal], which: int, longer: Decimal
) -> None:
    stretched = [*times]
    stretched[which] += longer
    before, after = (best(*(str(one) for one in own)) for own in (times, stretched))
    assert RANK[before] <= RANK[after]


@given(times=st.tuples(TENTHS, TENTHS, TENTHS), data=st.data())
def test_judging_does_not_depend_on_the_order_of_rows(
    times: tuple[Decimal, Decimal, Decimal], data: st.DataObject
) -> None:
    t1, t2, t3 = (str(one) for one in times)
    rows = [*course(t1, t2, t3)]
    mixed = EDITION_2013.judge(trial(*data.draw(st.permutations(rows))))
    assert verdict_bytes(mixed) == verdict_bytes(EDITION_2013.judge(trial(*rows)))
    assert verdict_from_bytes(verdict_bytes(mixed)) == mixed


def test_both_ways_of_conditioning_judge_a_bar_alike() -> None:
    verdicts = [EDITION_2013.judge(trial(*course("11"), plan=plan)).quantity("class").text for plan in STAYS]
    assert verdicts == ["V-1", "V-1"]


@pytest.mark.parametrize(("severity", "outcome"), [(V0, "fail"), (V1, "pass"), (V2, "pass")])
def test_a_class_ordered_is_judged_by_its_own_lines(severity: Decimal, outcome: str) -> None:
    assert judged("11", severity=severity).outcome == outcome
