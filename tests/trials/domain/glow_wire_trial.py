"""A glow-wire trial whose set-up is right, to be changed by each test in what it is about."""

from decimal import Decimal
from typing import Any

from trials.domain.criteria import Value
from trials.domain.methods.base import MethodEdition
from trials.domain.methods.registry import method_edition
from trials.domain.records import Conditioning, InstrumentUse, Observation, TrialRecord
from trials.domain.stability import TemperatureReading

D = Decimal
EDITION_2021 = method_edition("glow-wire-end-product@2021")

SETUP: dict[str, Value] = {
    "force_n": D("0.96"),
    "tip_clean": True,
    "new_layer": True,
    "hood_off": True,
    "light_lx": D(12),
    "penetration_mm": D("7.0"),
    "layer_distance_mm": D(200),
    "tissue_g_m2": D(21),
    "board_mm": D("10.0"),
    "chamber_m3": D("0.60"),
    "thermocouple_mm": D("1.0"),
    "foil_check_c": D("960.4"),
}

INSTRUMENTS = tuple(
    InstrumentUse(role, code, True)
    for role, code in (
        ("thermocouple", "TC-05"),
        ("indicator", "IN-02"),
        ("force gauge", "FG-02"),
        ("timer", "TM-01"),
    )
)


def row(kind: str, t_s: str | Decimal | None = None, value: Value = None, **names: Any) -> Observation:
    """One observation row, named by its kind and time unless the test names it."""
    names.setdefault("row", f"{kind} {t_s}")
    return Observation(kind=kind, t_s=None if t_s is None else D(t_s), value=value, **names)


def course(
    *rows: Observation, contact: str = "0.0", withdrawn: str = "30.2", watch: str = "61.0"
) -> tuple[Observation, ...]:
    """A whole course: contact, the given rows, withdrawal, end of the watch, and something left of the specimen."""
    frame = (
        row("contact", contact),
        row("withdrawn", withdrawn),
        row("watch_ends", watch),
        row("consumed", value=False),
    )
    return (*frame, *rows)


def steady_readings(temperature_c: str = "850.4") -> tuple[TemperatureReading, ...]:
    """Readings every 10 s from 70 s before contact to contact, all the same, no correction to add."""
    return tuple(TemperatureReading(D(t), D(temperature_c), D("0.0")) for t in range(-70, 1, 10))


def trial(*rows: Observation, edition: MethodEdition = EDITION_2021, **changed: Any) -> TrialRecord:
    """A record of `rows` with a right set-up at 850 °C; `setup` is laid over the usual one."""
    members: dict[str, Any] = {
        "method_key": edition.key,
        "severity": D(850),
        "temperature_readings": steady_readings(),
        "observations": rows,
        "conditioning": Conditioning(D(258_000), D(44)),
        "instruments": INSTRUMENTS,
    }
    setup = {**SETUP, **changed.pop("setup", {})}
    return TrialRecord(**{**members, "setup": setup, **changed})
