"""A calibration's points against what is permitted of the instrument: point by point, and in one sentence."""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from calibration.domain.corrections import StatedPoint
from calibration.domain.decisions import DecisionError, Statement, conformance_probability, decide
from calibration.domain.figures import digits, with_unit
from calibration.domain.rounding import WIDE
from calibration.domain.thermocouple_tolerances import TOLERANCES
from calibration.domain.units import difference_unit
from labsite.ledger.wording import capitalised

RULES = ("simple acceptance", "guard band")
"""The decision rules an instrument is judged by."""
_WORST_FIRST: tuple[Statement, ...] = ("fail", "conditional fail", "not judged", "conditional pass", "pass")


@dataclass(frozen=True, slots=True)
class ErrorLimit:
    """The largest error permitted, in the difference unit of `unit`, from `low` to `high` where these are given.

    At a value x it is the larger of `absolute` and `relative` times |x|; either may be missing. `rule` is one of RULES,
    `guard_factor` the r of w = r U.
    """

    unit: str
    absolute: Decimal | None
    relative: Decimal | None
    low: Decimal | None = None
    high: Decimal | None = None
    rule: str = "simple acceptance"
    guard_factor: Decimal = Decimal(1)
    source: str = ""

    def permitted(self, value: Decimal) -> Decimal | None:
        """Return the largest error permitted at a value, None outside the range; exact, zeros at the end left out."""
        if (self.low is not None and value < self.low) or (self.high is not None and value > self.high):
            return None
        terms = [] if self.absolute is None else [self.absolute]
        terms += [] if self.relative is None else [WIDE.multiply(self.relative, abs(value))]
        return _plain(max(terms)) if terms else None

    @property
    def words(self) -> str:
        """The limit as a page writes it: “1.5 K or 0.4 % of the value, the larger, from -40 to 1000 °C”."""
        unit = difference_unit(self.unit)
        terms = [] if self.absolute is None else [with_unit(self.absolute, unit)]
        terms += [] if self.relative is None else [f"{digits(_plain(self.relative * 100))} % of the value"]
        both = ", the larger" if len(terms) > 1 else ""
        return f"{' or '.join(terms)}{both}{self.range_words}"

    @property
    def range_words(self) -> str:
        """Where it holds: “, from -40 to 1000 °C”; nothing where it holds everywhere."""
        if self.low is not None and self.high is not None:
            return f", from {digits(self.low)} to {with_unit(self.high, self.unit)}"
        if self.low is not None:
            return f", from {with_unit(self.low, self.unit)} up"
        return "" if self.high is None else f", up to {with_unit(self.high, self.unit)}"


def class_limit(kind: str, tolerance_class: str) -> ErrorLimit | None:
    """Return the tolerance class of a thermocouple ("K", "1") as a limit, or None where the type has no such class."""
    row = TOLERANCES.get((kind, int(tolerance_class))) if tolerance_class.isdecimal() else None
    if row is None:
        return None
    source = f"IEC 60584-1:2013, type {kind}, class {int(tolerance_class)}, new material"
    return ErrorLimit("°C", row.fixed_k, row.share, row.low_c, row.high_c, source=source)


@dataclass(frozen=True, slots=True)
class PointConformity:
    """One point judged. `accept_low` and `accept_high` bound the errors that pass, both in the unit of the error.

    `risk` is the specific risk of the statement and `probability` that of conforming; None without U and k.
    `reason` says as a clause why it is not judged, else it is empty.
    """

    stated: StatedPoint
    permitted: Decimal | None
    statement: Statement
    holds: bool | None
    accept_low: Decimal | None = None
    accept_high: Decimal | None = None
    risk: float | None = None
    probability: float | None = None
    reason: str = ""

    @property
    def error(self) -> Decimal:
        """Indication minus reference, as it was judged."""
        return self.stated.point.error

    @property
    def words(self) -> str:
        """What it read: “3.9 K low at 850.0 °C”."""
        point = self.stated.point
        place = f"at {with_unit(point.reference, point.unit)}"
        if not self.error:
            return f"right {place}"
        return f"{self._shown(abs(self.error))} {'high' if self.error > 0 else 'low'} {place}"

    @property
    def permitted_words(self) -> str:
        """“3.4 K are permitted”; nothing where no limit holds."""
        if self.permitted is None:
            return ""
        return f"{self._shown(self.permitted)} {'is' if self.permitted == 1 else 'are'} permitted"

    def _shown(self, difference: Decimal) -> str:
        return with_unit(difference, difference_unit(self.stated.point.unit))


@dataclass(frozen=True, slots=True)
class Summary:
    """All points as found, or all as left: the worst statement, the point that decides it, and both in a sentence."""

    statement: Statement
    holds: bool | None
    decisive: PointConformity
    sentence: str


@dataclass(frozen=True, slots=True)
class Conformity:
    """A calibration judged; `found` and `left` are None where it has no such points."""

    points: tuple[PointConformity, ...]
    found: Summary | None
    left: Summary | None

    @property
    def summaries(self) -> tuple[Summary, ...]:
        """As found, then as left, where there are such points."""
        return tuple(one for one in (self.found, self.left) if one is not None)

    @property
    def came_back(self) -> str:
        """Where it came in outside its limits, that as a clause: “it came back reading 3.9 K low at …”; else empty."""
        if self.found is None or self.found.holds is not False:
            return ""
        worst = self.found.decisive
        return f"it came back reading {worst.words}, {worst.permitted_words}"


