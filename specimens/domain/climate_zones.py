"""What a file states about the recorder's clock (offset, zone, short name), and its times as instants."""

import re
from collections.abc import Sequence
from datetime import datetime
from zoneinfo import ZoneInfo

import numpy as np

from specimens.domain.climate_answers import Answers, Option, Question
from specimens.domain.climate_arrays import IntArray, TimeArray
from specimens.domain.climate_clock_changes import ClockDecision, Instants, in_zone, zone_of
from specimens.domain.climate_stamps import offset_minutes, offset_text

_MINUTE = np.timedelta64(60_000_000, "us")
_HEADING_OFFSET = re.compile(
    r"\b(?:GMT|UTC)\s?[+-]\d{1,2}(?::?\d{2})?|(?<![\d:])[+-]\d{2}:\d{2}\b|\b(?:UTC|GMT)\b", re.IGNORECASE
)
_SHORT_NAME = re.compile(
    r"\d{1,2}:\d{2}(?::\d{2})?\s*(?:[AP]M\s+)?([A-Z]{3,5})\b|\b(?:time ?)?zone\W+([A-Z]{3,5})\b|\(([A-Z]{3,4}T)\)",
    re.IGNORECASE,
)

# Short names that stand for several offsets (common knowledge; the list only decides what is asked).
_AMBIGUOUS: dict[str, tuple[int, ...]] = {
    "CST": (-360, 480, 570),
    "IST": (330, 120, 60),
    "BST": (60, 360),
    "EST": (-300, 600),
    "AST": (-240, 180),
    "PST": (-480, 480),
    "MST": (-420, 480),
    "GST": (240, -120),
    "SST": (480, -660),
    "ECT": (-300, 60),
    "CDT": (-300, -240, 540),
    "EDT": (-240, 660),
    "WST": (480, 780),
}
_NOT_ZONES = {"AM", "PM", "UTC", "GMT"}


def stated_offset(heading: str, preamble: Sequence[str]) -> tuple[int, str] | None:
    """An offset that the time heading, or a preamble line about the zone, states: (minutes, as written)."""
    lines = [heading, *(line for line in preamble if re.search(r"zone|utc|gmt|offset", line, re.IGNORECASE))]
    for line in lines:
        found = _HEADING_OFFSET.search(line)
        if found:
            minutes = offset_minutes(found.group(0))
            if minutes is not None:
                return minutes, found.group(0)
    return None


def stated_short_name(heading: str, preamble: Sequence[str]) -> str | None:
    """A zone's short name beside a time in the preamble or the heading, such as CST; None when there is none."""
    for line in (heading, *preamble):
        for match in _SHORT_NAME.finditer(line):
            name = next(group for group in match.groups() if group).upper()
            if name not in _NOT_ZONES:
                return name
    return None


def stated_zone(preamble: Sequence[str]) -> str | None:
    """An IANA zone name in the preamble."""
    for line in preamble:
        found = re.search(
            r"\b(Africa|America|Asia|Atlantic|Australia|Europe|Indian|Pacific|Etc)/[A-Za-z_]+(/[A-Za-z_]+)?", line
        )
        if found:
            return found.group(0)
    return None


def instants(
    wall: TimeArray,
    *,
    heading: str,
    preamble: Sequence[str],
    short_names: frozenset[str],
    zone: str,
    answers: Answers,
    lines: IntArray,
) -> Instants:
    """Turn wall times in file order into UTC. `short_names` are zones' short names written in the rows.

    Precedence: what a person answered, what the file states (an offset is applied and must be confirmed, a short
    name is asked about), the laboratory's zone.
    """
    if answers.utc_offset:
        minutes = offset_minutes(answers.utc_offset)
        if minutes is not None:
            return _fixed(wall, minutes, "confirmed by a person")
        # the same question may be answered with a zone
        return in_zone(wall, answers.utc_offset, lines, confirmed=True)
    if answers.zone:
        return in_zone(wall, answers.zone, lines, confirmed=True)
    stated = stated_offset(heading, preamble)
    if stated:
        minutes, written = stated
        return _to_confirm(_fixed(wall, minutes, f"the file says {written}"), wall, minutes, written, zone)
    outside = stated_short_name(heading, preamble)
    named = short_names or (frozenset({outside}) if outside else frozenset())
    if named:
        inside = in_zone(wall, zone, lines, confirmed=False)
        if not named & _AMBIGUOUS.keys() and not inside.question and _names_in(inside.times_utc, zone) == named:
            return inside
        shown = ", ".join(sorted(named))
        question = _short_name_question(shown, zone)
        return Instants(inside.times_utc, inside.decision, question, f"the zone “{shown}” is not clear")
    other = stated_zone(preamble)
    if other and other != zone:
        inside = in_zone(wall, other, lines, confirmed=False)
        options = (Option(other, f"{other}, as the file says"), Option(zone, f"{zone}, the laboratory's zone"))
        return Instants(
            inside.times_utc,
            inside.decision,
            Question("zone", f"The file names the zone {other}. In which zone was the recorder's clock?", options),
            f"the file names another zone, {other}",
        )
    return in_zone(wall, zone, lines, confirmed=False)


def _fixed(wall: TimeArray, minutes: int, why: str) -> Instants:
    return Instants(wall - minutes * _MINUTE, ClockDecision("offset", offset_text(minutes), why))


def _to_confirm(found: Instants, wall: TimeArray, minutes: int, written: str, zone: str) -> Instants:
    first: datetime = wall[0].item()
    local = found.times_utc[0].item().replace(tzinfo=ZoneInfo("UTC")).astimezone(zone_of(zone))
    offset = offset_text(minutes)
    options = (
        Option(offset, f"UTC{offset}: {first:%H:%M} is {local:%H:%M on %d %B %Y} in {zone}"),
        Option(zone, f"{zone}: {first:%H:%M} is {first:%H:%M} in the laboratory; the file's {written} is wrong"),
    )
    text = f"The file says {written}: {first:%H:%M} at UTC{offset} is {local:%H:%M} in the laboratory. Is that so?"
    return Instants(
        found.times_utc,
        found.decision,
        Question("utc_offset", text, options),
        f"the offset {written} needs to be confirmed",
    )


def _names_in(times_utc: TimeArray, zone: str) -> set[str]:
    where, ends = zone_of(zone), times_utc[[0, -1]]
    return {str(end.item().replace(tzinfo=ZoneInfo("UTC")).astimezone(where).tzname()) for end in ends}


def _short_name_question(name: str, zone: str) -> Question:
    known = _AMBIGUOUS.get(name, ())
    options = tuple(Option(offset_text(minutes), f"UTC{offset_text(minutes)}") for minutes in known)
    return Question(
        "utc_offset",
        f"The file names the zone “{name}”, which is not one place's time. "
        "Which offset from UTC did the recorder's clock have?",
        (*options, Option(zone, f"the laboratory's zone, {zone}")),
    )
