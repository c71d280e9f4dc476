"""One bar of the horizontal test: flame front at the marks, burning rate unrounded, and the classes it meets."""

from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal

from trials.domain.criteria import NOT_RECORDED, Criterion, with_unit
from trials.domain.decided_criteria import decided_criterion
from trials.domain.methods.base import MethodEdition
from trials.domain.nominal_thickness import thicknesses
from trials.domain.records import TrialRecord
from trials.domain.statements import DecidedLimit
from trials.domain.timeline import Timeline

D = Decimal
SECONDS_PER_MINUTE = D(60)
SLOW = DecidedLimit("rate_slow_mm_min", "u_rate_mm_min", "rate")
FAST = DecidedLimit("rate_fast_mm_min", "u_rate_mm_min", "rate")
NOMINAL_CLASS, AS_MEASURED = "nominal class", "as measured"
_NAME = "the burning rate"
_MOST_PLACES = 15


@dataclass(frozen=True)
class BarFront:
    """How far and how fast the flame front went.

    `passed`: beyond the second mark; None where that is not known, and `why` says so. `length_mm` is burnt between
    the marks in `burning_s`; `rate_mm_min` their quotient, unrounded; None where there is none. `afterflame`: a
    visible flame after the burner was taken away.
    """

    at_first_s: Decimal | None
    at_second_s: Decimal | None
    length_mm: Decimal | None
    burning_s: Decimal | None
    passed: bool | None
    afterflame: bool | None
    put_out_s: Decimal | None
    why: str = ""

    @property
    def short_of_first(self) -> bool:
        """Whether nothing says that the front came to the first mark: neither its moment nor a length from there."""
        return self.at_first_s is None and not self.length_mm

    @property
    def rate_mm_min(self) -> Decimal | None:
        """v = 60 L / t, L in mm and t in s; None where L or t is not known or no time passed."""
        if self.length_mm is None or self.burning_s is None or self.burning_s <= 0:
            return None
        return SECONDS_PER_MINUTE * self.length_mm / self.burning_s


def bar_front(edition: MethodEdition, seen: Timeline) -> BarFront:
    """Return the course of the flame front on one bar; a front exactly at the second mark has not passed it.

    The damaged length counts from the first mark. What is not recorded stays unknown.
    """
    span_mm = edition.number("second_mark_mm") - edition.number("first_mark_mm")
    first_s, second_s = seen.moment("front_first"), seen.moment("front_second")
    damaged = seen.finding("damaged_length")
    damaged_mm = damaged if isinstance(damaged, Decimal) else None
    passed, why = _passed(edition, seen, span_mm, damaged_mm)
    end_s = second_s if second_s is not None else seen.flames_end_s
    length_mm = span_mm if second_s is not None else damaged_mm
    return BarFront(
        at_first_s=first_s,
        at_second_s=second_s,
        length_mm=length_mm,
        burning_s=None if end_s is None or first_s is None else end_s - first_s,
        passed=passed,
        afterflame=_afterflame(seen),
        put_out_s=next((flame.end_s for flame in seen.flames if flame.put_out), None),
        why=why,
    )


def class_limit(edition: MethodEdition, record: TrialRecord, label: str) -> DecidedLimit:
    """Return which rate limits a class: that of HB follows the thickness, by nominal class unless stated otherwise."""
    if label == "HB40":
        return SLOW
    if label == "HB75":
        return FAST
    thickness = record.figure("thickness_mm")
    by_class = edition.parameter("thickness_rule").value == NOMINAL_CLASS
    from_mm = edition.number("thick_class_from_mm" if by_class else "thick_from_mm")
    return FAST if isinstance(thickness, Decimal) and thickness < from_mm else SLOW


