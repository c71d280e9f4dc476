"""Wall times of a zone with clock changes as instants: the repeated autumn hour, the missing spring hour."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

import numpy as np

from specimens.domain.climate_answers import ClimateRefused, Option, Question
from specimens.domain.climate_arrays import BoolArray, IntArray, TimeArray
from specimens.domain.climate_stamps import offset_text

_MINUTE = np.timedelta64(60_000_000, "us")


@dataclass(frozen=True, slots=True)
class ClockDecision:
    """How wall times became instants: kind "offset" or "zone", its value, and why."""

    kind: str
    value: str
    why: str


@dataclass(frozen=True, slots=True)
class Instants:
    """Instants in file order; `question` is set when a person has to confirm or tell the clock (times provisional)."""

    times_utc: TimeArray
    decision: ClockDecision
    question: Question | None = None
    reason: str = ""


def zone_of(name: str) -> ZoneInfo:
    """The zone of that IANA name. Raises ClimateRefused when there is none."""
    try:
        return ZoneInfo(name)
    except (ZoneInfoNotFoundError, ValueError, IsADirectoryError) as fault:
        raise ClimateRefused(f"“{name}” is not the name of a time zone, such as Europe/Berlin.") from fault


def _clock_question(zone: str, offsets: Sequence[int], text: str) -> Question:
    options = [Option(offset_text(minutes), f"always UTC{offset_text(minutes)}") for minutes in sorted(set(offsets))]
    return Question("utc_offset", text, (*options, Option(zone, f"{zone} with its clock changes")))


def in_zone(wall: TimeArray, zone: str, lines: IntArray, *, confirmed: bool) -> Instants:
    """Instants of wall times in a zone with clock changes, using the order of the file for the repeated hour.

    In autumn the first pass through the repeated hour is summer time, the second standard time. Times that do not
    exist, or a clock that runs through a change without taking part in it, mean that the recorder does not follow the
    zone: that is asked, never shifted.
    """
    import pandas as pd

    where = zone_of(zone)
    index = pd.DatetimeIndex(wall)
    every = np.ones(wall.shape, dtype=np.bool_)
    naive = {"tz": None}
    summer = (
        index.tz_localize(where, ambiguous=every, nonexistent="NaT").tz_convert("UTC").tz_convert(**naive).to_numpy()
    )
    winter = (
        index.tz_localize(where, ambiguous=~every, nonexistent="NaT").tz_convert("UTC").tz_convert(**naive).to_numpy()
    )
    times = summer.astype("datetime64[us]")
    decision = ClockDecision(
        "zone", zone, "confirmed by a person" if confirmed else "the laboratory's zone; the file states none"
    )
    missing = np.flatnonzero(np.isnat(times))
    if missing.size:
        return _nonexistent(wall, missing, lines, zone, decision)
    twice = np.flatnonzero(summer != winter)
    second = winter.astype("datetime64[us]")
    trouble = _settle_repeated_hour(wall, times, second, twice, confirmed=confirmed)
    if trouble is None and not confirmed:
        trouble = _runs_through_a_change(wall, times)
    if trouble is None:
        return Instants(times, decision)
    at: datetime = wall[trouble].item()
    offsets = [int((wall[trouble] - each[trouble]) // _MINUTE) for each in (times, second)]
    step = [
        int((wall[i] - times[i]) // _MINUTE) for i in (max(trouble - 1, 0), trouble, min(trouble + 1, wall.size - 1))
    ]
    text = (
        f"The clock of {zone} changed about {at:%d %B %Y %H:%M} (line {int(lines[trouble])}), and the recorder's times "
        "do not show clearly whether its clock changed too. How did it run?"
    )
    return Instants(
        times,
        decision,
        _clock_question(zone, offsets + step, text),
        "it is not clear whether the recorder's clock follows the clock change",
    )


def _nonexistent(wall: TimeArray, missing: IntArray, lines: IntArray, zone: str, decision: ClockDecision) -> Instants:
    first, last = int(missing[0]), int(missing[-1])
    start: datetime = wall[first].item()
    end: datetime = wall[last].item()
    before = start.replace(tzinfo=zone_of(zone), fold=0).utcoffset()
    after = start.replace(tzinfo=zone_of(zone), fold=1).utcoffset()
    offsets = [int(each.total_seconds() // 60) for each in (before, after) if each is not None]
    reason = (
        f"{start:%H:%M} to {end:%H:%M} on {start:%d %B %Y} (lines {int(lines[first])} to {int(lines[last])}) "
        f"does not exist in {zone}: the recorder's clock is not on summer time"
    )
    text = f"{reason}. Which offset from UTC did it have?"
    provisional = wall - offsets[0] * _MINUTE
    options = tuple(
        Option(offset_text(minutes), f"always UTC{offset_text(minutes)}") for minutes in sorted(set(offsets))
    )
    return Instants(provisional, decision, Question("utc_offset", text, options), reason)


def _settle_repeated_hour(
    wall: TimeArray, times: TimeArray, second: TimeArray, twice: IntArray, *, confirmed: bool
) -> int | None:
    """Write the second pass into `times`; the position of a reading that cannot be placed, or None."""
    if twice.size == 0:
        return None
    steps = np.diff(wall)
    rising = steps[steps > np.timedelta64(0, "us")]
    usual = np.median(rising.astype(np.int64)) if rising.size else 0
    days = wall[twice].astype("datetime64[D]")
    for day in np.unique(days):
        places = twice[days == day]
        back = np.flatnonzero(np.diff(wall[places]) <= np.timedelta64(0, "us"))
        if back.size > 1:
            return int(places[back[1] + 1])
        if back.size == 1:
            times[places[back[0] + 1 :]] = second[places[back[0] + 1 :]]
            continue
        fits = []
        for switched in (False, True):
            trial = (second if switched else times)[places]
            before = trial[0] - times[places[0] - 1] if places[0] > 0 else None
            after = times[places[-1] + 1] - trial[-1] if places[-1] + 1 < wall.size else None
            known = [int(step.astype(np.int64)) for step in (before, after) if step is not None]
            if known and all(usual < 2 * step < 3 * usual for step in known):
                fits.append(switched)
        if len(fits) == 1:
            if fits[0]:
                times[places] = second[places]
        elif not confirmed:
            return int(places[0])
    return None


def _runs_through_a_change(wall: TimeArray, times: TimeArray) -> int | None:
    """Position after a change of offset over which the wall clock kept its usual step, as a fixed clock would."""
    steps = np.diff(wall)
    offsets = wall - times
    changes: BoolArray = np.diff(offsets) != np.timedelta64(0, "us")
    if not changes.any():
        return None
    usual = np.median(steps.astype(np.int64))
    kept = np.flatnonzero(changes & (np.abs(steps.astype(np.int64) - usual) <= 1_000_000))
    return int(kept[0]) + 1 if kept.size else None
