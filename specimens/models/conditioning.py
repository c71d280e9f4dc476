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


class ClimateUpload(models.Model):
    """A recorder's file that cannot be read until somebody answers; kept so that it need not be chosen again."""

    chamber = models.ForeignKey("ledger.Place", on_delete=models.PROTECT, related_name="climate_uploads")
    recorder = models.ForeignKey("calibration.Instrument", on_delete=models.PROTECT, related_name="+")
    file = models.ForeignKey("ledger.StoredFile", on_delete=models.PROTECT, related_name="+")
    answers = models.JSONField(default=dict)
    open = models.JSONField(default=dict)
    at = models.DateTimeField()
    by = models.ForeignKey("ledger.User", on_delete=models.PROTECT, related_name="+")
    closed_at = models.DateTimeField(null=True, blank=True)
    closed_by = models.ForeignKey("ledger.User", on_delete=models.PROTECT, null=True, blank=True, related_name="+")

    def __str__(self) -> str:
        return f"{self.chamber_id} waits for answers"


class ClimateRecord(models.Model):
    """A recorder's file for a chamber, as received, with what the technician confirmed about reading it.

    Its readings count until `counts_until` only (None: to the end), for the reason in `uncounted_reason`.
    """

    chamber = models.ForeignKey("ledger.Place", on_delete=models.PROTECT, related_name="climate_records")
    recorder = models.ForeignKey("calibration.Instrument", on_delete=models.PROTECT, related_name="+")
    file = models.ForeignKey("ledger.StoredFile", on_delete=models.PROTECT, related_name="+")
    answers = models.JSONField(default=dict)
    understood = models.JSONField(default=dict)
    first_at = models.DateTimeField()
    last_at = models.DateTimeField()
    rows = models.PositiveIntegerField()
    interval_s = models.FloatField(null=True)
    series = models.BinaryField()
    series_sha256 = models.CharField(max_length=64)
    calibration = models.ForeignKey(
        "calibration.Calibration", on_delete=models.PROTECT, null=True, blank=True, related_name="climate_records"
    )
    """The recorder's calibration that held over the readings: what it adds to them is applied where they are judged."""
    counts_until = models.DateTimeField(null=True, blank=True)
    uncounted_reason = models.CharField(max_length=400, blank=True, default="")
    attached_at = models.DateTimeField()
    attached_by = models.ForeignKey("ledger.User", on_delete=models.PROTECT, related_name="+")
    withdrawn_at = models.DateTimeField(null=True, blank=True)
    withdrawn_by = models.ForeignKey("ledger.User", on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    withdrawn_reason = models.CharField(max_length=300, blank=True, default="")

    class Meta:
        """Looked up by chamber and time; what is withdrawn has its moment, person and reason."""

        constraints: ClassVar = [
            models.CheckConstraint(
                condition=models.Q(withdrawn_at=None, withdrawn_by=None, withdrawn_reason="")
                | (models.Q(withdrawn_at__isnull=False, withdrawn_by__isnull=False) & ~models.Q(withdrawn_reason="")),
                name="climate_withdrawal_complete",
            ),
        ]
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
