"""When a calibration falls due, and until which instant the instrument may be used."""

from calendar import monthrange
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

UNITS = ("months", "days")
MONTHS, DAYS = UNITS


def due_on(calibrated_on: date, interval: int, unit: str) -> date:
    """The day on which a calibration falls due, always counted from the calibration date, never from a clipped due day.

    `unit` is “months” or “days”. A month that has no such day ends on its last one: 31 January and one month is the
    end of February. Raises ValueError for an interval below 1, another unit, or a day beyond the calendar.
    Source: common practice; the clipping agrees with dateutil's relativedelta.
    """
    if interval < 1:
        raise ValueError(f"an interval of {interval} {unit} leads nowhere")
    if unit not in UNITS:
        raise ValueError(f"“{unit}” is neither months nor days")
    try:
        if unit == DAYS:
            return calibrated_on + timedelta(days=interval)
        years, month = divmod(calibrated_on.month - 1 + interval, 12)
        year, month = calibrated_on.year + years, month + 1
        return date(year, month, min(calibrated_on.day, monthrange(year, month)[1]))
    except (OverflowError, ValueError):
        raise ValueError(f"{interval} {unit} after {calibrated_on} is beyond the calendar") from None


def usable_until(due: date, zone: ZoneInfo) -> datetime:
    """The first instant after the due day in `zone`, as UTC: a use is in time while its moment is before this.

    The due day counts to its end. Where the clocks change at midnight, the day ends when the calendar there turns.
    """
    # fold=0 reads a midnight that does not exist as the instant of the change, and of two midnights the first.
    return datetime.combine(due + timedelta(days=1), time.min, tzinfo=zone).astimezone(UTC)


def day_at(at: datetime, zone: ZoneInfo) -> date:
    """The calendar day in `zone` at the instant `at`."""
    return at.astimezone(zone).date()
