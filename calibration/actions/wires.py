"""The glow-wire of a rig: fitted in place of the one before, cleaned, its tip measured."""

from datetime import datetime
from decimal import Decimal
from typing import Any

from django.db import transaction

from calibration.models import GlowWire, Rig, RigKind, WireCare
from calibration.queries.wires import WIRE_HANDLERS
from labsite.ledger.actions import record_entry
from labsite.ledger.fields import one_line
from labsite.ledger.models import User
from labsite.ledger.refusals import Refused

LONGEST_TIP_MM = Decimal(50)
"""No tip measure of a glow-wire is longer; a larger figure is a slip of the point."""


@transaction.atomic
def fit_wire(
    *,
    by: User,
    at: datetime,
    rig: Rig,
    code: str,
    seen_wire: int | None,
    first_tip_mm: Decimal | None = None,
    lot: str = "",
    reason: str = "",
) -> GlowWire:
    """Fit a wire to a rig; the one fitted before comes off, with the reason.

    `seen_wire` is the wire the person saw on the rig, None for none: another one since is said.
    """
    _refuse_hands(by)
    rig = Rig.objects.select_for_update(of=("self",)).get(pk=rig.pk)
    if rig.kind != RigKind.GLOW_WIRE:
        raise Refused(f"{rig.code} is no glow-wire rig; no wire is fitted to it.")
    code, reason = one_line(code), one_line(reason)
    if not code:
        raise Refused("Give the wire a code, as on its bag or tag.", field="code")
    if rig.wires.filter(code__iexact=code).exists():
        raise Refused(f"A wire “{code}” was on {rig.code} already; each wire has its own code.", field="code")
    _refuse_tip(first_tip_mm, "first_tip_mm")
    present = rig.wires.select_related("fitted_by").filter(removed_at=None).first()
    if present is not None and present.pk != seen_wire:
        raise Refused(f"{present.fitted_by} fitted wire {present.code} to {rig.code} meanwhile. Look, then fit yours.")
    if present is not None:
        if not reason:
            raise Refused(f"Say why wire {present.code} comes off: worn, cracked, bent.", field="reason")
        present.removed_at, present.removed_by, present.removed_reason = at, by, reason
        present.save(update_fields=["removed_at", "removed_by", "removed_reason"])
    tip: dict[str, Any] = {"first_tip_mm": first_tip_mm}  # the column keeps a Decimal's digits
    wire = GlowWire.objects.create(rig=rig, code=code, lot=one_line(lot), fitted_at=at, fitted_by=by, **tip)
    data = {
        "wire": wire.code,
        "lot": wire.lot,
        "first tip mm": _text(first_tip_mm),
        "instead of": "" if present is None else present.code,
        "reason": reason,
    }
    record_entry(book=rig.book, act="fitted a wire", by=by, at=at, data=data)
    return wire


@transaction.atomic
def clean_wire(*, by: User, at: datetime, wire: GlowWire, note: str = "") -> WireCare:
    """Record that the wire was cleaned."""
    wire = _fitted(wire, by)
    care = WireCare.objects.create(wire=wire, kind=WireCare.Kind.CLEANED, note=one_line(note), at=at, by=by)
    data = {"wire": wire.code, "note": care.note}
    record_entry(book=wire.rig.book, act="cleaned the wire", by=by, at=at, data=data)
    return care


@transaction.atomic
def measure_tip(*, by: User, at: datetime, wire: GlowWire, tip_mm: Decimal, note: str = "") -> WireCare:
    """Record the measure of the tip, in mm, as the first measure was taken."""
    wire = _fitted(wire, by)
    _refuse_tip(tip_mm, "tip_mm")
    if wire.first_tip_mm is None:
        raise Refused(
            f"The new tip of wire {wire.code} was not measured, so wear cannot be said from this figure. "
            "Measure the next wire before its first heating.",
            field="tip_mm",
        )
    tip: dict[str, Any] = {"tip_mm": tip_mm}  # the column keeps a Decimal's digits
    care = WireCare.objects.create(wire=wire, kind=WireCare.Kind.MEASURED, note=one_line(note), at=at, by=by, **tip)
    data = {"wire": wire.code, "tip mm": _text(tip_mm), "first tip mm": _text(wire.first_tip_mm), "note": care.note}
    record_entry(book=wire.rig.book, act="measured the tip", by=by, at=at, data=data)
    return care


def _fitted(wire: GlowWire, by: User) -> GlowWire:
    """The wire while it is on its rig; refused once it came off."""
    _refuse_hands(by)
    Rig.objects.select_for_update(of=("self",)).get(pk=wire.rig_id)
    wire = GlowWire.objects.select_related("rig", "removed_by").get(pk=wire.pk)
    if wire.removed_at is not None:
        raise Refused(f"Wire {wire.code} was taken off {wire.rig.code} by {wire.removed_by}: {wire.removed_reason}.")
    return wire


def _refuse_hands(by: User) -> None:
    if not by.may(*WIRE_HANDLERS):
        raise Refused("Technicians, leads and the quality keeper handle the wires.")


def _refuse_tip(tip_mm: Decimal | None, field: str) -> None:
    if tip_mm is not None and not 0 < tip_mm <= LONGEST_TIP_MM:
        raise Refused(f"{tip_mm:f} mm cannot be the measure of a tip; up to {LONGEST_TIP_MM} mm.", field=field)


def _text(number: Decimal | None) -> str | None:
    return None if number is None else format(number, "f")
