"""Issued certificates: frozen content and the bytes rendered from it."""

from typing import ClassVar

from django.db import models


class Certificate(models.Model):
    """One issued document. An amendment is a later certificate that names the one it replaces."""

    number = models.CharField(max_length=20, unique=True)
    order = models.ForeignKey("specimens.Order", on_delete=models.PROTECT, related_name="certificates")
    lines = models.ManyToManyField("specimens.OrderLine", related_name="certificates")
    content = models.JSONField()
    content_sha256 = models.CharField(max_length=64)
    issued_at = models.DateTimeField()
    issued_by = models.ForeignKey("ledger.User", on_delete=models.PROTECT, related_name="+")
    replaces = models.OneToOneField(
        "reports.Certificate", on_delete=models.PROTECT, null=True, blank=True, related_name="replaced_by"
    )
    amendment_reason = models.CharField(max_length=300, blank=True, default="")
    amendment_changes = models.JSONField(default=list)
    pdf = models.ForeignKey("ledger.StoredFile", on_delete=models.PROTECT, null=True, blank=True, related_name="+")

    class Meta:
        """Newest first; an amendment has a reason."""

        indexes: ClassVar = [models.Index(fields=["-issued_at", "-id"], name="certificate_newest_first")]
        constraints: ClassVar = [
            models.CheckConstraint(
                condition=models.Q(replaces=None) | ~models.Q(amendment_reason=""), name="amendment_has_reason"
            ),
        ]

    def __str__(self) -> str:
        return self.number
