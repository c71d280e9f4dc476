"""Permits to use an overdue instrument for some days, given by a named person with a reason."""

from typing import ClassVar

from django.db import models


class UsePermit(models.Model):
    """An overdue instrument may be used from `given_at` to the end of `until_on`; listed for review and printed."""

    instrument = models.ForeignKey("calibration.Instrument", on_delete=models.PROTECT, related_name="permits")
    calibration = models.ForeignKey("calibration.Calibration", on_delete=models.PROTECT, related_name="permits")
    """The overdue calibration it is about; a newer one ends the permit by itself."""
    reason = models.CharField(max_length=300)
    until_on = models.DateField()
    given_at = models.DateTimeField()
    given_by = models.ForeignKey("ledger.User", on_delete=models.PROTECT, related_name="+")

    class Meta:
        """Read per instrument."""

        indexes: ClassVar = [models.Index(fields=["instrument", "given_at"], name="permit_by_instrument")]

    def __str__(self) -> str:
        return f"{self.instrument_id} until {self.until_on}"
