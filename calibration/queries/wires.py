"""The glow-wires of a rig: the one fitted at a moment, those before it, and what was done to each."""

from datetime import datetime

from django.db.models import Q, QuerySet

from calibration.models import GlowWire, Rig, RigKind, WireCare
from labsite.ledger.models import Role, User

WIRE_HANDLERS = frozenset({Role.TECHNICIAN, Role.LEAD, Role.QUALITY})
"""Who fits, cleans and measures wires."""


def glow_wire_rigs() -> QuerySet[Rig]:
    """The rigs that carry a wire."""
    return Rig.objects.filter(kind=RigKind.GLOW_WIRE).select_related("place")


def wire_on(rig_id: int, at: datetime) -> GlowWire | None:
    """The wire fitted to a rig at a moment, or None."""
    rows = GlowWire.objects.filter(rig=rig_id, fitted_at__lte=at).filter(Q(removed_at=None) | Q(removed_at__gt=at))
    wire = rows.select_related("rig", "fitted_by").order_by("-fitted_at", "-pk").first()
    return None if wire is None else _as_of(wire, at)


def wires_of(rig: Rig, at: datetime) -> list[GlowWire]:
    """The wires fitted to a rig up to a moment, latest first; a removal after it is not known yet."""
    rows = GlowWire.objects.filter(rig=rig, fitted_at__lte=at).select_related("rig", "fitted_by", "removed_by")
    return [_as_of(wire, at) for wire in rows.order_by("-fitted_at", "-pk")]


def care_of(wire: GlowWire, at: datetime) -> list[WireCare]:
    """What was done to a wire up to a moment, oldest first."""
    return list(wire.care.filter(at__lte=at).select_related("by").order_by("at", "pk"))


def may_handle_wires(person: object) -> bool:
    """Whether the person fits, cleans and measures wires."""
    return isinstance(person, User) and person.may(*WIRE_HANDLERS)


def _as_of(wire: GlowWire, at: datetime) -> GlowWire:
    if wire.removed_at is not None and wire.removed_at > at:
        wire.removed_at, wire.removed_by, wire.removed_reason = None, None, ""
    return wire
