"""What an instrument is judged by when it comes back, and the interval a person decided on."""

from typing import ClassVar

from django.db import models

from calibration.models.calibrations import Calibration
from labsite.ledger.fields import DigitsField


class InstrumentLimit(models.Model):
    """The largest error permitted in one unit, and by which rule a calibration is judged against it.

    The permitted error at a value x is the larger of `absolute` and `relative` times |x| (either may be missing), from
    `low` to `high` where these are given. The newest row of a unit holds; a row that is `ended` ends that unit's limit.
    """

    instrument = models.ForeignKey("calibration.Instrument", on_delete=models.PROTECT, related_name="limits")
    unit = models.CharField(max_length=12)
    low = DigitsField(null=True, blank=True)
    high = DigitsField(null=True, blank=True)
    absolute = DigitsField(null=True, blank=True)
    relative = DigitsField(null=True, blank=True)
    drift_allowance = DigitsField(null=True, blank=True)
    """How far the error may wander until the next calibration, in the unit; it widens a correction's uncertainty."""
    decision_rule = models.CharField(max_length=40, default="simple acceptance")
    guard_factor = DigitsField(null=True, blank=True)
    source = models.CharField(max_length=200)
    ended = models.BooleanField(default=False)
    made_at = models.DateTimeField()
    made_by = models.ForeignKey("ledger.User", on_delete=models.PROTECT, related_name="+")

    class Meta:
        """Read per instrument; a limit that is not ended states a figure."""

        indexes: ClassVar = [models.Index(fields=["instrument", "made_at"], name="limit_by_instrument")]
        constraints: ClassVar = [
            models.CheckConstraint(
                condition=models.Q(ended=True) | models.Q(absolute__isnull=False) | models.Q(relative__isnull=False),
                name="limit_states_a_figure",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.instrument_id} {self.unit}"


class IntervalDecision(models.Model):
    """From `at` on, this calibration's interval is another one, as a person decided with the numbers before them."""

    calibration = models.ForeignKey(
        "calibration.Calibration", on_delete=models.PROTECT, related_name="interval_decisions"
    )
    interval = models.PositiveSmallIntegerField()
    interval_unit = models.CharField(max_length=6, choices=Calibration.IntervalUnit.choices)
    reason = models.CharField(max_length=300)
    numbers = models.JSONField(default=dict)
    """The proposal and what it rested on, as shown when it was decided."""
    at = models.DateTimeField()
    by = models.ForeignKey("ledger.User", on_delete=models.PROTECT, related_name="+")

    class Meta:
        """Intervals are longer than nothing."""

        constraints: ClassVar = [
            models.CheckConstraint(condition=models.Q(interval__gte=1), name="decided_interval_positive"),
        ]

    def __str__(self) -> str:
        return f"{self.interval} {self.interval_unit}"
