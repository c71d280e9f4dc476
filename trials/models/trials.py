"""One test on one specimen: set-up, observations, verdict, check. Rows are added, never changed."""

from typing import ClassVar

from django.db import models

from labsite.ledger.fields import DigitsField


class Trial(models.Model):
    """One test on one specimen by one method edition on one rig."""

    job = models.ForeignKey("trials.Job", on_delete=models.PROTECT, related_name="trials")
    specimen = models.ForeignKey("specimens.Specimen", on_delete=models.PROTECT, related_name="trials")
    method_key = models.CharField(max_length=80)
    severity = DigitsField(null=True, blank=True)
    """The level the trial was run at; None where the method knows none for it."""
    conditioning_plan = models.CharField(max_length=40, blank=True, default="")
    """Which way of conditioning the specimen had, where the edition knows several."""
    parameter_revision = models.PositiveIntegerField(default=0)
    """The revision of the laboratory's parameter sheet it is judged by; 0 = the edition as delivered."""
    parameter_changes = models.JSONField(default=dict, blank=True)
    """The figures in place of the edition's at opening, of the sheet and the order together; numbers are texts."""
    again_reason = models.CharField(max_length=300, blank=True, default="")
    """Why another place of a specimen already tested could be used; empty for the first trial of a specimen."""
    departure = models.CharField(max_length=300, blank=True, default="")
    """Why the level is not the one the rule called for next; empty where it is."""
    rig = models.ForeignKey("calibration.Rig", on_delete=models.PROTECT, related_name="trials")
    opened_at = models.DateTimeField()
    opened_by = models.ForeignKey("ledger.User", on_delete=models.PROTECT, related_name="+")
    authorisation = models.ForeignKey("trials.Authorisation", on_delete=models.PROTECT, related_name="+")

    class Meta:
        """Read per job in the order of opening."""

        indexes: ClassVar = [models.Index(fields=["job", "opened_at"], name="trial_by_job")]

    def __str__(self) -> str:
        return f"trial {self.pk}"


class InstrumentUse(models.Model):
    """An instrument used in a trial, with the calibration that held at that moment."""

    trial = models.ForeignKey("trials.Trial", on_delete=models.PROTECT, related_name="instrument_uses")
    role = models.CharField(max_length=40)
    instrument = models.ForeignKey("calibration.Instrument", on_delete=models.PROTECT, related_name="uses")
    calibration = models.ForeignKey("calibration.Calibration", on_delete=models.PROTECT, related_name="+")
    due_on = models.DateField()
    permit = models.ForeignKey(
        "calibration.UsePermit", on_delete=models.PROTECT, null=True, blank=True, related_name="uses"
    )
    """By which permit it was used although overdue."""
    at = models.DateTimeField()

    class Meta:
        """One instrument for each role of a trial."""

        constraints: ClassVar = [models.UniqueConstraint(fields=["trial", "role"], name="instrument_role_once")]
        indexes: ClassVar = [models.Index(fields=["instrument", "at"], name="use_by_instrument")]

    def __str__(self) -> str:
        return f"{self.role} {self.instrument_id}"


class SetupValue(models.Model):
    """A set-up value as entered; a later row for the same key replaces it and both stay."""

    trial = models.ForeignKey("trials.Trial", on_delete=models.PROTECT, related_name="setup_values")
    key = models.CharField(max_length=60)
    value = models.CharField(max_length=200)
    at = models.DateTimeField()
    by = models.ForeignKey("ledger.User", on_delete=models.PROTECT, related_name="+")

    def __str__(self) -> str:
        return f"{self.key} {self.value}"


