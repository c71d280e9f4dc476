"""A horizontal small-flame trial whose set-up is right, to be changed by each test in what it is about."""

from decimal import Decimal
from typing import Any

from tests.trials.domain.glow_wire_trial import row
from trials.domain.criteria import Value
from trials.domain.line_result import Asked, LineResult, LineTrial
from trials.domain.methods.base import MethodEdition
from trials.domain.methods.registry import method_edition
from trials.domain.parameter_changes import Change, changed_edition
from trials.domain.records import Conditioning, InstrumentUse, Observation, TrialRecord
from trials.domain.verdicts import Verdict

D = Decimal
EDITION_2013 = method_edition("horizontal-flame@2013")
HB, HB40, HB75 = (next(one.value for one in EDITION_2013.severities if one.label == label)
                  for label in ("HB", "HB40", "HB75"))  # fmt: skip

SETUP: dict[str, Value] = {
    "flame_height_mm": D("20.0"),
    "confirmed_current": True,
    "thickness_mm": D("3.02"),
    "nominal_mm": D("3.0"),
    "hood_off": True,
    "bar_length_mm": D(125),
    "bar_width_mm": D("13.0"),
    "solid_material": True,
    "chamber_m3": D("0.60"),
    "gas_percent": D("99.5"),
    "gas_ml_min": D(105),
    "back_pressure_mm": D("5.0"),
    "burner_bore_mm": D("9.5"),
    "confirm_1_s": D("43.8"),
    "confirm_2_s": D("44.1"),
    "confirm_3_s": D("44.0"),
    "block_mm": D("5.50"),
    "block_g": D("1.760"),
    "bar_level": True,
    "gauze_mm": D(10),
    "burner_right": True,
}

INSTRUMENTS = (InstrumentUse("timer", "TM-01", True), InstrumentUse("length gauge", "LG-01", True))


def edition(**changes: Change) -> MethodEdition:
    """The 2013 edition with figures of a laboratory or an order in place of its own."""
    return changed_edition(EDITION_2013, changes)


def course(*rows: Observation, off: str = "30.0", watch: str = "300.0") -> tuple[Observation, ...]:
    """Flame on at 0, bar lit at 5.0 s, the given rows, flame taken away, end of the watch."""
    return (row("contact", "0.0"), row("ignites", "5.0"), *rows, row("withdrawn", off), row("watch_ends", watch))


def burns_past(seconds: str, first: str = "40.0") -> tuple[Observation, ...]:
    """A bar whose front takes so many seconds from the first mark to the second and is put out beyond it."""
    second = D(first) + D(seconds)
    return course(row("front_first", first), row("front_second", str(second)), row("put_out", str(second + 1)),
                  watch=str(second + 200))  # fmt: skip


def stops(damaged: str, out: str = "150.0", first: str = "40.0") -> tuple[Observation, ...]:
    """A bar whose front stops by itself so many mm past the first mark."""
    return course(row("front_first", first), row("flame_out", out), row("damaged_length", value=D(damaged)))


def trial(*rows: Observation, judged_by: MethodEdition = EDITION_2013, **changed: Any) -> TrialRecord:
    """A record of `rows` with a right set-up, best class sought; `setup` is laid over the usual one."""
    members: dict[str, Any] = {
        "method_key": judged_by.key,
        "severity": None,
        "observations": rows,
        "conditioning": Conditioning(D(180_000), D(20)),
        "instruments": INSTRUMENTS,
    }
    setup = {**SETUP, **changed.pop("setup", {})}
    return TrialRecord(**{**members, "setup": setup, **changed})


def judged(*rows: Observation, judged_by: MethodEdition = EDITION_2013, **changed: Any) -> Verdict:
    """The verdict on a bar."""
    return judged_by.judge(trial(*rows, judged_by=judged_by, **changed))


def deciding(verdict: Verdict) -> list[str]:
    """The keys of the criteria that decided."""
    return [c.key for c in (*verdict.setup_criteria, *verdict.criteria) if c.decides]


def line(*verdicts: Verdict, severity: Decimal | None = None, judged_by: MethodEdition = EDITION_2013) -> LineResult:
    """The result of an order line from verdicts in the order tested, on specimens 01, 02 and so on."""
    trials = [LineTrial(f"{n:02d}", verdict, n, severity) for n, verdict in enumerate(verdicts, start=1)]
    return judged_by.judge_line(Asked(severity, 3), trials)
