"""Tracking trials whose set-up is right, to be changed by each test in what it is about, and lines made of them."""

from collections.abc import Sequence
from decimal import Decimal
from typing import Any

from tests.trials.domain.glow_wire_trial import row
from trials.domain.criteria import Value
from trials.domain.line_result import Asked, LineResult, LineTrial
from trials.domain.methods.base import MethodEdition
from trials.domain.methods.registry import method_edition
from trials.domain.records import Conditioning, InstrumentUse, Observation, TrialRecord
from trials.domain.verdicts import Verdict

D = Decimal
EDITION_2003 = method_edition("tracking@2003")
EDITION_2020 = method_edition("tracking@2020")

SETUP: dict[str, Value] = {
    "drops_asked": "50",
    "electrodes_rinsed": True,
    "surface_clean": True,
    "new_site": True,
    "force_n": D("1.01"),
    "gap_mm": D("4.0"),
    "thickness_mm": D("3.2"),
    "side_mm": D(30),
    "solution": "A",
    "resistivity_ohm_m": D("3.95"),
    "mass_20_drops_g": D("0.430"),
    "drop_height_mm": D(35),
    "short_circuit_a": D("1.00"),
    "trip_current_a": D("0.50"),
    "trip_delay_s": D("2.00"),
    "electrodes_right": True,
    "edge_radius_mm": D("0.05"),
    "room_temperature_c": D("23.0"),
}

INSTRUMENTS = tuple(
    InstrumentUse(role, code, True)
    for role, code in (
        ("voltmeter", "VM-01"),
        ("ammeter", "AM-01"),
        ("timer", "TM-01"),
        ("force gauge", "FG-02"),
        ("length gauge", "LG-01"),
    )
)


def course(
    *rows: Observation, drops: int = 50, last: str | None = None, watched: str = "25.0", hole: bool | None = False
) -> tuple[Observation, ...]:
    """A run of so many drops, one every 30 s unless `last` says when the last fell, then the watch and no hole."""
    last_s = D(30) * (drops - 1) if last is None else D(last)
    frame = [
        row("contact", "0.0"),
        row("withdrawn", last_s),
        row("watch_ends", last_s + D(watched)),
        row("drops_fallen", value=D(drops)),
    ]
    if hole is not None:
        frame.append(row("hole", value=hole))
    return (*frame, *rows)


def tripped(drop: int, *rows: Observation) -> tuple[Observation, ...]:
    """A run that ends by a trip when so many drops had fallen."""
    at_s = D(30) * (drop - 1) + 8
    return (
        row("contact", "0.0"),
        row("trip", at_s, D(drop)),
        row("withdrawn", at_s + 1),
        row("watch_ends", at_s + 2),
        row("drops_fallen", value=D(drop)),
        row("hole", value=False),
        *rows,
    )


def trial(*rows: Observation, edition: MethodEdition = EDITION_2020, **changed: Any) -> TrialRecord:
    """A record of `rows` with a right set-up at 400 V; `setup` is laid over the usual one, voltage as the level."""
    severity = changed.pop("severity", D(400))
    members: dict[str, Any] = {
        "method_key": edition.key,
        "severity": severity,
        "observations": rows,
        "conditioning": Conditioning(D(90_000), D(20)),
        "instruments": INSTRUMENTS,
    }
    setup = {**SETUP, "voltage_v": severity, **changed.pop("setup", {})}
    return TrialRecord(**{**members, "setup": setup, **changed})


def run_verdict(edition: MethodEdition, voltage_v: int, drops: int, what: int | str | None) -> Verdict:
    """The verdict on a run: `what` is the drop of a trip, "arc", "hole", "flame", or None for a survivor."""
    return edition.remembered(_judged_run)(voltage_v, drops, what)


def _judged_run(edition: MethodEdition, voltage_v: int, drops: int, what: int | str | None) -> Verdict:
    rows = course(drops=drops)
    if isinstance(what, int):
        rows = tripped(what)
    elif what == "arc":
        rows = course(row("air_arc", "100.0"), drops=drops)
    elif what == "hole":
        rows = course(drops=drops, hole=True)
    elif what == "flame":
        rows = course(row("ignites", "100.0"), row("flame_out", "105.0"), drops=drops)
    return edition.judge(trial(*rows, edition=edition, severity=D(voltage_v), setup={"drops_asked": str(drops)}))


def line(edition: MethodEdition, *runs: tuple[int, int, int | str | None]) -> list[LineTrial]:
    """Trials on specimens 01, 02, ... from (voltage, drops, what) in their order."""
    return [
        LineTrial(f"{n:02}", run_verdict(edition, voltage, drops, what), n, D(voltage))
        for n, (voltage, drops, what) in enumerate(runs, start=1)
    ]


def five(voltage: int, drops: int) -> list[tuple[int, int, int | str | None]]:
    """Five survivors."""
    return [(voltage, drops, None)] * 5


def search(
    edition: MethodEdition, runs: Sequence[tuple[int, int, int | str | None]], start: int | None = None
) -> LineResult:
    """The state of a search for the index."""
    return edition.judge_line(Asked(None, 5, None if start is None else D(start)), line(edition, *runs))


def next_of(result: LineResult) -> tuple[int, int, str] | None:
    """What comes next: voltage, specimens, drops."""
    step = result.next
    return None if step is None else (int(step.severity or 0), step.specimens, dict(step.setup)["drops_asked"])


def deciding(verdict: Verdict) -> list[str]:
    """The keys of the criteria that decide."""
    return [c.key for c in (*verdict.setup_criteria, *verdict.criteria) if c.decides]


def judged(*rows: Any, edition: MethodEdition = EDITION_2020, **members: Any) -> tuple[str, list[str]]:
    """The outcome of a trial with these rows, and what decides it."""
    verdict = edition.judge(trial(*rows, edition=edition, **members))
    return verdict.outcome, deciding(verdict)
