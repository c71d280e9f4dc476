"""Recorder files for the demo's two chambers: one reading every two minutes, a gap, an excursion."""

import math
import random
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo


def recorder_file(
    *,
    seed: int,
    from_at: datetime,
    until_at: datetime,
    zone: ZoneInfo,
    temperature_c: float,
    humidity_percent: float,
    gap: tuple[datetime, datetime] | None = None,
    excursion: tuple[datetime, datetime, float] | None = None,
) -> bytes:
    """A CSV file as a recorder writes it: time with its offset, °C, % RH.

    `gap` is a stretch without readings, `excursion` a stretch where the humidity rises to the given figure.
    """
    chance = random.Random(seed)  # noqa: S311  (invented weather)
    lines = ["Time,Temperature (°C),Humidity (% RH)"]
    wander_c = wander_rh = 0.0
    at = from_at.astimezone(UTC).replace(second=0, microsecond=0)  # steps of real time, also when clocks change
    while at <= until_at:
        wander_c = 0.985 * wander_c + chance.gauss(0, 0.03)
        wander_rh = 0.985 * wander_rh + chance.gauss(0, 0.16)
        day = math.sin(at.timestamp() / 86400 * 2 * math.pi)
        temperature = temperature_c + 0.5 * day + wander_c
        humidity = humidity_percent - 1.6 * day + wander_rh
        if excursion and excursion[0] <= at <= excursion[1]:
            share = (at - excursion[0]) / (excursion[1] - excursion[0])
            humidity += (excursion[2] - humidity) * math.sin(share * math.pi)
        if not (gap and gap[0] < at < gap[1]):
            local = at.astimezone(zone).isoformat(timespec="seconds")
            lines.append(f"{local},{temperature:.2f},{humidity:.1f}")
        at += timedelta(minutes=2)
    return ("\n".join(lines) + "\n").encode()
