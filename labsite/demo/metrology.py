"""What the demo's laboratory asks of its instruments: limits, and planned checks with their history."""

from datetime import datetime
from decimal import Decimal

from calibration.actions.check_judging import CheckValues
from calibration.actions.check_plans import plan_check
from calibration.actions.checks import record_check
from calibration.actions.limits import set_limit
from calibration.models import CheckKind, Instrument, Rig
from calibration.queries.check_subjects import Subject
from labsite.demo.days import working_hour
from labsite.ledger.models import User

D = Decimal
CLASS_1 = "IEC 60584-1:2013, class 1, by public tables; compare with our own copy"
OWN = "our own, from what the methods ask (invented)"

LIMITS: dict[str, tuple[tuple[str, str, str, str, str], ...]] = {
    **dict.fromkeys(("TC-01", "TC-02", "TC-05"), (("°C", "1.5", "0.004", "1.0", CLASS_1),)),
    **dict.fromkeys(("FG-01", "FG-02"), (("N", "0.02", "0.015", "0.01", OWN),)),
    **dict.fromkeys(("HY-01", "HY-02", "HY-04"), (("°C", "0.5", "", "0.2", OWN), ("% RH", "3.0", "", "1.0", OWN))),
    **dict.fromkeys(("LG-01", "LG-02"), (("mm", "0.05", "", "0.01", OWN),)),
    "FG-04": (("N", "0.10", "0.005", "0.03", OWN),),
    "VM-01": (("V", "1.0", "0.005", "0.5", OWN),),
}
"""By code: unit, absolute, relative, drift allowance, source."""

MASSES = ((19, "0.97", "1.94"), (12, "0.98", "1.95"), (7, "0.98", "1.96"), (2, "0.99", "1.96"))
"""So many working days ago, FG-01 under 100 g and 200 g, in N."""
FOIL = ((18, "959.3"), (15, "959.6"), (11, "958.8"), (8, "959.9"), (4, "959.1"), (1, "960.4"))
"""So many working days ago, TC-01 in °C as the silver foil melted."""
FLAME = ((13, "45.6"), (3, "46.4"))
"""So many working days ago, seconds of SB-1 for the copper block."""


def tell_metrology(people: dict[str, User], rigs: dict[str, Rig], *, at: datetime, now: datetime) -> None:
    """Limits and plans at `at`, and checks over the last weeks."""
    hugo, oren = people["hugo"], people["oren"]
    instruments = {one.code: one for one in Instrument.objects.filter(code__in=LIMITS)}
    for code, limits in LIMITS.items():
        for unit, absolute, relative, drift, source in limits:
            set_limit(
                by=hugo, at=at, instrument=instruments[code], unit=unit, absolute=D(absolute),
                relative=D(relative) if relative else None, drift_allowance=D(drift), source=source,
            )  # fmt: skip
    gauge, tip, burner = Subject(instruments["FG-01"]), Subject(instruments["TC-01"]), Subject(rigs["SB-1"])
    plan_check(
        by=hugo, at=at, subject=gauge, kind=CheckKind.MASSES, every_days=14, unit="N", source=OWN,
        error_low=D("-0.03"), error_high=D("0.03"), procedure="Hang the 100 g and the 200 g mass, read each once.",
    )  # fmt: skip
    plan_check(
        by=hugo, at=at, subject=tip, kind=CheckKind.FOIL, every_days=7, unit="°C", reference=D(960), source=OWN,
        error_low=D(-10), error_high=D(10), procedure="Silver foil on the tip; read as it melts.",
    )  # fmt: skip
    plan_check(
        by=hugo, at=at, subject=burner, kind=CheckKind.FLAME, every_days=30, unit="s", reference=D("44"), source=OWN,
        error_low=D(-2), error_high=D(4), procedure="Copper block from 100 to 700 °C, three runs, cold each time.",
    )  # fmt: skip
    for days, light, heavy in MASSES:
        values = CheckValues(masses=((D(100), D(light)), (D(200), D(heavy))))
        _check(oren, gauge, CheckKind.MASSES, values, working_hour(now, days, 7, 40))
    for days, read in FOIL:
        values = CheckValues(indication=D(read), foil_reference="nominal")
        _check(oren, tip, CheckKind.FOIL, values, working_hour(now, days, 8, 5))
    for days, seconds in FLAME:
        values = CheckValues(runs=tuple(D(seconds) + shift for shift in (D("0.0"), D("0.4"), D("-0.3"))))
        _check(oren, burner, CheckKind.FLAME, values, working_hour(now, days, 8, 20))


def _check(by: User, subject: Subject, kind: CheckKind, values: CheckValues, at: datetime) -> None:
    record_check(by=by, at=at, subject=subject, kind=kind, values=values)
