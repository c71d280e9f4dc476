"""Reverse traces: what an instrument in doubt touched, judged again, and what a person decided line by line."""

from typing import ClassVar

from django.db import models


class TraceCase(models.Model):
    """The search for what one instrument may have spoiled, over a window of time; its lines are fixed when it opens."""

    number = models.PositiveIntegerField(unique=True)
    instrument = models.ForeignKey("calibration.Instrument", on_delete=models.PROTECT, related_name="traces")
    calibration = models.ForeignKey(
        "calibration.Calibration", on_delete=models.PROTECT, null=True, blank=True, related_name="traces"
    )
    """The calibration whose as-found figures the results are judged again with; None where there are none yet."""
    reason = models.CharField(max_length=300)
    from_at = models.DateTimeField()
    until_at = models.DateTimeField()
    window_sentence = models.CharField(max_length=300)
    opened_at = models.DateTimeField()
    opened_by = models.ForeignKey("ledger.User", on_delete=models.PROTECT, related_name="+")
    closed_at = models.DateTimeField(null=True, blank=True)
    closed_by = models.ForeignKey("ledger.User", on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    closing_note = models.CharField(max_length=300, blank=True, default="")

    def __str__(self) -> str:
        return f"trace {self.number}"


class TraceLine(models.Model):
    """One thing the instrument touched: a trial, a conditioning stay, or another instrument checked with it."""

    class Kind(models.TextChoices):
        """What was touched."""

        TRIAL = "trial", "Trial"
        STAY = "stay", "Conditioning"
        INSTRUMENT = "instrument", "Instrument"

    class Finding(models.TextChoices):
        """What judging again says."""

        UNCHANGED = "unchanged", "Unchanged"
        CHANGED = "changed", "Changed"
        UNDECIDABLE = "undecidable", "Undecidable"

    case = models.ForeignKey("reports.TraceCase", on_delete=models.PROTECT, related_name="lines")
    position = models.PositiveIntegerField()
    kind = models.CharField(max_length=12, choices=Kind.choices)
    trial = models.ForeignKey("trials.Trial", on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    verdict = models.ForeignKey(
        "trials.SignedVerdict", on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    stay = models.ForeignKey("specimens.Stay", on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    instrument = models.ForeignKey(
        "calibration.Instrument", on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    through = models.ForeignKey(
        "calibration.Instrument", on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    """The instrument by which it was reached; None: the one in doubt itself."""
    at = models.DateTimeField()
    finding = models.CharField(max_length=12, choices=Finding.choices)
    sentence = models.CharField(max_length=400)
    figures = models.JSONField(default=dict)
    """What was read, corrected, permitted; the verdict before, and after each assumption; numbers are texts."""

    class Meta:
        """In the order of the list."""

        constraints: ClassVar = [models.UniqueConstraint(fields=["case", "position"], name="trace_place_once")]

    def __str__(self) -> str:
        return f"{self.case_id}: {self.position}"


class TraceDecision(models.Model):
    """What a person decided about one line; a later decision replaces an earlier one and both stay."""

    class Act(models.TextChoices):
        """What is done."""

        NONE = "none", "Nothing"
        NOTE = "note", "Note it"
        AMEND = "amend", "Amend the certificate"
        RECALL = "recall", "Recall the certificate"
        NOTIFY = "notify", "Notify the client"

    line = models.ForeignKey("reports.TraceLine", on_delete=models.PROTECT, related_name="decisions")
    act = models.CharField(max_length=10, choices=Act.choices)
    note = models.CharField(max_length=300, blank=True, default="")
    at = models.DateTimeField()
    by = models.ForeignKey("ledger.User", on_delete=models.PROTECT, related_name="+")

    def __str__(self) -> str:
        return f"{self.line_id}: {self.act}"
