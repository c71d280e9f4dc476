"""Limits of control charts: from the results themselves, or from an uncertainty that is known."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from itertools import pairwise
from types import MappingProxyType

INDIVIDUALS = Decimal("2.660")
"""3 / 1.128: three standard deviations, estimated from the mean moving range of two."""
RANGES = Decimal("3.267")
A2: Mapping[int, Decimal] = MappingProxyType(
    {2: Decimal("1.880"), 3: Decimal("1.023"), 4: Decimal("0.729"), 5: Decimal("0.577")}
)
"""Control constants of Shewhart charts by size of the group (ISO 7870-2; from memory, and 2.66 = 3 / 1.128)."""
FEWEST = 8
"""So many results a laboratory wants before limits computed from them mean something. Common practice."""
WARNING_TIMES, ACTION_TIMES = 2, 3


@dataclass(frozen=True, slots=True)
class ControlLimits:
    """Where results are expected: `low` to `high` about `centre`; a range averages `mean_range`, up to `range_high`."""

    centre: Decimal
    low: Decimal
    high: Decimal
    mean_range: Decimal
    range_high: Decimal

    def holds(self, value: Decimal) -> bool:
        """Whether a result lies within the limits, the limits themselves included."""
        return self.low <= value <= self.high


@dataclass(frozen=True, slots=True)
class KnownLimits:
    """Limits from a known standard uncertainty: warning at two, action at three of it."""

    centre: Decimal
    warning_low: Decimal
    warning_high: Decimal
    low: Decimal
    high: Decimal

    def holds(self, value: Decimal) -> bool:
        """Whether a result lies within the action limits, the limits themselves included."""
        return self.low <= value <= self.high


def individuals(values: Sequence[Decimal]) -> ControlLimits:
    """Return the limits of single results in the order of time: mean ± 2.660 mean moving range, ranges to 3.267 of it.

    Raises ValueError for fewer than two. Source: ISO 7870-2 (constants from memory).
    """
    if len(values) < 2:
        raise ValueError("a moving range needs two results")
    ranges = [abs(later - earlier) for earlier, later in pairwise(values)]
    centre, mean_range = _mean(values), _mean(ranges)
    reach = INDIVIDUALS * mean_range
    return ControlLimits(centre, centre - reach, centre + reach, mean_range, RANGES * mean_range)


def group_means(groups: Sequence[Sequence[Decimal]]) -> tuple[Decimal, Decimal, Decimal]:
    """Return centre, low and high for the means of groups of equal size, two to five: grand mean ± A2 mean range.

    Raises ValueError for no group, for another size, and for groups of different sizes. Source: as `individuals`.
    """
    sizes = {len(group) for group in groups}
    if len(sizes) != 1 or not sizes <= A2.keys():
        raise ValueError("groups are of one size, two to five")
    centre = _mean([_mean(group) for group in groups])
    reach = A2[sizes.pop()] * _mean([max(group) - min(group) for group in groups])
    return centre, centre - reach, centre + reach


def known_limits(expected: Decimal, standard_uncertainty: Decimal) -> KnownLimits:
    """Return the limits about an expected value whose standard uncertainty is known: warning ± 2 u, action ± 3 u.

    Raises ValueError for an uncertainty that is not above zero. Common practice.
    """
    if standard_uncertainty <= 0:
        raise ValueError("the standard uncertainty is a number above zero")
    warning, action = WARNING_TIMES * standard_uncertainty, ACTION_TIMES * standard_uncertainty
    return KnownLimits(expected, expected - warning, expected + warning, expected - action, expected + action)


def _mean(values: Sequence[Decimal]) -> Decimal:
    return sum(values, Decimal(0)) / len(values)
