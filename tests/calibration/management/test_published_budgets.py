"""The budgets of fixtures/budgets against what their sources print."""

from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from calibration.domain.budget_file import budget_answer

D = Decimal
FIXTURES = Path(__file__).parents[3] / "fixtures" / "budgets"


def answer(name: str) -> dict[str, Any]:
    return budget_answer((FIXTURES / f"{name}.json").read_text(encoding="utf-8"))


def to(text: str, place: str) -> str:
    return str(D(text).quantize(D(place)))


# Published results of EA-4/02 (S2, S3, S4, S5, S9, S10, S11) and JCGM 100:2008 H.1, as far as they are printed.
# Where the print rounds before it multiplies, what is reckoned from the same rows stands here and the print beside it.
PUBLISHED = [
    ("weight_10_kg", "10000025", "29.26", "0.01", "2.00", "59"),  # S2: 10 000.025 g, u 29.3 mg, U 59 mg
    ("resistor_10_kohm", "10000178", "8.33", "0.01", "2.00", "17"),  # S3: 10 000.178 ohm, u 8.33, U 17 mohm
    ("gauge_block_50_mm", "49999926", "36.40", "0.01", "2.00", "73"),  # S4: 49.999 926 mm, u 36.4, U 73 nm
    ("furnace_temperature", "1000.5", "0.641", "0.001", "2.00", "1.3"),  # S5: 1000.5 degC, u 0.641 K
    ("thermocouple_n_1000_c", "36229", "25.0", "0.1", "2.00", "50"),  # S5: 36 229 uV, u 25.0, U 50 uV
    ("multimeter_100_v", "0.100", "0.030", "0.001", "1.65", "0.049"),  # S9: 0.10 V, u 0.030, k 1.65, U 0.05 V
    ("calliper_150_mm", "100", "32.3", "0.1", "1.83", "59"),  # S10: 0.10 mm, u 33 um (32.3), k 1.83, U 0.06 mm
    ("block_calibrator_180_c", "180.10", "0.164", "0.001", "1.80", "0.30"),  # S11: 180.1, u 0.164, k 1.81, U 0.3 degC
    ("end_gauge", "50000838", "31.7", "0.1", "2.92", "92"),  # H.1: 50.000 838 mm, u 32 nm, k 2.92, U 93 nm (2.92 x 32)
]


@pytest.mark.parametrize(("name", "value", "uncertainty", "place", "factor", "expanded"), PUBLISHED)
def test_the_published_examples(
    name: str, value: str, uncertainty: str, place: str, factor: str, expanded: str
) -> None:
    found = answer(name)
    assert to(found["standard_uncertainty"], place) == uncertainty
    printed = found["printed"]
    assert (printed["value"], printed["coverage_factor"], printed["expanded_uncertainty"]) == (value, factor, expanded)


def test_the_contributions_of_the_furnace_as_published() -> None:
    # EA-4/02 S5, first part, in K.
    assert [to(row["contribution"], "0.001") for row in answer("furnace_temperature")["rows"]] == [
        "0.100", "0.150", "0.077", "0.022", "0.089", "-0.023", "0.173", "0.577",
    ]  # fmt: skip


def test_the_degrees_of_freedom_of_the_end_gauge_are_truncated() -> None:
    # JCGM 100:2008 H.1.6: 16.7, truncated to 16; interpolating would give k = 2.906.
    found = answer("end_gauge")
    assert (to(found["effective_degrees"], "0.01"), found["degrees"]) == ("16.75", 16)
    assert to(found["coverage_factor"], "0.001") == "2.921"


def test_the_rest_beside_those_that_govern() -> None:
    assert to(str(answer("calliper_150_mm")["rest"]), "0.01") == "0.06"
    assert answer("weight_10_kg")["rest"] is None
