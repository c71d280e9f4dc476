"""Intermediate checks in house, between calibrations, and what is planned of them."""

from typing import ClassVar

from django.db import models

from labsite.ledger.fields import DigitsField


class CheckKind(models.TextChoices):
    """How an instrument, or a rig, is checked between calibrations."""

    FOIL = "foil", "Silver foil melts at the tip"
    COMPARISON = "comparison", "Comparison with another instrument"
    FLAME = "flame", "Flame confirmation with the copper block"
    MASSES = "masses", "Masses on the force gauge"
    AGREEMENT = "agreement", "Agreement with the last certificate, E_n"
    OTHER = "other", "Another check"


class CheckPlan(models.Model):
    """How and how often an instrument or a rig is checked, and its limits; of a kind the newest row holds."""

    instrument = models.ForeignKey(
        "calibration.Instrument", on_delete=models.PROTECT, null=True, blank=True, related_name="check_plans"
    )
    rig = models.ForeignKey(
        "calibration.Rig", on_delete=models.PROTECT, null=True, blank=True, related_name="check_plans"
    )
    kind = models.CharField(max_length=20, choices=CheckKind.choices)
    every_days = models.PositiveSmallIntegerField(null=True, blank=True)
    """None: before use, without a date."""
    reference = DigitsField(null=True, blank=True)
    unit = models.CharField(max_length=12)
    error_low = DigitsField(null=True, blank=True)
    error_high = DigitsField(null=True, blank=True)
    procedure = models.CharField(max_length=300)
    source = models.CharField(max_length=200)
    ended = models.BooleanField(default=False)
    made_at = models.DateTimeField()
    made_by = models.ForeignKey("ledger.User", on_delete=models.PROTECT, related_name="+")

    class Meta:
        """A plan is for an instrument or for a rig."""

        constraints: ClassVar = [
            models.CheckConstraint(
                condition=models.Q(instrument=None, rig__isnull=False) | models.Q(instrument__isnull=False, rig=None),
                name="check_plan_of_one",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.kind} every {self.every_days}"


class IntermediateCheck(models.Model):
    """One check: what was read, what it was compared with, and whether it held. Never changed, only struck out.

    Error = indication minus reference, in `unit`. `e_n` is there where both uncertainties were known and the kind asks
    for it. `compared_with` is the other instrument of a comparison or the gauge that measured the reference.
    """

    instrument = models.ForeignKey(
        "calibration.Instrument", on_delete=models.PROTECT, null=True, blank=True, related_name="checks"
    )
    rig = models.ForeignKey("calibration.Rig", on_delete=models.PROTECT, null=True, blank=True, related_name="checks")
    compared_with = models.ForeignKey(
        "calibration.Instrument", on_delete=models.PROTECT, null=True, blank=True, related_name="checks_made_with_it"
    )
    kind = models.CharField(max_length=20, choices=CheckKind.choices)
    checked_at = models.DateTimeField()
    reference = DigitsField()
    indication = DigitsField()
    unit = models.CharField(max_length=12)
    reference_uncertainty = DigitsField(null=True, blank=True)
    indication_uncertainty = DigitsField(null=True, blank=True)
    error_low = DigitsField(null=True, blank=True)
    error_high = DigitsField(null=True, blank=True)
    e_n = DigitsField(null=True, blank=True)
    passed = models.BooleanField()
    sentence = models.CharField(max_length=300)
    readings = models.JSONField(default=list)
    """Single readings where there were several; numbers are texts."""
    remarks = models.CharField(max_length=300, blank=True, default="")
    entered_at = models.DateTimeField()
    entered_by = models.ForeignKey("ledger.User", on_delete=models.PROTECT, related_name="+")
    struck_at = models.DateTimeField(null=True, blank=True)
    struck_by = models.ForeignKey("ledger.User", on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    struck_reason = models.CharField(max_length=300, blank=True, default="")

    class Meta:
        """A check is of an instrument or of a rig; what is struck out has its moment, person and reason."""

        constraints: ClassVar = [
            models.CheckConstraint(
                condition=models.Q(instrument=None, rig__isnull=False) | models.Q(instrument__isnull=False, rig=None),
                name="check_of_one",
            ),
            models.CheckConstraint(
                condition=models.Q(struck_at=None, struck_by=None, struck_reason="")
                | (models.Q(struck_at__isnull=False, struck_by__isnull=False) & ~models.Q(struck_reason="")),
                name="check_strike_complete",
            ),
        ]
        indexes: ClassVar = [
            models.Index(fields=["instrument", "-checked_at"], name="check_by_instrument"),
            models.Index(fields=["rig", "-checked_at"], name="check_by_rig"),
            models.Index(fields=["compared_with", "checked_at"], name="check_by_reference"),
        ]

    def __str__(self) -> str:
        return f"{self.kind} {self.checked_at:%Y-%m-%d}"
