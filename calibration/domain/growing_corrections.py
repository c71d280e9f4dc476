"""Corrections on their way from one calibration to the next, where an error is taken to have grown evenly."""

from dataclasses import replace
from decimal import Decimal

from calibration.domain.corrections import CorrectionTable, OutsideRangeError, Station


def grown_table(before: CorrectionTable | None, found: CorrectionTable, share: Decimal) -> CorrectionTable:
    """Return the table that holds when `share` (0 to 1) of the way from `before` to `found` is gone.

    At each indication of `found` the correction lies that share between the two; where nothing was corrected before,
    or the earlier calibration does not reach, it begins at zero. Range and decimals are those of `found`. Source:
    common practice.
    """
    return replace(found, stations=tuple(_grown(before, one, share) for one in found.stations))


def _grown(before: CorrectionTable | None, station: Station, share: Decimal) -> Station:
    start = Decimal(0)
    if before is not None:
        try:
            start = before.at(station.indication).correction
        except OutsideRangeError:
            start = Decimal(0)
    return replace(station, correction=start + share * (station.correction - start))