class Observation(models.Model):
    """A timed event or a reading as first recorded on the device; a correction is a new row that names the old."""

    trial = models.ForeignKey("trials.Trial", on_delete=models.PROTECT, related_name="observations")
    key = models.UUIDField(unique=True)
    kind = models.CharField(max_length=40)
    steady_s = DigitsField(null=True, blank=True)
    """Seconds on the device's steady clock since it opened the bench page; None when entered later."""
    t_s = DigitsField(null=True, blank=True)
    """Seconds from contact, negative before; None where the moment does not matter or is not known."""
    value = models.CharField(max_length=200, blank=True, default="")
    note = models.CharField(max_length=300, blank=True, default="")
    device_at = models.DateTimeField(null=True, blank=True)
    received_at = models.DateTimeField()
    by = models.ForeignKey("ledger.User", on_delete=models.PROTECT, related_name="+")
    replaces = models.ForeignKey(
        "trials.Observation", on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    reason = models.CharField(max_length=300, blank=True, default="")

    class Meta:
        """A row is replaced once; a replacement has a reason."""

        constraints: ClassVar = [
            models.UniqueConstraint(fields=["replaces"], name="observation_replaced_once"),
            models.CheckConstraint(
                condition=models.Q(replaces=None) | ~models.Q(reason=""), name="observation_correction_reason"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.kind} {self.t_s}"


class TrialPhoto(models.Model):
    """A picture taken at the bench."""

    trial = models.ForeignKey("trials.Trial", on_delete=models.PROTECT, related_name="photos")
    file = models.ForeignKey("ledger.StoredFile", on_delete=models.PROTECT, related_name="+")
    shown = models.ForeignKey("ledger.StoredFile", on_delete=models.PROTECT, related_name="+")
    caption = models.CharField(max_length=200, blank=True, default="")
    at = models.DateTimeField()
    by = models.ForeignKey("ledger.User", on_delete=models.PROTECT, related_name="+")

    def __str__(self) -> str:
        return f"Photo of trial {self.trial_id}"


class Doubt(models.Model):
    """The technician doubts one trial before its verdict; two further specimens decide."""

    trial = models.OneToOneField("trials.Trial", on_delete=models.PROTECT, related_name="doubt")
    reason = models.CharField(max_length=300)
    at = models.DateTimeField()
    by = models.ForeignKey("ledger.User", on_delete=models.PROTECT, related_name="+")

    def __str__(self) -> str:
        return self.reason


class SignedVerdict(models.Model):
    """What the rule said about a trial when the technician signed it. A later row holds after a correction."""

    trial = models.ForeignKey("trials.Trial", on_delete=models.PROTECT, related_name="verdicts")
    outcome = models.CharField(max_length=20)
    sentence = models.CharField(max_length=400)
    record = models.JSONField()
    verdict = models.JSONField()
    verdict_sha256 = models.CharField(max_length=64)
    """Fingerprint of the verdict's canonical bytes: judging again compares with it and need not read the verdict."""
    rule_version = models.CharField(max_length=20)
    signed_at = models.DateTimeField()
    signed_by = models.ForeignKey("ledger.User", on_delete=models.PROTECT, related_name="+")

    class Meta:
        """The latest holds."""

        indexes: ClassVar = [models.Index(fields=["trial", "-signed_at"], name="verdict_by_trial")]

    def __str__(self) -> str:
        return f"{self.trial_id}: {self.outcome}"


class Check(models.Model):
    """A second person looked at an order line's trials (ISO/IEC 17025 7.5.1)."""

    class Finding(models.TextChoices):
        """What the checker found."""

        SOUND = "sound", "Sound"
        RETURNED = "returned", "Returned with remarks"

    order_line = models.ForeignKey("specimens.OrderLine", on_delete=models.PROTECT, related_name="checks")
    finding = models.CharField(max_length=10, choices=Finding.choices)
    remarks = models.TextField(blank=True, default="")
    verdict_ids = models.JSONField()
    result = models.JSONField()
    at = models.DateTimeField()
    by = models.ForeignKey("ledger.User", on_delete=models.PROTECT, related_name="+")
    authorisation = models.ForeignKey(
        "trials.Authorisation", on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )

    def __str__(self) -> str:
        return f"line {self.order_line_id} {self.finding}"
