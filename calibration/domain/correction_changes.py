"""What a new calibration changes in what is added to readings, place by place (ISO/IEC 17025:2017, 6.4.11)."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal

from calibration.domain.corrections import CorrectionTable, OutsideRangeError
from calibration.domain.units import difference_unit


@dataclass(frozen=True, slots=True)
class CorrectionChange:
    """At one reading, what was added before and what is added from now on, in `unit`.

    `before` is None where the earlier calibration has no correction there.
    """

    reading: Decimal
    reading_unit: str
    before: Decimal | None
    after: Decimal

    @property
    def unit(self) -> str:
        """The unit of a correction: kelvin for degrees Celsius."""
        return difference_unit(self.reading_unit)

    @property
    def changed_by(self) -> Decimal | None:
        """After minus before."""
        return None if self.before is None else self.after - self.before


def correction_changes(
    before: Mapping[str, CorrectionTable], after: Mapping[str, CorrectionTable]
) -> tuple[CorrectionChange, ...]:
    """Return, for each place the new calibration states, what it adds there and what was added until now.

    Tables by unit; places where nothing changes are left out, places the earlier one does not cover stay in.
    """
    return tuple(_changes(before, after))


def _changes(before: Mapping[str, CorrectionTable], after: Mapping[str, CorrectionTable]) -> Iterator[CorrectionChange]:
    for unit, table in after.items():
        earlier = before.get(unit)
        for station in table.stations:
            now = table.at(station.indication).correction
            was = None if earlier is None else _at(earlier, station.indication)
            if was != now:
                yield CorrectionChange(station.indication, unit, was, now)


def _at(table: CorrectionTable, reading: Decimal) -> Decimal | None:
    try:
        return table.at(reading).correction
    except OutsideRangeError:
        return None
