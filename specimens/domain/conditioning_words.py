"""Durations, readings, moments and sets of specimens as the conditioning pages write them."""

import math
from collections.abc import Sequence
from datetime import datetime
from zoneinfo import ZoneInfo

from labsite.ledger.numbering import grouped
from specimens.domain.atmospheres import Atmosphere, Band
from specimens.domain.conditioning import Stretch, StretchKind
from specimens.domain.counter_words import number_word

RULE_WORDS = (
    "Between two readings inside the band, limits included, at most five minutes or three sampling intervals apart. "
    "Nothing is filled in across a gap. Instants, so a clock change adds nothing."
)
STAY_WORDS = "A specimen’s last stay counts, under the atmosphere its method asks for or a stricter one."


def duration_text(seconds: float) -> str:
    """Hours and minutes, never more than there is: “36 h 25 min”, “48 h”, “40 min”, “20 s”."""
    whole = int(seconds)
    hours, minutes = divmod(whole // 60, 60)
    if 0 < whole < 60:
        return f"{whole} s"
    if not hours:
        return f"{minutes} min"
    return f"{hours} h {minutes:02d} min" if minutes else f"{hours} h"


def reading_text(value: float) -> str:
    """A reading with one decimal, more where they say more, so that 60.04 is never shown as 60.0."""
    whole, _, decimals = f"{value:.3f}".partition(".")
    return f"{whole}.{decimals.rstrip('0') or '0'}"


def moment_text(at: datetime, zone: ZoneInfo, now: datetime | None = None) -> str:
    """A moment at the laboratory: “Wed 25 Nov 10:39”, with the year where `now` is in another one."""
    local = at.astimezone(zone)
    year = f" {local.year}" if now is not None and now.astimezone(zone).year != local.year else ""
    return f"{local:%a} {local.day} {local:%b}{year} {local:%H:%M}"


def set_text(numbers: Sequence[str]) -> str:
    """A set by its specimen numbers: “26-0414-003”, “26-0414-003 to -012”, “26-0414-003, -005 and -006”."""
    ordered = sorted(numbers)
    bodies = [grouped(number)[0] for number in ordered]
    if len(bodies) <= 1:
        return "".join(bodies)
    serials = [int(number[6:9]) for number in ordered]
    tails = [f"-{body.rpartition('-')[2]}" for body in bodies[1:]]
    if serials[-1] - serials[0] == len(serials) - 1 and len(serials) > 2:
        return f"{bodies[0]} to {tails[-1]}"
    if len(serials) > 4:
        return f"{bodies[0]} to {tails[-1]}, {len(serials)} of them"
    return f"{', '.join([bodies[0], *tails[:-1]])} and {tails[-1]}"


def set_is_text(numbers: Sequence[str]) -> str:
    """A set with its verb: “26-0414-003 is”, “26-0414-003 to -012 are”."""
    return f"{set_text(numbers)} {'is' if len(numbers) == 1 else 'are'}"


def band_text(band: Band, unit: str) -> str:
    """A band as limits: “21 to 25 °C”."""
    return f"{band.low:f} to {band.high:f} {unit}"


def atmosphere_text(atmosphere: Atmosphere) -> str:
    """An atmosphere as its limits: “21 to 25 °C and 40 to 60 % RH”."""
    temperature = band_text(atmosphere.temperature_c, "°C")
    if atmosphere.humidity_percent is None:
        return temperature
    return f"{temperature} and {band_text(atmosphere.humidity_percent, '% RH')}"


def furthest_text(stretch: Stretch) -> str:
    """The furthest reading of a stretch with its unit; empty where there is none."""
    if stretch.furthest is None:
        return ""
    return f"{reading_text(stretch.furthest)} {'°C' if stretch.kind.startswith('temperature') else '% RH'}"


def stretch_text(kind: StretchKind, atmosphere: Atmosphere) -> str:
    """Why a stretch did not count."""
    temperature, humidity = atmosphere.temperature_c, atmosphere.humidity_percent
    match kind:
        case "gap":
            return "Gap, no reading"
        case "no record":
            return "No record"
        case "fault":
            return "Reading missing or faulty"
        case "temperature low":
            return f"Temperature below {temperature.low:f} °C"
        case "temperature high":
            return f"Temperature above {temperature.high:f} °C"
        case "humidity low":
            return f"Humidity below {humidity.low:f} %" if humidity else "Humidity too low"
        case "humidity high":
            return f"Humidity above {humidity.high:f} %" if humidity else "Humidity too high"


def out_of_band_text(temperature_c: float, humidity_percent: float, atmosphere: Atmosphere) -> str:
    """What of a reading is missing or outside the band, with its limits; empty when it is in band, limits included."""
    parts = []
    for value, band, unit in (
        (temperature_c, atmosphere.temperature_c, "°C"),
        (humidity_percent, atmosphere.humidity_percent, "% RH"),
    ):
        if band is None:
            continue
        if math.isnan(value):
            parts.append("no temperature" if unit == "°C" else "no humidity")
        elif not float(band.low) <= round(value, 9) <= float(band.high):
            parts.append(f"{reading_text(value)} {unit}, {band_text(band, unit)} are allowed")
    return "; ".join(parts)


def stretches_text(count: int, seconds: float) -> str:
    """How much did not count: “two stretches, 1 h 35 min together, did not count”."""
    if not count:
        return "nothing was lost"
    if count == 1:
        return f"one stretch of {duration_text(seconds)} did not count"
    return f"{number_word(count)} stretches, {duration_text(seconds)} together, did not count"
