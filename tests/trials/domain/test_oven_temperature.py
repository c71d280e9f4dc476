"""The oven temperature by the formula of each product standard; each rule's source is named beside it in the code."""

from decimal import Decimal
from pathlib import Path  # noqa: TID251  # a test reads files; the code it tests does not

import pytest

from trials.domain.methods.registry import method_edition
from trials.domain.oven_temperature import (
    OVEN_RULES,
    OvenRule,
    OvenTemperatureError,
    Part,
    level_for,
    oven_by_60335_1,
    oven_by_60598_1,
    oven_by_60884_1,
    oven_by_60950_1,
)

D = Decimal
HELP = Path(__file__).parents[3] / "trials" / "help" / "ball-pressure.md"


@pytest.mark.parametrize(
    ("part", "rise", "temperature", "sentence"),
    [
        # a test laboratory's public page on 30.1: 40 degC plus the rise, at least 75 or 125 degC
        ("external", "34.9", "75", "40 °C + 34.9 K (clause 11) = 74.9 °C, below the least of 75 °C"),
        ("external", "35", "75", "40 °C + 35 K (clause 11) = 75 °C"),
        ("external", "35.1", "75.1", "40 °C + 35.1 K (clause 11) = 75.1 °C"),
        ("supports live parts", "84.9", "125", "40 °C + 84.9 K (clause 11) = 124.9 °C, below the least of 125 °C"),
        ("supports live parts", "85", "125", "40 °C + 85 K (clause 11) = 125 °C"),
        ("supports live parts", "85.1", "125.1", "40 °C + 85.1 K (clause 11) = 125.1 °C"),
    ],
)
def test_iec_60335_1_by_clause_11(part: Part, rise: str, temperature: str, sentence: str) -> None:
    found = oven_by_60335_1(part, D(rise))
    assert (found.temperature_c, found.tolerance_k, found.sentence) == (D(temperature), D(2), sentence)


@pytest.mark.parametrize(
    ("rise", "abnormal", "temperature"),
    # IEC 60335-1:2006, 30.1 as quoted in public: 25 degC plus the highest rise of clause 19, if that is higher
    [("60", "74.9", "100"), ("60", "75", "100"), ("60", "75.1", "100.1"), ("60", "120", "145"), ("10", "40", "75")],
)
def test_iec_60335_1_supplementary_insulation_by_clause_19(rise: str, abnormal: str, temperature: str) -> None:
    assert oven_by_60335_1("external", D(rise), D(abnormal)).temperature_c == D(temperature)


@pytest.mark.parametrize(
    ("part", "operating", "temperature"),
    # IEC 60598-1, 13.2.1 as quoted in public: operating temperature + 25 K, at least 125 or 75 degC, oven 5 K
    [("supports live parts", "99.9", "125"), ("supports live parts", "100.1", "125.1"), ("external", "49", "75"),
     ("external", "62.5", "87.5")],
)  # fmt: skip
def test_iec_60598_1(part: Part, operating: str, temperature: str) -> None:
    found = oven_by_60598_1(part, D(operating))
    assert (found.temperature_c, found.tolerance_k) == (D(temperature), D(5))


@pytest.mark.parametrize(("primary", "temperature"), [(True, "125"), (False, "107.6")])
def test_iec_60950_1(primary: bool, temperature: str) -> None:
    # as quoted in public: T - T_amb + T_ma + 15 K, at least 125 degC at primary voltage; 78.1 - 25.5 + 40 + 15 = 107.6
    found = oven_by_60950_1(D("78.1"), D("25.5"), D(40), primary=primary)
    assert (found.temperature_c, found.tolerance_k) == (D(temperature), D(2))
    assert oven_by_60950_1(D(100), D(25), D(40), primary=True).temperature_c == 130


def test_iec_60884_1_is_a_fixed_temperature() -> None:
    # from memory: 125 degC, 2 K
    assert (oven_by_60884_1().temperature_c, oven_by_60884_1().tolerance_k) == (D(125), D(2))


def test_a_rise_below_zero_is_refused() -> None:
    with pytest.raises(OvenTemperatureError, match=r"^The rise of clause 19 is -0\.1 K; a rise is not below zero\.$"):
        oven_by_60335_1("external", D(60), D("-0.1"))


@pytest.mark.parametrize(
    ("temperature", "level"), [("75", "75"), ("75.1", "80"), ("124.9", "125"), ("200", "200"), ("200.1", None)]
)
def test_the_level_is_the_next_one_not_below(temperature: str, level: str | None) -> None:
    levels = [one.value for one in method_edition("ball-pressure@2014").severities]
    assert level_for(D(temperature), levels) == (None if level is None else D(level))


@pytest.mark.parametrize("rule", OVEN_RULES, ids=lambda rule: rule.product_standard)
def test_the_help_page_states_every_formula(rule: OvenRule) -> None:
    text = " ".join(HELP.read_text("utf-8").split())
    assert f"| {rule.product_standard}, {rule.clause} | {rule.formula} | {rule.tolerance_k} K |" in text