def thickness_class_criteria(edition: MethodEdition, record: TrialRecord) -> tuple[Criterion, ...]:
    """Return an unknown criterion where nominal and measured thickness lie in two classes, each with its own rate."""
    known = thicknesses(record)
    if known is None or edition.parameter("thickness_rule").value != NOMINAL_CLASS:
        return ()
    parameter = edition.parameter("thick_class_from_mm")
    from_mm = edition.number(parameter.key)
    nominal, measured = known
    if (nominal < from_mm) == (measured < from_mm):
        return ()
    thick, edge = with_unit(measured, "mm"), with_unit(from_mm, "mm")
    why = f"the bar measures {thick}, and its nominal {with_unit(nominal, 'mm')} lies in another class of thickness"
    return (Criterion("thickness_class", "Nominal and measured thickness of one class", thick,
                      f"both from {edge} on, or both below", None, f"{why}; correct the one or the other",
                      parameter.source, parameter.certainty),)  # fmt: skip


def class_criteria(edition: MethodEdition, limit: DecidedLimit, bar: BarFront) -> tuple[Criterion, ...]:
    """Return the lines on a single bar: the front stops in time, or the rate keeps to the limit of the class."""
    if bar.passed is not True:
        return (_front_criterion(edition, bar),)
    rate = bar.rate_mm_min
    unknown = "the front passed the second mark, and when it was at the first mark is not recorded"
    if bar.burning_s is not None and rate is None:
        unknown = "the front is recorded at the second mark no later than at the first"
    return (
        decided_criterion(edition, limit, rate, title="Burning rate", name=_NAME, unknown=unknown,
                          found="" if rate is None else with_unit(rate_text(edition, rate), "mm/min")),
    )  # fmt: skip


def rate_text(edition: MethodEdition, rate: Decimal) -> Decimal:
    """Return a rate for reading, to two decimal places, more where a limit would else look kept or missed."""
    return edition.remembered(_rate_text)(rate)


def _rate_text(edition: MethodEdition, rate: Decimal) -> Decimal:
    places = 2
    while True:
        shown = rate.quantize(D(1).scaleb(-places), ROUND_HALF_UP)
        limits = [edition.number(limit.parameter) for limit in (SLOW, FAST)]
        if places >= _MOST_PLACES or all((shown > one) == (rate > one) for one in limits):
            return shown.normalize()
        places += 1


def _passed(
    edition: MethodEdition, seen: Timeline, span_mm: Decimal, damaged_mm: Decimal | None
) -> tuple[bool | None, str]:
    second_mark = with_unit(edition.number("second_mark_mm"), "mm")
    if seen.moment("front_second") is not None:
        return True, ""
    if damaged_mm is not None and damaged_mm > span_mm:
        return (
            None,
            f"{with_unit(damaged_mm, 'mm')} are damaged, and when the front passed {second_mark} is not recorded",
        )
    if damaged_mm == span_mm and edition.parameter("at_second_mark_passed").value is True:
        return True, ""
    open_flame = next((flame for flame in seen.flames if flame.end_s is None or flame.put_out), None)
    if open_flame is not None:
        how = "has no recorded end" if open_flame.end_s is None else "was put out"
        return None, f"a flame {how}, so that how far the front would have gone is not known"
    unwatched = seen.unwatched(seen.application_s)
    if unwatched:
        return None, unwatched
    if damaged_mm is None and seen.moment("front_first") is not None:
        return None, "the front was at the first mark, and the damaged length is not recorded"
    return False, ""


def _afterflame(seen: Timeline) -> bool | None:
    """Whether a flame was seen after removal; None while that is not known."""
    if seen.application_s is None:
        return None
    ends = [flame.end_s for flame in seen.flames]
    if any(end is not None and end > seen.application_s for end in ends):
        return True
    return None if None in ends else False


def _front_criterion(edition: MethodEdition, bar: BarFront) -> Criterion:
    parameter = edition.parameter("second_mark_mm")
    holds = None if bar.passed is None else True
    if holds is None:
        found = NOT_RECORDED
    elif bar.afterflame is False:
        found = "no flame after removal"
    elif bar.short_of_first:
        found = "stopped before the first mark"
    else:
        found = f"stopped {with_unit(bar.length_mm or D(0), 'mm')} past the first mark"
    limit = f"must not pass {with_unit(edition.number(parameter.key), 'mm')}"
    return Criterion("front", "Flame front stops in time", found, limit, holds, bar.why, parameter.source,
                     parameter.certainty)  # fmt: skip
