"""A bar of the vertical test whose set-up is right, to be changed by each test in what it is about."""

from collections.abc import Iterable
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
EDITION_2013 = method_edition("vertical-flame@2013")
V0, V1, V2 = D(0), D(1), D(2)

SETUP: dict[str, Value] = {
    "flame_height_mm": D("20.0"),
    "confirmed_current": True,
    "thickness_mm": D("1.52"),
    "nominal_mm": D("1.5"),
    "new_cotton": True,
    "tip_gap_mm": D(10),
    "hood_off": True,
    "bar_length_mm": D(125),
    "bar_width_mm": D("13.0"),
    "solid_material": True,
    "clamped": True,
    "cotton_distance_mm": D(300),
    "cotton_g": D("0.07"),
    "cotton_mm": D("5.0"),
    "cotton_dry_h": D(48),
    "cotton_out_min": D(10),
    "chamber_m3": D("0.60"),
    "gas_percent": D("99.5"),
    "gas_ml_min": D(105),
    "back_pressure_mm": D("8.0"),
    "burner_bore_mm": D("9.5"),
    "confirm_1_s": D("43.6"),
    "confirm_2_s": D("44.2"),
    "confirm_3_s": D("44.1"),
    "block_mm": D("5.50"),
    "block_g": D("1.760"),
}

INSTRUMENTS = (InstrumentUse("timer", "TM-01", True), InstrumentUse("length gauge", "LG-01", True))
STAYS = {
    "room": Conditioning(D(180_000), D(20), "room"),
    "oven": Conditioning(D(18_000), D(10), "oven", D(604_800)),
}
"""50 h in the room, 20 min out; 168 h in the oven and 5 h in the desiccator, 10 min out."""


def edition(**changes: Change) -> MethodEdition:
    """The 2013 edition with figures of a laboratory or an order in place of its own."""
    return changed_edition(EDITION_2013, changes)


def course(t1: str = "0", t2: str = "0", t3: str = "0", *rows: Observation) -> tuple[Observation, ...]:
    """A whole course with exact applications of 10 s: afterflame t1 and t2 and afterglow t3 as given, in s."""
    first, second, glow = D(t1), D(t2), D(t3)
    on, off = 10 + first, 20 + first
    found = [row("contact", "0"), row("withdrawn", "10"), row("second_on", on), row("second_off", off)]
    if first:
        found += [row("ignites", "3"), row("flame_out", on)]
    if second:
        found += [row("ignites", on + 2, row="second flame"), row("flame_out", off + second, row="second flame out")]
    if glow:
        found += [row("glow_starts", on + 3), row("glow_ends", off + second + glow)]
    return (*found, row("watch_ends", off + second + glow + 5), *rows)


def trial(
    *rows: Observation,
    judged_by: MethodEdition = EDITION_2013,
    severity: Decimal | None = None,
    plan: str = "room",
    **changed: Any,
) -> TrialRecord:
    """A record of `rows` with a right set-up, for the best class unless one is given; `setup` is laid over."""
    members: dict[str, Any] = {
        "method_key": judged_by.key,
        "severity": severity,
        "observations": rows,
        "conditioning": STAYS[plan],
        "instruments": INSTRUMENTS,
    }
    setup = {**SETUP, **changed.pop("setup", {})}
    return TrialRecord(**{**members, "setup": setup, **changed})


type Times = tuple[str, str] | tuple[str, str, str]
"""t1, t2 and perhaps t3 of a bar."""

FIVES: tuple[Times, ...] = (("5", "5"),) * 5
ZEROS: tuple[Times, ...] = (("0", "0"),) * 5


def bars(
    times: Iterable[Times | tuple[Observation, ...]],
    plan: str = "room",
    *,
    judged_by: MethodEdition = EDITION_2013,
    severity: Decimal | None = None,
    first: int = 1,
) -> list[LineTrial]:
    """Judged bars of one conditioning: each by its times, or by its rows."""
    found = []
    for number, one in enumerate(times, start=first):
        rows = one if all(isinstance(part, Observation) for part in one) else course(*one)
        record = trial(*rows, judged_by=judged_by, severity=severity, plan=plan)
        found.append(LineTrial(f"{plan}-{number:02}", judged_by.judge(record), number, severity, plan))
    return found


def result(
    room: Iterable[Times | tuple[Observation, ...]] = FIVES,
    oven: Iterable[Times | tuple[Observation, ...]] = ZEROS,
    *,
    judged_by: MethodEdition = EDITION_2013,
    severity: Decimal | None = None,
) -> LineResult:
    """The result of a line whose bars burned as given, by conditioning."""
    trials = bars(room, judged_by=judged_by, severity=severity) + bars(
        oven, "oven", judged_by=judged_by, severity=severity, first=101
    )
    return judged_by.judge_line(Asked(severity, 10), trials)


def judged(*times: str, judged_by: MethodEdition = EDITION_2013, severity: Decimal | None = None) -> Verdict:
    """The verdict on a bar with these t1, t2, t3."""
    t1, t2, t3 = (*times, "0", "0", "0")[:3]
    return judged_by.judge(trial(*course(t1, t2, t3), judged_by=judged_by, severity=severity))


def best(*times: str) -> str:
    """The best class that a bar with these t1, t2, t3 meets."""
    return judged(*times).quantity("class").text
