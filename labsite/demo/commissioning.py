"""The demo's rigs on their way into service: all released but one, which came back from repair this week."""

from collections.abc import Iterable
from datetime import datetime, timedelta
from decimal import Decimal

from calibration.actions.commissioning import (
    LineFinding,
    Occasion,
    open_commissioning,
    record_findings,
    release_rig,
)
from calibration.actions.rigs import register_rig
from calibration.models import Commissioning, CommissioningLine, Rig
from labsite.demo.days import working_hour
from labsite.ledger.models import Place, User

RETURNED = "GW-3"
_SHARE = Decimal("0.6")
_NOTES = {"lock": "", "paper": "kept in the folder of the rig", "part": "", "requirement": ""}


def commission_rigs(people: dict[str, User], rigs: Iterable[Rig], *, at: datetime) -> None:
    """The founding lists: every line found in order, every rig released."""
    for rig in rigs:
        commissioning = Commissioning.objects.get(rig=rig, released_at=None)
        _work_off(commissioning, people["oren"], list(commissioning.lines.all()), at=at)
        release_rig(by=people["petra"], at=at + timedelta(minutes=20), commissioning=commissioning)


def tell_returned_rig(people: dict[str, User], *, founded_at: datetime, now: datetime) -> Rig:
    """A third glow-wire rig: in service from the start, back from repair this week, its list half worked off."""
    place = Place.objects.get(code="B-2")
    rig = register_rig(
        by=people["hugo"],
        at=founded_at,
        code=RETURNED,
        name="Glow-wire apparatus 3",
        kind="glow wire",
        place=place,
    )
    commission_rigs(people, [rig], at=founded_at + timedelta(minutes=30))
    reason = "Back from the workshop: worn carriage bearing exchanged, depth stop set anew."
    back_at = working_hour(now, 1, 10, 30)
    returned = open_commissioning(by=people["mina"], at=back_at, rig=rig, occasion=Occasion.REPAIRED, reason=reason)
    lines = list(returned.lines.order_by("position"))
    looked_at = [line for line in lines if line.kind != CommissioningLine.Kind.REQUIREMENT]
    done_at = back_at + timedelta(minutes=45)
    _work_off(returned, people["mina"], looked_at[:-1], at=done_at)
    stop = next(line for line in lines if line.title == "Depth stop")
    found = LineFinding(stop.pk, value=Decimal("7.6"), note="not where the report says; to be set once more")
    record_findings(by=people["mina"], at=done_at + timedelta(minutes=10), commissioning=returned, findings=[found])
    return rig


def _work_off(commissioning: Commissioning, by: User, lines: list[CommissioningLine], *, at: datetime) -> None:
    findings = [_in_order(line) for line in lines]
    record_findings(by=by, at=at, commissioning=commissioning, findings=findings)


def _in_order(line: CommissioningLine) -> LineFinding:
    note = _NOTES[line.kind]
    low, high = line.low, line.high
    if low is not None and high is not None:
        return LineFinding(line.pk, value=(low + high) / 2, note=note)
    if low is not None:
        return LineFinding(line.pk, value=low, note=note)
    if high is not None:
        return LineFinding(line.pk, value=high * _SHARE, note=note)
    return LineFinding(line.pk, answer=True, note=note)
