"""Chambers, recorders in calibration and recorders' files, as the conditioning tests need them."""

from collections.abc import Callable, Sequence
from datetime import UTC, date, datetime, timedelta

from calibration.models import Instrument, InstrumentKind
from labsite.ledger.models import Place
from specimens.models import OrderLine, Specimen
from tests.factories.calibration import CalibrationFactory, InstrumentFactory
from tests.factories.ledger import NOON, PlaceFactory
from tests.factories.specimens import CustodyFactory, ItemFactory, OrderLineFactory, SpecimenFactory

MINUTE = timedelta(minutes=1)
HOUR = timedelta(hours=1)
Air = tuple[float, float]
"""°C and % RH."""


def hygrometer(code: str = "HY-1", *, calibrated_on: date = date(2026, 1, 15), interval: int = 12) -> Instrument:
    """A recorder with an accepted calibration."""
    instrument = InstrumentFactory.create(code=code, kind=InstrumentKind.HYGROMETER)
    entered = datetime.combine(calibrated_on, datetime.min.time(), tzinfo=UTC) + timedelta(days=1)
    CalibrationFactory.create(
        instrument=instrument, calibrated_on=calibrated_on, interval=interval, entered_at=entered, accepted=True
    )
    return instrument


def chamber(code: str = "CH-1") -> Place:
    """A conditioning chamber."""
    return PlaceFactory.create(code=code, name="Conditioning cabinet", kind=Place.Kind.CHAMBER)


def set_of_specimens(count: int = 3, *, line: OrderLine | None = None, came_at: datetime = NOON) -> list[Specimen]:
    """Specimens of one line on a shelf since they came in."""
    line = line or OrderLineFactory.create()
    item = ItemFactory.create(order_line=line, receipt__came_at=came_at, receipt__received_at=came_at)
    shelf = PlaceFactory.create()
    specimens = [SpecimenFactory.create(item=item) for _ in range(count)]
    for specimen in specimens:
        CustodyFactory.create(specimen=specimen, place=shelf, at=came_at)
    return specimens


def recorder_csv(
    from_at: datetime,
    until_at: datetime,
    *,
    step: timedelta = MINUTE,
    air: Callable[[datetime], Air] = lambda at: (23.0, 50.0),
    gaps: Sequence[tuple[datetime, datetime]] = (),
    excursions: Sequence[tuple[datetime, datetime, Air]] = (),
) -> bytes:
    """A recorder's file in UTC, both ends included; nothing strictly inside a gap, another air in an excursion."""
    lines = ["Time,Temperature (°C),Humidity (% RH)"]
    at = from_at
    while at <= until_at:
        if not any(begin < at < end for begin, end in gaps):
            temperature_c, humidity = next(
                (value for begin, end, value in excursions if begin <= at <= end), None
            ) or air(at)
            lines.append(f"{at.astimezone(UTC).isoformat(timespec='seconds')},{temperature_c:.2f},{humidity:.1f}")
        at += step
    return ("\n".join(lines) + "\n").encode()
