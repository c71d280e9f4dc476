"""A needle-flame trial whose set-up is right, to be changed by each test in what it is about."""

from decimal import Decimal
from typing import Any

from tests.trials.domain.glow_wire_trial import row
from trials.domain.criteria import Value
from trials.domain.methods.base import MethodEdition
from trials.domain.methods.registry import method_edition
from trials.domain.parameter_changes import Change, changed_edition
from trials.domain.records import Conditioning, InstrumentUse, Observation, TrialRecord

D = Decimal
EDITION_2016 = method_edition("needle-flame@2016")

SETUP: dict[str, Value] = {
    "flame_height_mm": D("12.0"),
    "confirmed_current": True,
    "new_layer": True,
    "hood_off": True,
    "place": "surface",
    "light_lx": D(12),
    "arrangement": "specimen above the layer",
    "layer_distance_mm": D(200),
    "tissue_g_m2": D(21),
    "board_mm": D("10.0"),
    "chamber_m3": D("0.60"),
    "gas": "butane",
    "gas_percent": D("99.5"),
    "burner_bore_mm": D("0.50"),
    "burner_outer_mm": D("0.85"),
    "burner_length_mm": D(40),
    "confirm_1_s": D("23.4"),
    "confirm_2_s": D("23.6"),
    "confirm_3_s": D("23.5"),
    "block_mm": D("4.00"),
    "block_g": D("0.580"),
}

INSTRUMENTS = (InstrumentUse("timer", "TM-01", True), InstrumentUse("length gauge", "LG-01", True))


def edition(**changes: Change) -> MethodEdition:
    """The 2016 edition with figures of a laboratory or an order in place of its own."""
    return changed_edition(EDITION_2016, changes)


def course(*rows: Observation, off: str = "29.5", watch: str = "99.0") -> tuple[Observation, ...]:
    """Flame on at 0, the given rows, flame taken away, end of the watch."""
    return (row("contact", "0.0"), *rows, row("withdrawn", off), row("watch_ends", watch))


def trial(*rows: Observation, judged_by: MethodEdition = EDITION_2016, **changed: Any) -> TrialRecord:
    """A record of `rows` with a right set-up at 30 s; `setup` is laid over the usual one."""
    members: dict[str, Any] = {
        "method_key": judged_by.key,
        "severity": D(30),
        "observations": rows,
        "conditioning": Conditioning(D(90_000), D(20)),
        "instruments": INSTRUMENTS,
    }
    setup = {**SETUP, **changed.pop("setup", {})}
    return TrialRecord(**{**members, "setup": setup, **changed})
