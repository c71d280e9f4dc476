"""Stays in a conditioned atmosphere, and the climate records that prove them."""

from typing import ClassVar

from django.db import models


class Stay(models.Model):
    """Specimens of one order line in a chamber under a named atmosphere."""

    order_line = models.ForeignKey("specimens.OrderLine", on_delete=models.PROTECT, related_name="stays")
    chamber = models.ForeignKey("ledger.Place", on_delete=models.PROTECT, related_name="stays")
    atmosphere_key = models.CharField(max_length=40)
    recorder = models.ForeignKey("calibration.Instrument", on_delete=models.PROTECT, related_name="+")

    def __str__(self) -> str:
        return f"{self.order_line_id} in {self.chamber_id}"


class StaySpecimen(models.Model):
    """One specimen's time inside."""

    stay = models.ForeignKey("specimens.Stay", on_delete=models.PROTECT, related_name="members")
    specimen = models.ForeignKey("specimens.Specimen", on_delete=models.PROTECT, related_name="stays")
    in_at = models.DateTimeField()
    in_by = models.ForeignKey("ledger.User", on_delete=models.PROTECT, related_name="+")
    out_at = models.DateTimeField(null=True, blank=True)
    out_by = models.ForeignKey("ledger.User", on_delete=models.PROTECT, null=True, blank=True, related_name="+")

    class Meta:
        """A specimen is in one chamber at a time and leaves after it went in."""

        constraints: ClassVar = [
            models.UniqueConstraint(
                fields=["specimen"], condition=models.Q(out_at=None), name="specimen_in_one_chamber"
            ),
            models.CheckConstraint(
                condition=models.Q(out_at=None) | models.Q(out_at__gte=models.F("in_at")), name="out_after_in"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.specimen_id} in {self.stay_id}"


class ClimateRecord(models.Model):
    """A recorder's file for a chamber, as received, with what the technician confirmed about reading it."""

    chamber = models.ForeignKey("ledger.Place", on_delete=models.PROTECT, related_name="climate_records")
    recorder = models.ForeignKey("calibration.Instrument", on_delete=models.PROTECT, related_name="+")
    file = models.ForeignKey("ledger.StoredFile", on_delete=models.PROTECT, related_name="+")
    answers = models.JSONField(default=dict)
    understood = models.JSONField(default=dict)
    first_at = models.DateTimeField()
    last_at = models.DateTimeField()
    rows = models.PositiveIntegerField()
    interval_s = models.FloatField()
    series = models.BinaryField()
    attached_at = models.DateTimeField()
    attached_by = models.ForeignKey("ledger.User", on_delete=models.PROTECT, related_name="+")

    class Meta:
        """Looked up by chamber and time."""

        indexes: ClassVar = [models.Index(fields=["chamber", "first_at"], name="climate_by_chamber")]

    def __str__(self) -> str:
        return f"{self.chamber_id} {self.first_at:%Y-%m-%d}"


class StretchExplanation(models.Model):
    """Why a stretch of a chamber's record did not count, in a person's words."""

    chamber = models.ForeignKey("ledger.Place", on_delete=models.PROTECT, related_name="stretch_explanations")
    from_at = models.DateTimeField()
    until_at = models.DateTimeField()
    text = models.CharField(max_length=300)
    at = models.DateTimeField()
    by = models.ForeignKey("ledger.User", on_delete=models.PROTECT, related_name="+")

    def __str__(self) -> str:
        return self.text
