"""Files as they came in or went out, byte for byte."""

from typing import ClassVar

from django.db import models


class StoredFile(models.Model):
    """One file, kept in the database so that it is saved or not saved together with its record."""

    name = models.CharField(max_length=255)
    media_type = models.CharField(max_length=100)
    size = models.PositiveBigIntegerField()
    sha256 = models.CharField(max_length=64)
    content = models.BinaryField()
    at = models.DateTimeField()
    by = models.ForeignKey("ledger.User", on_delete=models.PROTECT, related_name="+")

    class Meta:
        """Found by its fingerprint."""

        indexes: ClassVar = [models.Index(fields=["sha256"], name="file_by_fingerprint")]

    def __str__(self) -> str:
        return self.name
