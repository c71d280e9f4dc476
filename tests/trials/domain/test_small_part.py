"""Small parts. Circles of 15 and 8 mm, 2 mm left out: JIS C 60695-2-11:2016 (IEC 60695-2-11:2014), public text.

The square of 14 mm and the mass of 0.5 g are general knowledge of product standards; equal fits is our reading.
"""

from decimal import Decimal
from itertools import product

import pytest

from tests.trials.domain.glow_wire_trial import EDITION_2021, course, trial
from trials.domain.small_part import CIRCLES, LIMITS, MASS, NO_RULE, SMALL_PART_RULES, SQUARE, PartSize, small_part

D = Decimal


def size(**members: str) -> PartSize:
    return PartSize(**{name: D(text) for name, text in members.items()})


@pytest.mark.parametrize(
    ("rule", "found", "small"),
    [
        (CIRCLES, size(around_mm="14.9", inside_mm="9"), True),
        (CIRCLES, size(around_mm="15.0", inside_mm="9"), True),
        (CIRCLES, size(around_mm="15.1", inside_mm="8.1"), False),
        (CIRCLES, size(around_mm="40", inside_mm="7.9"), True),
        (CIRCLES, size(around_mm="40", inside_mm="8.0"), False),
        (CIRCLES, size(inside_mm="7.9"), True),
        (CIRCLES, size(around_mm="15.0"), True),
        (CIRCLES, size(around_mm="15.1"), None),
        (CIRCLES, size(inside_mm="8.0"), None),
        (CIRCLES, size(mass_g="0.1"), None),
        (SQUARE, size(square_mm="13.9"), True),
        (SQUARE, size(square_mm="14.0"), True),
        (SQUARE, size(square_mm="14.1"), False),
        (SQUARE, size(around_mm="14.0"), True),
        (SQUARE, size(around_mm="14.1"), None),
        (SQUARE, size(around_mm="14.1", square_mm="14.0"), True),
        (MASS, size(mass_g="0.49"), True),
        (MASS, size(mass_g="0.5"), True),
        (MASS, size(mass_g="0.51"), False),
        (MASS, size(around_mm="3"), None),
        (NO_RULE, size(around_mm="3", inside_mm="2", mass_g="0.1"), False),
    ],
)
def test_each_rule_at_its_limit_and_a_step_to_each_side(rule: str, found: PartSize, small: bool | None) -> None:
    assert small_part(rule, found) is small


def test_every_choice_has_its_figures() -> None:
    assert tuple(LIMITS) == SMALL_PART_RULES
    assert EDITION_2021.parameter("small_part_rule").choices == SMALL_PART_RULES


def test_a_larger_face_is_never_small_where_a_smaller_one_is_not() -> None:
    steps = [D(n) / 10 for n in range(60, 170, 5)]
    for around, inside in product(steps, steps):
        if small_part(CIRCLES, PartSize(around, inside)) is False:
            assert small_part(CIRCLES, PartSize(around + 1, inside + 1)) is False


def test_what_replaces_the_test_is_said_with_the_warning_and_decides_nothing() -> None:
    verdict = EDITION_2021.judge(trial(*course(), setup={"face_around_mm": D("15.0")}))
    assert verdict.outcome == "pass"
    warning = (
        "This is a small part by the rule “15/8 mm circles” (fits in a circle of 15.0 mm), so the test does not apply "
        "to it; instead: what the product standard says."
    )
    assert verdict.warnings == (warning,)


def test_a_size_that_does_not_tell_stays_unknown() -> None:
    record = trial(*course(), setup={"face_inside_mm": D("9.0")})
    (criterion,) = (c for c in EDITION_2021.start_criteria(record) if c.key == "small_part")
    assert (criterion.holds, criterion.enforced) == (None, False)
    assert criterion.reason.endswith("cannot be told from holds a circle of 9.0 mm")
