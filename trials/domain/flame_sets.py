"""Sets of bars of the small-flame tests: whether a first and a second set reach a class, one conditioning at a time."""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Literal

from trials.domain.criteria import digits

type SetState = Literal["passed", "failed", "open"]
FIRST, SECOND = "first set", "second set"


@dataclass(frozen=True)
class ClassLimits:
    """A class with what its sets must keep to beside the lines on single bars.

    `total_s` limits the sum of t1 + t2 over a set, `retest_total_s` is the sum up to which a second set may decide;
    None where the class knows no sum.
    """

    severity: Decimal
    label: str
    total_s: Decimal | None = None
    retest_total_s: Decimal | None = None


@dataclass(frozen=True)
class Bar:
    """One valid bar: the classes whose lines on single bars it is known to meet, and its share t1 + t2 of the total.

    `known_as` says in words what it came to, `incomplete` names the times that are missing from its share.
    """

    specimen: str
    meets: frozenset[str]
    known_as: str = ""
    share_s: Decimal = Decimal(0)
    incomplete: str = ""


@dataclass(frozen=True)
class SetRule:
    """Bars in a set, and whether one bad bar with a total inside the window for a second set fails at once."""

    size: int
    both_fail: bool = False


@dataclass(frozen=True)
class SetFinding:
    """How one set stands for one class; `why` in words, `bad` the bars that do not meet it.

    `second` says that a second set decides: then the state is open, and nothing is missing from this set. `missing`
    counts the bars still to be tested, `doubly` marks a bad bar beside a total inside the window.
    """

    state: SetState
    why: str
    bad: tuple[str, ...] = ()
    missing: int = 0
    second: bool = False
    doubly: bool = False


@dataclass(frozen=True)
class PlanFinding:
    """How the bars of one conditioning stand for one class: by the first set, or by the second where it is called."""

    first: SetFinding
    second: SetFinding | None

    @property
    def state(self) -> SetState:
        """The state by the set that decides."""
        return self.first.state if self.second is None else self.second.state

    @property
    def deciding(self) -> SetFinding:
        """The finding of the set that decides."""
        return self.first if self.second is None else self.second

    @property
    def set_name(self) -> str:
        """The name of the set that decides."""
        return FIRST if self.second is None else SECOND


def first_set(rule: SetRule, bars: Sequence[Bar]) -> tuple[Bar, ...]:
    """The bars of the first set, in the order in which they were tested."""
    return tuple(bars[: rule.size])


def second_set(rule: SetRule, bars: Sequence[Bar]) -> tuple[Bar, ...]:
    """The bars tested after the first set that a second set would take."""
    return tuple(bars[rule.size : 2 * rule.size])


def plan_finding(rule: SetRule, limits: ClassLimits, bars: Sequence[Bar]) -> PlanFinding:
    """Return how valid bars of one conditioning, in the order tested, stand for a class.

    The first set fails with two bad bars, or with a total beyond the window; it calls for a second set with one bad
    bar, or with a total inside the window. All of the second set must comply, and it has no window. Within a set the
    order of the bars does not matter. Source: IEC 60695-11-10 as given by public pages and a public quotation of the
    rule on second sets.
    """
    first = _first_finding(rule, limits, first_set(rule, bars))
    if not first.second:
        return PlanFinding(first, None)
    return PlanFinding(first, _second_finding(rule, limits, second_set(rule, bars)))


def total_of(bars: Sequence[Bar]) -> Decimal:
    """The sum of t1 + t2 over bars, of the whole seconds that are known."""
    return sum((bar.share_s for bar in bars), Decimal(0))


def _first_finding(rule: SetRule, limits: ClassLimits, bars: Sequence[Bar]) -> SetFinding:
    bad = tuple(bar for bar in bars if limits.label not in bar.meets)
    names = tuple(bar.specimen for bar in bad)
    total_s = total_of(bars)
    over = limits.total_s is not None and total_s > limits.total_s
    beyond = over and (limits.retest_total_s is None or total_s > limits.retest_total_s)
    if len(bad) > 1:
        return SetFinding("failed", f"{len(bad)} bars do not meet {limits.label} ({', '.join(names)})", names)
    if beyond:
        latest_s = limits.total_s if limits.retest_total_s is None else limits.retest_total_s
        why = f"the total of {digits(total_s)} s is over {digits(latest_s or Decimal(0))} s"
        return SetFinding("failed", why, names)
    if bad and over and rule.both_fail:
        why = f"{_bad_words(bad[0], limits)} and the total of {digits(total_s)} s is over {_limit(limits)}"
        return SetFinding("failed", why, names, doubly=True)
    if len(bars) < rule.size:
        missing = rule.size - len(bars)
        return SetFinding("open", f"{len(bars)} of {rule.size} bars tested with a verdict", names, missing)
    if bad or over:
        words = [_bad_words(one, limits) for one in bad]
        words += [f"the total of {digits(total_s)} s is over {_limit(limits)}"] * over
        return SetFinding("open", " and ".join(words), names, second=True, doubly=bool(bad) and over)
    return SetFinding("passed", _passed_words(limits, bars))


def _second_finding(rule: SetRule, limits: ClassLimits, bars: Sequence[Bar]) -> SetFinding:
    bad = tuple(bar for bar in bars if limits.label not in bar.meets)
    names = tuple(bar.specimen for bar in bad)
    total_s = total_of(bars)
    if bad:
        return SetFinding("failed", f"{_bad_words(bad[0], limits)}, and all of the second set must", names)
    if limits.total_s is not None and total_s > limits.total_s:
        why = f"the total of {digits(total_s)} s is over {_limit(limits)}; a second set has no window"
        return SetFinding("failed", why)
    if len(bars) < rule.size:
        missing = rule.size - len(bars)
        return SetFinding("open", f"{len(bars)} of {rule.size} bars tested with a verdict", missing=missing)
    return SetFinding("passed", _passed_words(limits, bars))


def _bad_words(bar: Bar, limits: ClassLimits) -> str:
    known_as = f" ({bar.known_as})" if bar.known_as else ""
    return f"specimen {bar.specimen} does not meet {limits.label}{known_as}"


def _limit(limits: ClassLimits) -> str:
    return f"{digits(limits.total_s or Decimal(0))} s"


def _passed_words(limits: ClassLimits, bars: Sequence[Bar]) -> str:
    met = f"all {len(bars)} bars meet {limits.label}"
    return met if limits.total_s is None else f"{met}, total {digits(total_of(bars))} s"
