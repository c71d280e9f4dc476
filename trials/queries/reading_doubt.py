"""A temperature reading at the bench beside the one before it: marked where no tip can have gone so far meanwhile."""

from decimal import Decimal

from calibration.domain.temperature_faults import far_from_last
from trials.models import Observation, Trial
from trials.queries.records import READING_KIND


def reading_doubt(trial: Trial, kind: str, value: str, steady_s: Decimal | None) -> str:
    """Return a remark for a reading too far from the last one to be a temperature of the tip; "" for every other row.

    The reading is kept as it was typed: the bench asks before, the remark stays with it.
    """
    if kind != READING_KIND or steady_s is None:
        return ""
    readings = Observation.objects.filter(trial=trial, kind=READING_KIND)
    replaced = Observation.objects.filter(trial=trial).exclude(replaces=None).values("replaces")
    last = readings.exclude(pk__in=replaced).order_by("-pk").first()
    if last is None or last.steady_s is None or steady_s <= last.steady_s:
        return ""
    between_s = steady_s - last.steady_s
    if not far_from_last(float(value), float(last.value), float(between_s)):
        return ""
    apart_k = abs(Decimal(value) - Decimal(last.value))
    return f"{apart_k:f} K from {last.value} °C, {between_s:f} s before: faster than a tip changes"
