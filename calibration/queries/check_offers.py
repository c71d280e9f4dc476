"""What the last check read, for whoever sets a rig up and would otherwise type it again."""

from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from typing import Any

from django.db.models import Q

from calibration.models import IntermediateCheck


@dataclass(frozen=True, slots=True)
class LastReading:
    """What a check read, run by run where there were several."""

    checked_at: datetime
    values: tuple[Decimal, ...]


def last_reading(kind: str, *, rig_id: int, instruments: Any) -> LastReading | None:
    """The last check of a kind of a rig or of one of these instruments (keys or a query of them); one read.

    None where there is none, or where the last one failed: what it read is not worth taking over.
    """
    rows = IntermediateCheck.objects.filter(Q(rig=rig_id) | Q(instrument__in=instruments), kind=kind, struck_at=None)
    check = rows.order_by("checked_at", "pk").last()
    if check is None or not check.passed:
        return None
    runs = [Decimal(reading["seconds"]) for reading in check.readings if "seconds" in reading]
    return LastReading(check.checked_at, tuple(runs) or (check.indication,))
