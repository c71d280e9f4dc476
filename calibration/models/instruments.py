"""Instruments under calibration control, and whether they are in service."""

from typing import ClassVar

from django.db import models


class InstrumentKind(models.TextChoices):
    """What an instrument measures with."""

    THERMOCOUPLE = "thermocouple", "Thermocouple"
    INDICATOR = "indicator", "Temperature indicator"
    FORCE_GAUGE = "force gauge", "Force gauge"
    TIMER = "timer", "Timer"
    LENGTH_GAUGE = "length gauge", "Length gauge"
    BALANCE = "balance", "Balance"
    HYGROMETER = "hygrometer", "Thermo-hygrometer"
    LUX_METER = "lux meter", "Lux meter"
    AMMETER = "ammeter", "Ammeter"
    VOLTMETER = "voltmeter", "Voltmeter"


class ThermocoupleType(models.TextChoices):
    """The pair of wires, as IEC 60584-1 names it."""

    K = "K", "Type K"
    J = "J", "Type J"
    N = "N", "Type N"
    T = "T", "Type T"


class Instrument(models.Model):
    """Anything that measures and is under calibration control. Status is computed, never stored here."""

    number = models.CharField(max_length=6, unique=True)
    code = models.CharField(max_length=20, unique=True)
    kind = models.CharField(max_length=20, choices=InstrumentKind.choices)
    description = models.CharField(max_length=200)
    maker = models.CharField(max_length=120, blank=True, default="")
    model_name = models.CharField(max_length=120, blank=True, default="")
    serial_number = models.CharField(max_length=120, blank=True, default="")
    software_version = models.CharField(max_length=60, blank=True, default="")
    firmware_version = models.CharField(max_length=60, blank=True, default="")
    thermocouple_type = models.CharField(max_length=1, choices=ThermocoupleType.choices, blank=True, default="")
    tolerance_class = models.CharField(
        max_length=1, choices=[("1", "1"), ("2", "2"), ("3", "3")], blank=True, default=""
    )
    owner = models.CharField(max_length=120, blank=True, default="")
    """Whose it is, where it is rented or borrowed (ISO/IEC 17025, 6.4.2)."""
    maintenance_plan = models.CharField(max_length=300, blank=True, default="")
    range_text = models.CharField(max_length=120, blank=True, default="")
    resolution_text = models.CharField(max_length=60, blank=True, default="")
    place = models.ForeignKey("ledger.Place", on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    registered_at = models.DateTimeField()
    registered_by = models.ForeignKey("ledger.User", on_delete=models.PROTECT, related_name="+")
    version = models.PositiveIntegerField(default=1)

    def __str__(self) -> str:
        return self.code

    @property
    def book(self) -> str:
        """The instrument's book in the ledger."""
        return f"instrument:{self.number}"


class ServiceChange(models.Model):
    """An instrument taken out of service, or put back, with the reason. The latest row holds."""

    class State(models.TextChoices):
        """What the instrument is after the change."""

        IN_SERVICE = "in service", "In service"
        OUT_OF_SERVICE = "out of service", "Out of service"

    instrument = models.ForeignKey("calibration.Instrument", on_delete=models.PROTECT, related_name="service_changes")
    state = models.CharField(max_length=20, choices=State.choices)
    reason = models.CharField(max_length=300)
    at = models.DateTimeField()
    by = models.ForeignKey("ledger.User", on_delete=models.PROTECT, related_name="+")

    class Meta:
        """Read per instrument, latest first."""

        indexes: ClassVar = [models.Index(fields=["instrument", "-at"], name="service_by_instrument")]

    def __str__(self) -> str:
        return f"{self.instrument_id} {self.state}"
