"""Sets of bars: the rule on second sets, its windows at their values, and the order of bars."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from trials.domain.flame_sets import Bar, ClassLimits, SetRule, plan_finding

D = Decimal
RULE, STRICT = SetRule(5), SetRule(5, both_fail=True)
V0 = ClassLimits(D(0), "V-0", D(50), D(55))
V1 = ClassLimits(D(1), "V-1", D(250), D(255))
HB40 = ClassLimits(D(40), "HB40")


def bars(*shares: int, bad: int = 0, first: int = 1) -> tuple[Bar, ...]:
    """Bars with these shares of the total; the last `bad` of them meet no class."""
    good = len(shares) - bad
    return tuple(
        Bar(f"{n:02}", frozenset({"V-0", "V-1"} if n - first < good else ()), share_s=D(share))
        for n, share in enumerate(shares, start=first)
    )


def found(limits: ClassLimits, own: tuple[Bar, ...], rule: SetRule = RULE) -> tuple[str, bool, int]:
    """State, whether a second set was called, bars missing."""
    finding = plan_finding(rule, limits, own)
    return finding.state, finding.second is not None, finding.deciding.missing


@pytest.mark.parametrize(
    ("limits", "total", "state"),
    # 50 and 250 s: public pages on V-0 and V-1; 51 to 55 and 251 to 255 s: a page quoting UL 94, clause 8.1
    [
        (V0, 49, ("passed", False, 0)),
        (V0, 50, ("passed", False, 0)),
        (V0, 51, ("open", True, 5)),
        (V0, 55, ("open", True, 5)),
        (V0, 56, ("failed", False, 0)),
        (V1, 250, ("passed", False, 0)),
        (V1, 251, ("open", True, 5)),
        (V1, 255, ("open", True, 5)),
        (V1, 256, ("failed", False, 0)),
    ],
)
def test_total_of_a_first_set_at_its_limits(limits: ClassLimits, total: int, state: tuple[str, bool, int]) -> None:
    assert found(limits, bars(total - 4, 1, 1, 1, 1)) == state


@pytest.mark.parametrize(
    ("bad", "total", "state"),
    [
        (0, 5, ("passed", False, 0)),
        (1, 50, ("open", True, 5)),
        (1, 51, ("open", True, 5)),
        (1, 55, ("open", True, 5)),
        (1, 56, ("failed", False, 0)),
        (2, 5, ("failed", False, 0)),
    ],
)
def test_one_bad_bar_calls_for_a_second_set_and_two_fail(bad: int, total: int, state: tuple[str, bool, int]) -> None:
    assert found(V0, bars(total - 4, 1, 1, 1, 1, bad=bad)) == state


def test_a_bad_bar_and_a_total_in_the_window_are_flagged_or_fail_at_once() -> None:
    # ruling: a second set, flagged; other value: fail at once
    own = bars(48, 1, 1, 1, 1, bad=1)
    assert found(V0, own, STRICT) == ("failed", False, 0)
    assert plan_finding(RULE, V0, own).first.doubly
    assert found(V0, bars(46, 1, 1, 1, 1, bad=1), STRICT) == ("open", True, 5)
    assert found(V0, bars(48, 1, 1, 1, 1), STRICT) == ("open", True, 5)


@pytest.mark.parametrize(
    ("second", "state"),
    [
        (bars(10, 10, 10, 10, first=6), ("open", True, 1)),
        (bars(10, 10, 10, 10, 10, first=6), ("passed", True, 0)),
        (bars(11, 10, 10, 10, 10, first=6), ("failed", True, 0)),
        (bars(0, 0, bad=1, first=6), ("failed", True, 0)),
        (bars(51, first=6), ("failed", True, 0)),
    ],
)
def test_all_of_a_second_set_must_comply_and_it_has_no_window(
    second: tuple[Bar, ...], state: tuple[str, bool, int]
) -> None:
    assert found(V0, (*bars(1, 1, 1, 1, 1, bad=1), *second)) == state


def test_a_set_is_failed_as_soon_as_nothing_can_mend_it() -> None:
    assert found(V0, bars(0, 0, bad=2)) == ("failed", False, 0)
    assert found(V0, bars(28, 28)) == ("failed", False, 0)
    assert found(V0, bars(0, 0, bad=1)) == ("open", False, 3)


def test_a_class_without_a_total_looks_at_single_bars_only() -> None:
    # three bars; a second set of three where only one fails: general knowledge of IEC 60695-11-10
    three = SetRule(3)
    good, bad = Bar("g", frozenset({"HB40"})), Bar("b", frozenset())
    assert found(HB40, (good, good, good), three) == ("passed", False, 0)
    assert found(HB40, (good, bad, good), three) == ("open", True, 3)
    assert found(HB40, (good, bad, bad), three) == ("failed", False, 0)
    assert found(HB40, (good, bad, good, good, good, good), three) == ("passed", True, 0)
    assert found(HB40, (good, bad, good, good, bad), three) == ("failed", True, 0)


SHARES = st.lists(st.tuples(st.integers(0, 60), st.booleans()), max_size=12)
STATES = {"passed": 0, "open": 1, "failed": 2}


def made(plain: list[tuple[int, bool]]) -> tuple[Bar, ...]:
    return tuple(
        Bar(f"{n:02}", frozenset({"V-0"} if good else ()), share_s=D(share)) for n, (share, good) in enumerate(plain)
    )


@given(plain=SHARES, data=st.data(), rule=st.sampled_from([RULE, STRICT]))
def test_order_within_a_set_does_not_matter(plain: list[tuple[int, bool]], data: st.DataObject, rule: SetRule) -> None:
    first, second, rest = plain[:5], plain[5:10], plain[10:]
    mixed = [*data.draw(st.permutations(first)), *data.draw(st.permutations(second)), *rest]
    assert found(V0, made(mixed), rule) == found(V0, made(plain), rule)


@given(plain=SHARES, share=st.integers(0, 60), rule=st.sampled_from([RULE, STRICT]))
def test_one_more_bad_bar_never_makes_a_set_pass(plain: list[tuple[int, bool]], share: int, rule: SetRule) -> None:
    before, after = found(V0, made(plain), rule)[0], found(V0, made([*plain, (share, False)]), rule)[0]
    assert STATES[before] <= STATES[after]


@given(plain=SHARES, which=st.integers(0, 11), longer=st.integers(0, 60), rule=st.sampled_from([RULE, STRICT]))
def test_a_longer_afterflame_never_makes_a_set_pass(
    plain: list[tuple[int, bool]], which: int, longer: int, rule: SetRule
) -> None:
    stretched = [(share + longer * (n == which), good) for n, (share, good) in enumerate(plain)]
    assert STATES[found(V0, made(plain), rule)[0]] <= STATES[found(V0, made(stretched), rule)[0]]
