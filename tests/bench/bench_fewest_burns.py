"""How fast the exact optimum of an index search is found on the full grid, beside its own ladder; printed."""

import time
from decimal import Decimal

import pytest

from trials.domain.fewest_burns import Burns, belief_of, fewest_burns
from trials.domain.index_line import search_rule
from trials.domain.methods.registry import method_edition


@pytest.mark.parametrize("believed", [None, Decimal(750)])
def test_the_exact_optimum_beside_the_ladder(believed, capsys):
    rule = search_rule(method_edition("glow-wire-ignition-temperature@2021"))
    belief = belief_of(rule.grid, believed, Decimal(40))
    before = time.perf_counter()
    plan = fewest_burns(rule, belief, {}, Burns(3, 1))
    took_s = time.perf_counter() - before
    with capsys.disabled():
        what = "nothing believed" if believed is None else f"{believed} ± 40 °C believed"
        print(  # noqa: T201  (a benchmark speaks to the person at the terminal)
            f"\n{len(rule.grid)} levels, {what}: start at {plan.level} °C, {plan.expected:.2f} specimens expected, "
            f"{plan.ladder:.2f} by the ladder, found in {1000 * took_s:.1f} ms (1 s is aimed at)."
        )
    assert plan.expected <= plan.ladder
