"""The search for a glow-wire index: how its levels stand, which temperature comes next and why, and where it ends."""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Literal

from trials.domain.criteria import with_unit

type LevelState = Literal["passed", "failed", "open"]

WIDE_STEP = Decimal(50)
"""Between two levels of the coarse table, in K; 60 K at its top."""


@dataclass(frozen=True)
class SearchRule:
    """The figures of a search, temperatures in °C from low to high.

    `coarse` are the levels of the method's own table, `grid` those and the finer ones between; without refinement
    both are the same. `needed` specimens must all pass at a level; `first_fail_ends`: one that fails ends it.
    """

    grid: tuple[Decimal, ...]
    coarse: tuple[Decimal, ...]
    start: Decimal
    needed: int = 3
    first_fail_ends: bool = True


@dataclass(frozen=True)
class LevelCount:
    """One level: how many specimens passed and failed at it, whatever their order."""

    passed: int = 0
    failed: int = 0

    def state(self, rule: SearchRule) -> LevelState:
        """Return how the level stands: one failing specimen fails it, `needed` passing ones and no failing one pass it.

        Where the first failing specimen does not end a level, it stays open until all of it is tested.
        """
        if self.failed and (rule.first_fail_ends or self.passed + self.failed >= rule.needed):
            return "failed"
        return "passed" if not self.failed and self.passed >= rule.needed else "open"

    def missing(self, rule: SearchRule) -> int:
        """Return how many specimens the level still needs."""
        return 0 if self.state(rule) != "open" else rule.needed - self.passed - self.failed


@dataclass(frozen=True)
class Move:
    """What comes next: a temperature in °C, how many specimens, and why, as a sentence."""

    level: Decimal
    specimens: int
    reason: str


@dataclass(frozen=True)
class SearchState:
    """Where a search stands.

    `low` is the highest level passed below `high`, the lowest that failed; None where there is none. `move` is None
    once nothing is left between them: `low` is then the highest temperature passed, None when none was. `flags` say
    what is out of the ordinary.
    """

    low: Decimal | None
    high: Decimal | None
    move: Move | None
    flags: tuple[str, ...] = ()


def search_state(rule: SearchRule, levels: Mapping[Decimal, LevelCount], start: Decimal | None = None) -> SearchState:
    """Return where a search stands; `start` is the level agreed to begin at, else the rule's.

    Steps of 50 K (60 K at the top) up from a pass and down from a fail, then the levels between. A pass above the
    lowest fail is flagged and does not count; without a pass below it the search goes on downwards. Every level asked
    for is one not decided yet, so the search ends within the grid. Independent of the order of the trials.
    Source: GOST IEC 60695-2-13-2012 (IEC 60695-2-13:2010), 8.3, public text; the rest is a reading of it.
    """
    states = {level: tested.state(rule) for level, tested in levels.items()}
    high = min((level for level, state in states.items() if state == "failed"), default=None)
    below = [level for level, state in states.items() if state == "passed" and (high is None or level < high)]
    low = max(below, default=None)
    flags = _turned_round(states, high)
    unfinished = _unfinished(rule, levels, states, low, high)
    if unfinished is not None:
        level, tested = unfinished
        failed = f" and {tested.failed} failed" if tested.failed else ""
        so_far = f"{tested.passed} of {rule.needed} passed{failed} at {_c(level)} so far."
        return SearchState(low, high, Move(level, tested.missing(rule), so_far), flags)
    following, reason = _next_level(rule, low, high, start)
    move = None if following is None else Move(following, rule.needed, reason)
    return SearchState(low, high, move, flags)


def start_flag(rule: SearchRule, start: Decimal | None) -> str:
    """Return the flag for a start that is no level of the method's own table; empty where it is one."""
    if start is None or start in rule.coarse:
        return ""
    return f"The search starts at {_c(start)}, which is no level of the method’s own table: a recorded deviation."


def _unfinished(
    rule: SearchRule,
    levels: Mapping[Decimal, LevelCount],
    states: Mapping[Decimal, LevelState],
    low: Decimal | None,
    high: Decimal | None,
) -> tuple[Decimal, LevelCount] | None:
    """The level begun and not decided that matters: between the highest pass and the lowest fail, highest first."""
    begun = [
        level
        for level, state in states.items()
        if state == "open"
        and (levels[level].passed or levels[level].failed)
        and (low is None or level > low)
        and (high is None or level < high)
    ]
    return (max(begun), levels[max(begun)]) if begun else None


def _next_level(
    rule: SearchRule, low: Decimal | None, high: Decimal | None, start: Decimal | None
) -> tuple[Decimal | None, str]:
    if low is None and high is None:
        return (rule.start, f"No start is agreed; the usual one is {_c(rule.start)}.") if start is None else (
            start, f"The search starts at the level agreed, {_c(start)}.",
        )  # fmt: skip
    if high is None and low is not None:
        up = _stepped(rule, low, WIDE_STEP, above=low)
        return up, "" if up is None else f"All {rule.needed} passed at {_c(low)}, so the next is {_k(up - low)} higher."
    if low is None and high is not None:
        down = _stepped(rule, high, -WIDE_STEP, below=high)
        return down, "" if down is None else f"{_c(high)} failed, so the next is {_k(high - down)} lower."
    return _between(rule, low or Decimal(0), high or Decimal(0))


def _between(rule: SearchRule, low: Decimal, high: Decimal) -> tuple[Decimal | None, str]:
    """The next level between a pass and a fail: the only one there, else the one 50 K above the pass."""
    inside = [level for level in rule.grid if low < level < high]
    if not inside:
        return None, ""
    gap = f"{_c(low)} passed and {_c(high)} failed"
    if len(inside) == 1:
        return inside[0], f"{gap}; {_c(inside[0])} lies between."
    step = _stepped(rule, low, WIDE_STEP, above=low, below=high) or inside[0]
    return step, f"{gap}, {_k(high - low)} apart; the gap is closed from the pass upwards."


def _stepped(
    rule: SearchRule, level: Decimal, step: Decimal, *, above: Decimal | None = None, below: Decimal | None = None
) -> Decimal | None:
    """The level nearest to a step away that lies on the right side; the lower of two that are equally near."""
    reach = [one for one in rule.grid if (above is None or one > above) and (below is None or one < below)]
    return min(reach, key=lambda one: (abs(one - (level + step)), one), default=None)


def _turned_round(states: Mapping[Decimal, LevelState], high: Decimal | None) -> tuple[str, ...]:
    if high is None:
        return ()
    over = sorted(level for level, state in states.items() if state == "passed" and level > high)
    return tuple(
        f"Passed at {_c(level)} although {_c(high)} failed: the highest pass below the lowest fail counts."
        for level in over
    )


def _c(level: Decimal) -> str:
    return with_unit(level, "°C")


def _k(step: Decimal) -> str:
    return with_unit(step, "K")
