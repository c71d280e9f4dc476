"""The drawing of a climate record: temperature and humidity against their bands, and what did not count."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np

from specimens.domain.atmospheres import Atmosphere, Band
from specimens.domain.climate_arrays import FloatArray, IntArray, instant_us, moment
from specimens.domain.climate_series import Series, sampling_interval
from specimens.domain.conditioning import InBand, Stretch, hours_in_band, longest_gap
from specimens.domain.conditioning_words import (
    atmosphere_text,
    duration_text,
    furthest_text,
    moment_text,
    reading_text,
    stretch_text,
)
from specimens.rendering.climate_axis import LabelRows, WallAxis, axis_marks, day_lines
from specimens.rendering.climate_ink import LABEL_PERCENT, Ink, PrintInk, Run, ScreenInk
from specimens.rendering.climate_trace import thinned_runs

_ROWS_PX, _STRIP_PX, _BETWEEN_PX, _AXIS_PX = 34.0, 86.0, 14.0, 26.0
_LEVELS = (28.0, 12.0)
"""Label rows above a strip, from its top."""
_MOST_LABELS = 12
_NARROWEST = 0.25
"""Percent of the width a stretch takes at least, so that a short one is seen."""


@dataclass(frozen=True, slots=True)
class _Strip:
    """One measured quantity with its place in the drawing."""

    title: str
    unit: str
    values: FloatArray
    band: Band | None
    kind: str
    top: float
    low: float
    high: float

    @property
    def plot_top(self) -> float:
        """Where the measured area begins."""
        return self.top + _ROWS_PX

    def y(self, value: float) -> float:
        """Px from the top of the drawing."""
        return self.plot_top + (self.high - value) / (self.high - self.low) * _STRIP_PX


def _strip(title: str, unit: str, values: FloatArray, band: Band | None, kind: str, top: float) -> _Strip:
    """A strip whose scale is the band with a margin, wider where readings went out, by a band's width at most."""
    seen = values[np.isfinite(values)]
    lowest, highest = (float(seen.min()), float(seen.max())) if seen.size else (0.0, 1.0)
    low, high = (float(band.low), float(band.high)) if band else (lowest, highest)
    width = max(high - low, 0.5)
    if seen.size:
        low, high = max(min(low, lowest), low - width), min(max(high, highest), high + width)
    margin = max(high - low, 0.5) * 0.08
    return _Strip(title, unit, values, band, kind, top, low - margin, high + margin)


def climate_drawing(
    series: Series,
    atmosphere: Atmosphere,
    from_at: datetime,
    until_at: datetime,
    zone: ZoneInfo,
    *,
    for_print: bool = False,
    counting: Series | None = None,
    now: datetime | None = None,
) -> str:
    """The record of a window as SVG text, for a page or (`for_print`) in points for a document.

    `counting` is the series without the readings that do not count for their recorder's sake. With `now`, the last
    reading is called present when it is no older than the longest gap.
    """
    judged_by = series if counting is None else counting
    longest = longest_gap(sampling_interval(series.times_utc) or timedelta())
    judged = hours_in_band(
        judged_by.times_utc,
        judged_by.temperature_c,
        judged_by.humidity_percent,
        atmosphere=atmosphere,
        from_at=from_at,
        until_at=until_at,
        longest_gap=longest,
    )
    ink: Ink = PrintInk() if for_print else ScreenInk()
    axis = WallAxis(from_at, until_at, zone)
    shown = _window(series, from_at, until_at)
    strips = _strips(shown, atmosphere)
    bottom = strips[-1].plot_top + _STRIP_PX
    body = [_strip_ground(ink, strip) for strip in strips]
    lost = [each for each in judged.not_counted if each.kind != "no record" or each.until_at - each.from_at > longest]
    body.append(_slots(ink, axis, lost, atmosphere, strips[0].plot_top, bottom))
    body.append(day_lines(ink, axis, top=strips[0].plot_top, height=bottom - strips[0].plot_top))
    stamps = shown.times_utc.astype("datetime64[us]").astype(np.int64)
    body += [_strip_trace(ink, axis, strip, stamps, longest) for strip in strips]
    body += _labels(ink, axis, strips, stamps, lost, longest, now)
    body.append(axis_marks(ink, axis, top=bottom + 2))
    label = drawing_label(judged, atmosphere, from_at, until_at, zone)
    return ink.whole("".join(body), height=bottom + _AXIS_PX, label=label)


def drawing_label(judged: InBand, atmosphere: Atmosphere, from_at: datetime, until_at: datetime, zone: ZoneInfo) -> str:
    """The drawing's result in words."""
    lost = f"{duration_text(judged.not_counted_s)} did not count" if judged.not_counted else "all of it counts"
    window = f"from {moment_text(from_at, zone)} to {moment_text(until_at, zone)}"
    return (
        f"Climate record {window} against {atmosphere_text(atmosphere)}: "
        f"{duration_text(judged.counted_s)} in band, {lost}"
    )


def _window(series: Series, from_at: datetime, until_at: datetime) -> Series:
    stamps = series.times_utc.astype("datetime64[us]").astype(np.int64)
    low = int(np.searchsorted(stamps, instant_us(from_at), side="left"))
    high = int(np.searchsorted(stamps, instant_us(until_at), side="right"))
    return Series(series.times_utc[low:high], series.temperature_c[low:high], series.humidity_percent[low:high])


