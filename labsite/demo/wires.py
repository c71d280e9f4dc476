"""The wires of the demo's glow-wire rigs: one not measured yet, one near its limit."""

from datetime import datetime, timedelta
from decimal import Decimal

from calibration.actions.wires import clean_wire, fit_wire, measure_tip
from calibration.models import Rig
from calibration.queries.wires import wire_on
from labsite.demo.days import working_hour
from labsite.ledger.models import User

_FIRST_MM = Decimal("4.02")
_AMPERE_AT_650, _AMPERE_A_KELVIN = Decimal("96.0"), Decimal("0.15")
_OFTEN = 5
"""The supply of the demo wanders by so many steps of 0.3 A."""


def fit_wires(people: dict[str, User], rigs: dict[str, Rig], *, at: datetime) -> None:
    """The wires that were on the rigs when the laboratory began to keep them here."""
    for code, wire in (("GW-1", "W-11"), ("GW-2", "W-12")):
        fit_wire(
            by=people["mina"], at=at, rig=rigs[code], code=wire, lot="7, invented", seen_wire=None,
            first_tip_mm=_FIRST_MM,
        )  # fmt: skip


def care_for_wires(people: dict[str, User], rigs: dict[str, Rig], *, now: datetime) -> None:
    """Cleaned and measured as the weeks went by: by now the tip of GW-1 is close to its limit."""
    for days_ago, code, tip_mm in ((13, "GW-1", "4.01"), (5, "GW-1", "3.98"), (1, "GW-1", "3.94")):
        at = working_hour(now, days_ago, 15, 40)
        wire = wire_on(rigs[code].pk, at)
        if wire is not None:
            clean_wire(by=people["oren"], at=at, wire=wire, note="brushed while hot, clear of the thermocouple")
            measure_tip(by=people["oren"], at=at + timedelta(minutes=25), wire=wire, tip_mm=Decimal(tip_mm))


def heating_current_a(severity_c: Decimal, trial_number: int) -> str:
    """What the clamp meter reads in the demo at a level, in A with one decimal."""
    wander = Decimal(trial_number % _OFTEN) * Decimal("0.3")
    current = _AMPERE_AT_650 + (severity_c - 650) * _AMPERE_A_KELVIN + wander
    return format(current.quantize(Decimal("0.1")), "f")
