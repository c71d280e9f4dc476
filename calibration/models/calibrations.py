"""Comparisons against a better standard, and their acceptance by a person."""

from datetime import date, datetime
from decimal import Decimal
from typing import ClassVar, Self

from django.apps import apps
from django.db import models

from calibration.domain.due import due_on
from labsite.ledger.fields import DigitsField


class CalibrationQuerySet(models.QuerySet["Calibration"]):
    """Calibrations, asked for in the trade's words."""

    def with_interval_at(self, at: datetime) -> Self:
        """Each with the interval somebody had decided on by `at`, which its due day then follows; no read more."""
        decisions = apps.get_model("calibration", "IntervalDecision").objects
        newest = decisions.filter(calibration=models.OuterRef("pk"), at__lte=at).order_by("-at", "-pk")
        return self.annotate(
            decided_interval=models.Subquery(newest.values("interval")[:1]),
            decided_unit=models.Subquery(newest.values("interval_unit")[:1]),
        )


class Calibration(models.Model):
    """One calibration. It counts from the moment somebody accepts its figures."""

    class IntervalUnit(models.TextChoices):
        """Unit of the interval until the next one."""

        MONTHS = "months", "months"
        DAYS = "days", "days"

    class Decision(models.TextChoices):
        """What the laboratory decided on the certificate's figures."""

        AWAITS = "awaits", "Awaiting verification"
        ACCEPTED = "accepted", "Accepted"
        REJECTED = "rejected", "Rejected"
        MISTAKEN = "mistaken", "Entered by mistake"

    class Route(models.TextChoices):
        """How the figures are traced to the SI (ILAC-P10)."""

        NATIONAL = "national institute", "National metrology institute"
        ACCREDITED = "accredited laboratory", "Accredited calibration laboratory"
        OTHER = "other", "Another route, with evidence"
        IN_HOUSE = "in house", "In house, by our own procedure"

    instrument = models.ForeignKey("calibration.Instrument", on_delete=models.PROTECT, related_name="calibrations")
    calibrated_on = models.DateField()
    interval = models.PositiveSmallIntegerField()
    interval_unit = models.CharField(max_length=6, choices=IntervalUnit.choices, default=IntervalUnit.MONTHS)
    calibrated_by = models.CharField(max_length=160)
    accreditation_number = models.CharField(max_length=60, blank=True, default="")
    certificate_number = models.CharField(max_length=80, blank=True, default="")
    certificate = models.ForeignKey(
        "ledger.StoredFile", on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    data_file = models.ForeignKey(
        "ledger.StoredFile", on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    """The digital certificate the figures were read from, byte for byte."""
    issued_on = models.DateField(null=True, blank=True)
    received_on = models.DateField(null=True, blank=True)
    route = models.CharField(max_length=24, choices=Route.choices, blank=True, default="")
    route_evidence = models.CharField(max_length=300, blank=True, default="")
    in_scope = models.BooleanField(null=True, blank=True)
    """Whether the laboratory's accreditation covered quantity and range on that day; None: not looked at."""
    serial_on_certificate = models.CharField(max_length=120, blank=True, default="")
    adjusted = models.BooleanField(null=True, blank=True)
    chain_with = models.ForeignKey(
        "calibration.Instrument", on_delete=models.PROTECT, null=True, blank=True, related_name="chain_calibrations"
    )
    """The indicator it was calibrated with as one chain; its points then speak for both."""
    standard = models.ForeignKey(
        "calibration.Instrument",
        on_delete=models.PROTECT,
        null=True,
        blank=True,
        related_name="calibrations_made_with_it",
    )
    """Our own reference, where the calibration was made in house with it."""
    acceptance = models.JSONField(default=dict, blank=True)
    """The checks of the incoming certificate as they stood when somebody decided: questions, answers and figures."""
    remarks = models.TextField(blank=True, default="")
    entered_at = models.DateTimeField()
    entered_by = models.ForeignKey("ledger.User", on_delete=models.PROTECT, related_name="+")
    decision = models.CharField(max_length=10, choices=Decision.choices, default=Decision.AWAITS)
    decided_at = models.DateTimeField(null=True, blank=True)
    decided_by = models.ForeignKey("ledger.User", on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    decision_reason = models.CharField(max_length=300, blank=True, default="")

    objects = CalibrationQuerySet.as_manager()

    class Meta:
        """A decision has its moment and its person; intervals are longer than nothing."""

        constraints: ClassVar = [
            models.CheckConstraint(condition=models.Q(interval__gte=1), name="calibration_interval_positive"),
            models.CheckConstraint(
                condition=models.Q(decision="awaits", decided_at=None, decided_by=None)
                | (~models.Q(decision="awaits") & models.Q(decided_at__isnull=False, decided_by__isnull=False)),
                name="calibration_decision_complete",
            ),
        ]
        indexes: ClassVar = [models.Index(fields=["instrument", "-calibrated_on"], name="calibration_by_instrument")]

    def __str__(self) -> str:
        return f"{self.instrument_id} {self.calibrated_on}"

    @property
    def interval_in_force(self) -> int:
        """The interval decided on by the moment `with_interval_at` was asked for; without that, the one entered."""
        return getattr(self, "decided_interval", None) or self.interval

    @property
    def unit_in_force(self) -> str:
        """The unit of the interval in force."""
        return getattr(self, "decided_unit", None) or self.interval_unit

    @property
    def due_on(self) -> date:
        """The day on which it falls due by the interval in force, by the one shared rule."""
        return due_on(self.calibrated_on, self.interval_in_force, self.unit_in_force)

    @property
    def awaits(self) -> bool:
        """Whether nobody has decided on it yet."""
        return self.decision == self.Decision.AWAITS


class CalibrationPoint(models.Model):
    """One compared point, as found or as left; digits as printed on the certificate."""

    class Kind(models.TextChoices):
        """Before or after an adjustment."""

        AS_FOUND = "as found", "As found"
        AS_LEFT = "as left", "As left"

    calibration = models.ForeignKey("calibration.Calibration", on_delete=models.PROTECT, related_name="points")
    kind = models.CharField(max_length=10, choices=Kind.choices, default=Kind.AS_FOUND)
    reference = DigitsField()
    indication = DigitsField()
    unit = models.CharField(max_length=12)
    expanded_uncertainty = DigitsField(null=True, blank=True)
    coverage_factor = DigitsField(null=True, blank=True)
    coverage_probability = DigitsField(null=True, blank=True)

    def __str__(self) -> str:
        return f"{self.reference} {self.unit}"

    @property
    def error(self) -> Decimal:
        """Indication minus reference, with all its digits."""
        return Decimal(self.indication) - Decimal(self.reference)