def _strips(shown: Series, atmosphere: Atmosphere) -> list[_Strip]:
    strips = [_strip("Temperature", "°C", shown.temperature_c, atmosphere.temperature_c, "temperature", 0.0)]
    if atmosphere.humidity_percent is not None or bool(np.isfinite(shown.humidity_percent).any()):
        top = _ROWS_PX + _STRIP_PX + _BETWEEN_PX
        band = atmosphere.humidity_percent
        strips.append(_strip("Relative humidity", "% RH", shown.humidity_percent, band, "humidity", top))
    return strips


def _strip_ground(ink: Ink, strip: _Strip) -> str:
    if strip.band is None:
        return ""
    high, low = strip.y(float(strip.band.high)), strip.y(float(strip.band.low))
    return (
        ink.rect("field", 0, high, 100, low - high)
        + ink.line("fieldline", 0, high, 100, high)
        + ink.line("fieldline", 0, low, 100, low)
    )


def _slots(
    ink: Ink, axis: WallAxis, stretches: Sequence[Stretch], atmosphere: Atmosphere, top: float, bottom: float
) -> str:
    """Hatching through all strips; what has no reading is emptied first."""
    parts = []
    for stretch in stretches:
        x1, x2 = axis.x(stretch.from_at), axis.x(stretch.until_at)
        x2 = min(100.0, max(x2, x1 + _NARROWEST))
        title = f"{stretch_text(stretch.kind, atmosphere)}, {duration_text(stretch.duration_s)}"
        if stretch.kind in ("gap", "no record"):
            parts.append(ink.rect("paper", x1, top, x2, bottom - top))
        parts.append(ink.rect("hatched", x1, top, x2, bottom - top, title))
    return "".join(parts)


def _strip_trace(ink: Ink, axis: WallAxis, strip: _Strip, stamps: IntArray, longest: timedelta) -> str:
    runs: list[Run] = [
        [(axis.x(moment(stamp)), strip.y(value)) for stamp, value in run]
        for run in thinned_runs(stamps, strip.values, longest)
    ]
    return ink.traces(runs, top=strip.plot_top, height=_STRIP_PX) if runs else ""


def _labels(
    ink: Ink,
    axis: WallAxis,
    strips: Sequence[_Strip],
    stamps: IntArray,
    lost: Sequence[Stretch],
    longest: timedelta,
    now: datetime | None,
) -> list[str]:
    parts, rows = [], {strip.kind: LabelRows() for strip in strips}
    for strip in strips:
        title_y = strip.top + _LEVELS[0]
        rows[strip.kind].take(title_y, 0, len(strip.title) * LABEL_PERCENT * 1.1 + 1)
        parts.append(ink.text(strip.title, 0, title_y, "strong"))
        parts += _limits(ink, strip)
        parts += _last_reading(ink, axis, strip, stamps, rows[strip.kind], longest, now)
    longest_first = sorted(lost, key=lambda stretch: -stretch.duration_s)
    for stretch in longest_first[:_MOST_LABELS]:
        strip = next((each for each in strips if stretch.kind.startswith(each.kind)), strips[0])
        words, css = _stretch_label(stretch, axis.zone)
        levels = tuple(strip.top + level for level in _LEVELS)
        found = rows[strip.kind].place(words, axis.x(stretch.from_at), axis.x(stretch.until_at), levels)
        if found is not None:
            x, y, anchor = found
            parts.append(ink.text(words, x, y, f"{css} {anchor}".strip()))
    return parts


def _stretch_label(stretch: Stretch, zone: ZoneInfo) -> tuple[str, str]:
    if stretch.furthest_at is None:
        what = "no value" if stretch.kind == "fault" else "no record"
        return f"{what} {duration_text(stretch.duration_s)}", ""
    local = stretch.furthest_at.astimezone(zone)
    return f"{furthest_text(stretch)} at {local:%a %H:%M}", "strong"


def _limits(ink: Ink, strip: _Strip) -> list[str]:
    if strip.band is None:
        return []
    high, low = strip.band.high, strip.band.low
    return [
        ink.text(f"{high:f}", 0, strip.y(float(high)) + 13, "tiny", dx=4),
        ink.text(f"{low:f} {strip.unit}", 0, strip.y(float(low)) - 5, "tiny", dx=4),
    ]


def _last_reading(
    ink: Ink,
    axis: WallAxis,
    strip: _Strip,
    stamps: IntArray,
    rows: LabelRows,
    longest: timedelta,
    now: datetime | None,
) -> list[str]:
    known = np.flatnonzero(np.isfinite(strip.values))
    if not known.size:
        return []
    last, at = float(strip.values[known[-1]]), moment(int(stamps[known[-1]]))
    present = now is not None and at >= now - longest
    words = f"{'now' if present else 'last'} {reading_text(last)} {strip.unit}"
    x, y = axis.x(at), strip.top + _LEVELS[0]
    width = len(words) * LABEL_PERCENT * 1.1 + 1
    right = max(x, width)
    rows.take(y, right - width, right)
    low, high = strip.plot_top, strip.plot_top + _STRIP_PX
    dot = ink.circle("dot", x, min(high, max(low, strip.y(last))), 3.5)
    return [dot, ink.text(words, right, y, "strong end")]
