"""Who orders, and the person there."""

from typing import ClassVar

from django.db import models


class Client(models.Model):
    """A firm or person who orders tests."""

    name = models.CharField(max_length=200)
    address = models.TextField()
    country = models.CharField(max_length=80, blank=True, default="")
    remarks = models.TextField(blank=True, default="")
    version = models.PositiveIntegerField(default=1)

    class Meta:
        """Looked up by name."""

        indexes: ClassVar = [models.Index(fields=["name"], name="client_by_name")]

    def __str__(self) -> str:
        return self.name

    @property
    def book(self) -> str:
        """The client's book in the ledger."""
        return f"client:{self.pk}"


class Contact(models.Model):
    """A person at a client's."""

    client = models.ForeignKey("specimens.Client", on_delete=models.PROTECT, related_name="contacts")
    name = models.CharField(max_length=120)
    email = models.EmailField(blank=True, default="")
    phone = models.CharField(max_length=60, blank=True, default="")

    def __str__(self) -> str:
        return self.name
