"""A mean is shown to as many places as it takes to see on which side of its limit it lies. Constructed."""

from decimal import Decimal

import pytest

from tests.trials.domain import ball_pressure_trial as ball
from trials.domain.dent import dent_text, judged_mm

D = Decimal
MEAN = ball.edition({"dent_judged": {"value": "mean"}})


@pytest.mark.parametrize(
    ("readings", "text"),
    [
        (["2.0", "2.0", "2.1"], "2.03 mm (mean of 3 readings)"),
        (["2.0"] * 29 + ["2.1"], "2.003 mm (mean of 30 readings)"),
        (["2.0"] * 29 + ["1.9"], "1.997 mm (mean of 30 readings)"),
        (["2.0", "2.0"], "2.0 mm (mean of 2 readings)"),
        (["1.9"], "1.9 mm"),
        ([], "not recorded"),
    ],
)
def test_a_mean_never_looks_as_if_it_lay_on_its_limit(readings, text):
    assert dent_text(MEAN, [D(reading) for reading in readings]) == text


def test_no_reading_is_no_diameter():
    assert judged_mm(MEAN, []) is None