def conformity(points: Iterable[StatedPoint], limits: Mapping[str, ErrorLimit]) -> Conformity:
    """Return a calibration's points judged against the limits of their units, each error unrounded.

    What is permitted is taken at the reference value. A point without a limit at its place, and a guard band without U
    and k, is not judged; k is never assumed. Source: ILAC-G8:09/2019 for the rules; common practice for the rest.
    """
    judged = tuple(_judged(one, limits.get(one.point.unit)) for one in points)
    found = tuple(one for one in judged if not one.stated.point.as_left)
    left = tuple(one for one in judged if one.stated.point.as_left)
    return Conformity(
        judged,
        _summary(found, "as found", came_in=True) if found else None,
        _summary(left, "as left", came_in=False) if left else None,
    )


def _judged(stated: StatedPoint, limit: ErrorLimit | None) -> PointConformity:
    point = stated.point
    if limit is None:
        return _not_judged(stated, None, f"no limit is set in {point.unit}")
    permitted = limit.permitted(point.reference)
    if permitted is None:
        return _not_judged(stated, None, f"its limit holds{limit.range_words.removeprefix(',')}")
    expanded_u, k = _known_uncertainty(stated)
    try:
        made = decide(
            point.error,
            low=-permitted,
            high=permitted,
            rule=limit.rule,
            expanded_u=expanded_u,
            coverage_factor=k,
            guard_factor=limit.guard_factor,
        )
    except DecisionError as refusal:
        return _not_judged(stated, permitted, str(refusal).rstrip("."))
    if made.holds is None:
        return _not_judged(stated, permitted, "the guard band needs U and k, and the certificate does not state both")
    probability = (
        None
        if expanded_u is None or k is None
        else conformance_probability(point.error, -permitted, permitted, expanded_u / k)
    )
    return PointConformity(
        stated, permitted, made.statement, made.holds, made.accept_low, made.accept_high, made.risk, probability
    )


def _known_uncertainty(stated: StatedPoint) -> tuple[Decimal | None, Decimal | None]:
    """U and k; neither unless both are stated and above zero."""
    u, k = stated.point.uncertainty, stated.coverage_factor
    return (u, k) if u is not None and u > 0 and k is not None and k > 0 else (None, None)


def _not_judged(stated: StatedPoint, permitted: Decimal | None, reason: str) -> PointConformity:
    return PointConformity(stated, permitted, "not judged", None, reason=reason)


def _summary(points: Sequence[PointConformity], kind: str, *, came_in: bool) -> Summary:
    """The worst statement speaks for all: a point that fails, then one that is not judged."""
    statement = next(one for one in _WORST_FIRST if any(point.statement == one for point in points))
    worst = _decisive([point for point in points if point.statement == statement])
    how = kind if came_in else f"{kind}, after adjustment,"
    return Summary(statement, worst.holds, worst, capitalised(f"{how} {_WORDS[statement](worst, points)}."))


def _decisive(points: Sequence[PointConformity]) -> PointConformity:
    """The point that takes most of what is permitted; of those beyond it, the largest error in the same unit."""
    closest = max(points, key=_share)
    unit = closest.stated.point.unit
    same = [point for point in points if point.stated.point.unit == unit]
    return max(same, key=lambda point: abs(point.error)) if closest.holds is False else closest


def _share(point: PointConformity) -> Decimal:
    """How much of what is permitted the error takes; without a limit the error itself, only to choose a point."""
    size = abs(point.error)
    return size / point.permitted if point.permitted else size


def _beyond(worst: PointConformity, points: Sequence[PointConformity]) -> str:
    several = _counted(points, worst.statement)
    doubt = ", by less than the guard band" if worst.statement == "conditional fail" else ""
    return f"it is out of its limits{several}: it read {worst.words}, {worst.permitted_words}{doubt}"


def _inside(worst: PointConformity, points: Sequence[PointConformity]) -> str:
    read = f"at most it read {worst.words}, {worst.permitted_words}"
    if worst.permitted is not None and abs(worst.error) > worst.permitted:
        return f"it is accepted, by a rule that rejects only beyond the guard band: {read}"
    close = "" if worst.statement == "pass" else f", closer than the guard band{_counted(points, worst.statement)}"
    return f"it is inside its limits{close}: {read}"


def _unknown(worst: PointConformity, points: Sequence[PointConformity]) -> str:
    place = with_unit(worst.stated.point.reference, worst.stated.point.unit)
    return f"it is not judged{_counted(points, worst.statement)}, {place}: {worst.reason}"


_WORDS: dict[Statement, Callable[[PointConformity, Sequence[PointConformity]], str]] = {
    "fail": _beyond,
    "conditional fail": _beyond,
    "not judged": _unknown,
    "conditional pass": _inside,
    "pass": _inside,
}


def _counted(points: Sequence[PointConformity], statement: Statement) -> str:
    if len(points) == 1:
        return ""
    return f" at {sum(point.statement == statement for point in points)} of {len(points)} points"


def _plain(value: Decimal) -> Decimal:
    """The same number without zeros at its end that nobody typed."""
    return Decimal(digits(value.normalize(WIDE)))
