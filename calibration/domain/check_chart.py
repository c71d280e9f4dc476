"""The checks of one kind in the order of time, with the limits they are seen against."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal

from calibration.domain.control_charts import FEWEST, ControlLimits, KnownLimits, individuals, known_limits


@dataclass(frozen=True, slots=True)
class ChartPoint:
    """One check: its error, or E_n where it was judged by that; struck out, it counts for nothing."""

    at: datetime
    value: Decimal
    passed: bool
    struck: bool = False


@dataclass(frozen=True, slots=True)
class CheckChart:
    """Points oldest first, in `unit` (empty for E_n). `low` and `high` are what the newest check was judged by.

    `control` is there from eight checks on; before that `known`, where a certificate states its uncertainty.
    """

    unit: str
    points: tuple[ChartPoint, ...]
    low: Decimal | None = None
    high: Decimal | None = None
    control: ControlLimits | None = None
    known: KnownLimits | None = None

    @property
    def standing(self) -> tuple[ChartPoint, ...]:
        """The points that count."""
        return tuple(point for point in self.points if not point.struck)

    @property
    def signal(self) -> str:
        """What the newest check says that passed or failed does not say, as a sentence; empty where it says nothing."""
        standing = self.standing
        if not standing or not standing[-1].passed:
            return ""
        last = standing[-1].value
        if self.control is not None:
            if not self.control.holds(last):
                return "The last check passed, yet it lies outside the control limits: look for what changed."
            if abs(last - standing[-2].value) > self.control.range_high:
                return "The last check passed, yet it moved further from the one before than chance does: look why."
        elif self.known is not None:
            if not self.known.holds(last):
                return (
                    "The last check passed, yet it lies beyond 3 u of what the certificate says: look for what changed."
                )
            if not self.known.warning_low <= last <= self.known.warning_high:
                return "The last check passed, yet it lies beyond 2 u of what the certificate says: check again soon."
        return ""


def check_chart(
    points: Sequence[ChartPoint],
    *,
    unit: str,
    low: Decimal | None = None,
    high: Decimal | None = None,
    expected: Decimal | None = None,
    standard_uncertainty: Decimal | None = None,
) -> CheckChart:
    """Return a chart of checks given in any order; `expected` and its uncertainty are the certificate's, where known.

    Control limits are those of individual results (`control_charts.individuals`), the newest left out: it is seen
    against the limits of those before it. Source: ISO 7870-2, and common practice for the number of results.
    """
    ordered = tuple(sorted(points, key=lambda point: point.at))
    before = [point.value for point in ordered if not point.struck][:-1]
    control = individuals(before) if len(before) >= FEWEST else None
    known = None
    if control is None and expected is not None and standard_uncertainty:
        known = known_limits(expected, standard_uncertainty)
    return CheckChart(unit, ordered, low, high, control, known)
