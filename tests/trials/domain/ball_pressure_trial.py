"""A ball-pressure trial whose set-up and times are right, to be changed by each test in what it is about."""

from decimal import Decimal
from typing import Any

from tests.trials.domain.glow_wire_trial import row
from trials.domain.criteria import Value
from trials.domain.methods.base import MethodEdition
from trials.domain.methods.registry import method_edition
from trials.domain.parameter_changes import Change, changed_edition
from trials.domain.records import Conditioning, InstrumentUse, Observation, TrialRecord
from trials.domain.stability import TemperatureReading

D = Decimal
EDITION_2014 = method_edition("ball-pressure@2014")
EDITION_2003 = method_edition("ball-pressure@2003")

SETUP: dict[str, Value] = {
    "preheated": True,
    "sensor_near": True,
    "level": True,
    "thickness_mm": D("3.0"),
    "layers": D(1),
    "water_c": D("20.5"),
    "width_mm": D("60.0"),
    "force_n": D("20.05"),
    "ball_mm": D("5.00"),
}

INSTRUMENTS = tuple(
    InstrumentUse(role, code, True)
    for role, code in (
        ("thermocouple", "TC-11"),
        ("indicator", "IN-04"),
        ("timer", "TM-02"),
        ("measuring microscope", "LG-04"),
    )
)


def edition(changes: dict[str, Change], of: MethodEdition = EDITION_2014) -> MethodEdition:
    """The edition with figures of a laboratory or an order in place of its own."""
    return changed_edition(of, changes)


def oven(*figures: str, correction: str = "0.0") -> tuple[TemperatureReading, ...]:
    """Readings 240 s apart, the last one at the moment the ball is put on."""
    last = len(figures) - 1
    return tuple(TemperatureReading(D(240 * (n - last)), D(f), D(correction)) for n, f in enumerate(figures))


def course(
    *dents: str,
    load: str = "3612.0",
    into: str = "6.5",
    cooling: str = "362.0",
    measured: str = "95.0",
    oven_held: tuple[str, str] | None = ("124.6", "126.1"),
) -> list[Observation]:
    """The rows of a whole trial; each time is the length of its stage in s."""
    moments, rows, at_s = (load, into, cooling, measured), [row("contact", "0.0")], D(0)
    for kind, length in zip(("withdrawn", "in_water", "out_of_water", "watch_ends"), moments, strict=True):
        at_s += D(length)
        rows.append(row(kind, at_s))
    rows += [row("diameter", value=D(dent), row=f"dent {n}") for n, dent in enumerate(dents)]
    if oven_held is not None:
        rows += [row("oven_lowest", value=D(oven_held[0])), row("oven_highest", value=D(oven_held[1]))]
    return rows


def trial(rows: list[Observation], judged_by: MethodEdition = EDITION_2014, **changed: Any) -> TrialRecord:
    """A record of `rows` with a right set-up at 125 °C; `setup` is laid over the usual one."""
    members: dict[str, Any] = {
        "method_key": judged_by.key,
        "severity": D(125),
        "temperature_readings": oven("125.2", "125.3", "125.4", "125.3"),
        "observations": tuple(rows),
        "conditioning": Conditioning(D(90_000), D(20)),
        "instruments": INSTRUMENTS,
    }
    setup = {**SETUP, **changed.pop("setup", {})}
    return TrialRecord(**{**members, "setup": setup, **changed})
