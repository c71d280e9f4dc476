"""A trial on a plate of 3.0 mm whose set-up is right, and the trials of a whole search, for both glow-wire indexes."""

from decimal import Decimal
from typing import Any

from tests.trials.domain.glow_wire_trial import INSTRUMENTS, SETUP, course, row, steady_readings
from trials.domain.line_result import LineTrial
from trials.domain.methods.base import MethodEdition
from trials.domain.methods.registry import method_edition
from trials.domain.parameter_changes import Change, changed_edition
from trials.domain.records import Conditioning, InstrumentUse, Observation, TrialRecord

D = Decimal
GWFI = method_edition("glow-wire-flammability-index@2021")
GWIT = method_edition("glow-wire-ignition-temperature@2021")
LENGTH_GAUGE = InstrumentUse("length gauge", "LG-01", True)


def plate(edition: MethodEdition, *rows: Observation, level: str = "850", **changed: Any) -> TrialRecord:
    """A plate of 3.0 mm with a right set-up at a level."""
    known = {field.key for field in edition.setup_fields}
    setup = {key: value for key, value in SETUP.items() if key in known}
    setup |= {"nominal_mm": D("3.0"), "thickness_mm": D("3.02")} | changed.pop("setup", {})
    members: dict[str, Any] = {
        "method_key": edition.key,
        "severity": D(level),
        "setup": setup,
        "temperature_readings": steady_readings(level),
        "observations": course(*rows, watch="75.0"),
        "conditioning": Conditioning(D(190_000), D(44)),
        "instruments": (*INSTRUMENTS, LENGTH_GAUGE),
    }
    return TrialRecord(**{**members, **changed})


def flame(start: str, end: str, kind: str | None = None) -> tuple[Observation, Observation]:
    return row("ignites", start, kind), row("flame_out", end, kind)


def glow(start: str, end: str) -> tuple[Observation, Observation]:
    return row("glow_starts", start), row("glow_ends", end)


def outcome(edition: MethodEdition, *rows: Observation, changes: dict[str, Change] | None = None, **more: Any) -> str:
    return changed_edition(edition, changes or {}).judge(plate(edition, *rows, **more)).outcome


def at(edition: MethodEdition, steps: str, thickness: str = "3.0") -> list[LineTrial]:
    """The trials of a search written as "650P 700F": three plates that pass, or one that fails."""
    fails = flame("12.0", "70.0")
    trials: list[LineTrial] = []
    for step in steps.split():
        level, passes = step[:-1], step.endswith("P")
        rows = () if passes else fails
        setup = {"nominal_mm": D(thickness), "thickness_mm": D(thickness)}
        verdict = edition.judge(plate(edition, *rows, level=level, setup=setup))
        for _ in range(3 if passes else 1):
            trials.append(LineTrial(f"{len(trials) + 1:02}", verdict, len(trials), D(level)))
    return trials
