"""Figures of a burning trial for tables and certificates; what did not happen is a word, never a zero."""

from collections.abc import Mapping
from decimal import Decimal
from types import MappingProxyType

from trials.domain.criteria import NOT_RECORDED, digits
from trials.domain.methods.base import MethodEdition
from trials.domain.records import TrialRecord
from trials.domain.stability import reading_at
from trials.domain.statements import QuantityKind
from trials.domain.timeline import Timeline
from trials.domain.verdicts import Quantity

QUANTITIES: tuple[QuantityKind, ...] = (
    QuantityKind("temperature", "Tip at contact", "T", "°C"),
    QuantityKind("application", "In contact", "t_a", "s"),
    QuantityKind("ignites", "Specimen ignites", "t_i", "s", table=True),
    QuantityKind("layer_ignites", "Layer ignites", "t_i layer", "s", table=True),
    QuantityKind("flames_end", "Flames end", "t_e", "s", table=True),
    QuantityKind("glow_ends", "Glow ends", "t_g", "s", table=True),
    QuantityKind("latest", "Latest allowed", "", "s", table=True),
    QuantityKind("longest_flame", "Longest flame", "", "s"),
    QuantityKind("height", "Flame height", "h", "mm"),
    QuantityKind("drips", "Drips", "", ""),
)


def burning_quantities(
    edition: MethodEdition,
    record: TrialRecord,
    seen: Timeline,
    latest_s: Decimal | None,
    own: Mapping[str, tuple[Decimal | None, str]] = MappingProxyType({}),
) -> tuple[Quantity, ...]:
    """Return the edition's figures in its order; `own` are the method's, by key, as (value, word where there is none).

    Without a flame the times of the flame are "no ignition" once the watch has ended, "not recorded" before.
    """
    reading = reading_at(record.temperature_readings, seen.contact_s, oldest_s=edition.number("reading_gap_s"))
    watched = seen.watch_ends_s is not None
    no_flame = "no ignition" if watched and not seen.flames else NOT_RECORDED
    no_glow = "no glow" if watched and not seen.glows else NOT_RECORDED
    known: dict[str, tuple[Decimal | None, str]] = {
        "temperature": (None if reading is None else reading.temperature_c, NOT_RECORDED),
        "application": (seen.application_s, NOT_RECORDED),
        "ignites": (seen.specimen_ignites_s, no_flame),
        "layer_ignites": (seen.layer_ignites_s, "not caught" if watched else NOT_RECORDED),
        "flames_end": (seen.flames_end_s, no_flame),
        "glow_ends": (seen.glow_ends_s, no_glow),
        "latest": (latest_s, NOT_RECORDED),
        "longest_flame": (seen.longest_flame_s, no_flame),
        "height": (flame_height_mm(edition, seen), no_flame),
        "drips": (Decimal(len(seen.drips_s)) if seen.drips_s else None, "none" if watched else NOT_RECORDED),
        **own,
    }
    return tuple(_quantity(kind, *known[kind.key]) for kind in edition.quantities)


def flame_height_mm(edition: MethodEdition, seen: Timeline) -> Decimal | None:
    """Return h in mm: the highest flame after the first flash, rounded up to the edition's step; None if unknown."""
    ignites_s, flash_s = seen.specimen_ignites_s, edition.number("height_flash_s")
    flash_ends_s = None if ignites_s is None else ignites_s + flash_s
    heights = [h for t, h in seen.heights if t is None or flash_ends_s is None or t >= flash_ends_s]
    if not heights:
        return None
    step = edition.number("height_step_mm")
    whole_steps, rest = divmod(max(heights), step)
    return (whole_steps + 1 if rest else whole_steps) * step


def _quantity(kind: QuantityKind, value: Decimal | None, otherwise: str) -> Quantity:
    text = otherwise if value is None else digits(value)
    return Quantity(kind.key, kind.title, kind.symbol, kind.unit, value, text)
