"""Instruments, calibrations and rigs, as the tests need them."""

from datetime import UTC, date, datetime

import factory

from calibration.models import Calibration, Instrument, InstrumentKind, Mounting, Rig, RigKind
from labsite.ledger.numbering import instrument_number
from tests.factories.ledger import UserFactory

REGISTERED = datetime(2025, 1, 7, 9, 0, tzinfo=UTC)


class InstrumentFactory(factory.django.DjangoModelFactory[Instrument]):
    """A thermocouple without a calibration."""

    class Meta:
        """An instrument."""

        model = Instrument

    number = factory.Sequence(lambda n: instrument_number(90000 + n))
    code = factory.Sequence(lambda n: f"TC-{n:03d}")
    kind = InstrumentKind.THERMOCOUPLE
    description = "type K, 1.0 mm sheath, class 1"
    registered_at = REGISTERED
    registered_by = factory.SubFactory(UserFactory)


class CalibrationFactory(factory.django.DjangoModelFactory[Calibration]):
    """A calibration nobody has decided on; `accepted=True` for one that was accepted when entered."""

    class Meta:
        """A calibration."""

        model = Calibration

    class Params:
        """Ready-made decisions."""

        accepted = factory.Trait(
            decision=Calibration.Decision.ACCEPTED,
            decided_at=factory.SelfAttribute("entered_at"),
            decided_by=factory.SelfAttribute("entered_by"),
        )

    instrument = factory.SubFactory(InstrumentFactory)
    calibrated_on = date(2026, 1, 15)
    interval = 12
    interval_unit = Calibration.IntervalUnit.MONTHS
    calibrated_by = "Measures of Nowhere"
    entered_at = datetime(2026, 1, 20, 9, 0, tzinfo=UTC)
    entered_by = factory.SubFactory(UserFactory)


class RigFactory(factory.django.DjangoModelFactory[Rig]):
    """A glow-wire rig with nothing on it."""

    class Meta:
        """A rig."""

        model = Rig

    code = factory.Sequence(lambda n: f"GW-{n}")
    name = "Glow-wire rig"
    kind = RigKind.GLOW_WIRE


class MountingFactory(factory.django.DjangoModelFactory[Mounting]):
    """An instrument mounted on a rig since a while."""

    class Meta:
        """A mounting."""

        model = Mounting

    rig = factory.SubFactory(RigFactory)
    instrument = factory.SubFactory(InstrumentFactory)
    mounted_at = REGISTERED
    mounted_by = factory.SubFactory(UserFactory)
