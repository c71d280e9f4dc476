"""What the laboratory lays down for the review of calibration intervals; each figure is its own to confirm."""

from dataclasses import dataclass
from decimal import Decimal

from calibration.domain.due import DAYS, MONTHS

DAYS_A_MONTH = Decimal("30.436875")
"""The mean month of the Gregorian calendar."""
CERTAINTY = "default, to be confirmed by the laboratory"


@dataclass(frozen=True, slots=True)
class IntervalPolicy:
    """Shares are of the permitted error, `counts_from` of the present interval; lengths are in months."""

    good_share: Decimal = Decimal("0.8")
    good_in_a_row: int = 2
    lengthen_by: Decimal = Decimal("1.5")
    shorten_by: Decimal = Decimal("0.6")
    counts_from: Decimal = Decimal("0.75")
    """A good result counts towards lengthening when at least this share of the present interval lay before it."""
    shortest_months: int = 3
    longest_months: int = 36
    probability: float = 0.95
    margin_months: int = 1
    """A forecast falls due this long before the limit may be reached."""
    target: Decimal = Decimal("0.95")
    """The share of calibrations that should come back within limits; a count is set beside it, nothing follows."""

    def clamped(self, wanted: Decimal, unit: str, *, present: int) -> int:
        """A whole interval in `unit`: a longer one up to the longest, a shorter one down to the shortest.

        Parts of a unit are cut off. A present interval outside these lengths stays rather than being moved against
        what was found.
        """
        low, high = (int(months * in_months(unit)) for months in (self.shortest_months, self.longest_months))
        if wanted > present:
            return max(present, min(max(int(wanted), present + 1), high))
        return present if wanted == present else min(present, max(int(wanted), low))


def in_months(unit: str) -> Decimal:
    """How many of `unit` a month has; ValueError for another unit than months and days."""
    if unit not in (MONTHS, DAYS):
        raise ValueError(f"“{unit}” is neither months nor days")
    return Decimal(1) if unit == MONTHS else DAYS_A_MONTH


POLICY = IntervalPolicy()
"""Shares after the examples of ILAC-G24 / OIML D 10; factors, counts, lengths and margin are common practice."""
