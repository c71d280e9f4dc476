"""Rows in the order of the file made into one recorder's series: devices, direction, repeats and contradictions."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from specimens.domain.climate_answers import Answers, ClimateRefused, Option, Question
from specimens.domain.climate_arrays import BoolArray, FloatArray, IntArray, TimeArray
from specimens.domain.climate_rows import TextTable
from specimens.domain.climate_series import same_values, sorted_readings


@dataclass(frozen=True, slots=True)
class Ordered:
    """Positions of the readings in rising time, positions whose values contradict (to become missing), and remarks."""

    keep: IntArray
    left_out: IntArray
    repeats: int
    notices: tuple[str, ...]


def device_rows(table: TextTable, answers: Answers, *, name: str, heading: str) -> tuple[str | None, BoolArray | None]:
    """(the device used, which rows are its own). Raises ClimateRefused with a question when several are there."""
    codes = table.all_codes()
    if not codes.size:
        return None, None
    counts = {table.texts[code].strip(): int(number) for code, number in enumerate(np.bincount(codes)) if number}
    counts.pop("", None)
    if len(counts) <= 1 or len(counts) > max(codes.size // 2, 1):
        return next(iter(counts), None) if len(counts) == 1 else None, None
    if answers.device is None:
        options = tuple(Option(text, f"{heading} {text}: {number} rows") for text, number in counts.items())
        question = Question("device", f"{name} holds several recorders. Which one stood with the specimens?", options)
        raise ClimateRefused(
            f"{name} holds the rows of {len(counts)} recorders (column “{heading}”); they are never merged.",
            questions=(question,),
        )
    if answers.device not in counts:
        raise ClimateRefused(f"{name} has no rows of a recorder “{answers.device}”; it has {', '.join(counts)}.")
    chosen = [code for code, text in enumerate(table.texts) if text.strip() == answers.device]
    return answers.device, np.isin(codes, chosen)


def newest_first(wall: TimeArray) -> bool:
    """Whether nearly all steps go back: a file written from the newest reading to the oldest."""
    steps = np.diff(wall)
    return bool(steps.size >= 2 and (steps < np.timedelta64(0, "us")).mean() > 0.9)


def stacked_part(
    wall: TimeArray, temperature: FloatArray, humidity: FloatArray, lines: IntArray, answers: Answers, *, name: str
) -> tuple[str | None, BoolArray | None]:
    """The part of the file to use when it holds several records one under another without saying whose they are.

    Going back in time by a stretch that overlaps an earlier part with other values means another recorder, not
    disorder. Raises ClimateRefused with a question; the answer names the part ("part 1").
    """
    starts = np.concatenate(([0], np.flatnonzero(np.diff(wall) < np.timedelta64(0, "us")) + 1)).tolist()
    if len(starts) == 1:
        return None, None
    parts = list(zip(starts, [*starts[1:], wall.size], strict=True))
    heads = [0] + [
        index
        for index in range(1, len(parts))
        # a swapped pair makes short parts by the hundred; only the nearer ones can tell a recorder from disorder
        if any(
            _overlap_differs(wall, temperature, humidity, parts[earlier], parts[index])
            for earlier in range(max(index - 50, 0), index)
        )
    ]
    if len(heads) == 1:
        return None, None
    bounds = [parts[index][0] for index in heads] + [int(wall.size)]
    labels = [f"part {number}" for number in range(1, len(bounds))]
    if answers.device is None:
        options = tuple(
            Option(label, f"lines {int(lines[low])} to {int(lines[high - 1])}, from {wall[low].item():%Y-%m-%d %H:%M}")
            for label, low, high in zip(labels, bounds, bounds[1:], strict=False)
        )
        question = Question(
            "device",
            f"{name} holds {len(labels)} records of the same time. Which one stood with the specimens?",
            options,
        )
        raise ClimateRefused(
            f"{name} goes back in time in line {int(lines[bounds[1]])} with other values: it holds {len(labels)} "
            "recorders, which are never merged.",
            questions=(question,),
        )
    if answers.device not in labels:
        raise ClimateRefused(f"{name} has no “{answers.device}”; it has {', '.join(labels)}.")
    at = labels.index(answers.device)
    rows = np.zeros(wall.shape, dtype=np.bool_)
    rows[bounds[at] : bounds[at + 1]] = True
    return answers.device, rows


def _overlap_differs(
    wall: TimeArray, temperature: FloatArray, humidity: FloatArray, first: tuple[int, int], second: tuple[int, int]
) -> bool:
    """Whether two rising parts overlap by at least two readings each, fewer than half of them equal."""
    one, other = wall[first[0] : first[1]], wall[second[0] : second[1]]
    low, high = max(one[0], other[0]), min(one[-1], other[-1])
    in_one = np.flatnonzero((one >= low) & (one <= high)) + first[0]
    in_other = np.flatnonzero((other >= low) & (other <= high)) + second[0]
    if min(in_one.size, in_other.size) < 2:
        return False
    _, at_one, at_other = np.intersect1d(wall[in_one], wall[in_other], return_indices=True)
    equal = same_values(temperature, humidity, in_one[at_one], in_other[at_other]).sum()
    return bool(2 * int(equal) < min(in_one.size, in_other.size))


def in_true_order(
    times: TimeArray,
    temperature: FloatArray,
    humidity: FloatArray,
    lines: IntArray,
    wall: TimeArray,
    *,
    heading_lines: Sequence[int],
    answers: Answers,
) -> Ordered:
    """Sort with a notice, drop exact repeats with a count, stop on a contradiction and show both lines."""
    notices: list[str] = []
    found = sorted_readings(times, temperature, humidity)
    left_out = np.array(sorted({first for first, _ in found.conflicts}), dtype=np.int64)
    if found.conflicts and answers.conflicts != "leave-out":
        raise _conflict(found.conflicts, temperature, humidity, lines, wall)
    if found.conflicts:
        notices.append(f"Moments with two different readings, left out as confirmed: {left_out.size}.")
    if found.repeats.size:
        shown = ", ".join(str(line) for line in sorted(lines[found.repeats].tolist())[:10])
        notices.append(
            f"{found.repeats.size} exact repeats dropped (lines {shown}{' …' if found.repeats.size > 10 else ''})."
        )
    back = np.flatnonzero(np.diff(times) < np.timedelta64(0, "us")) + 1
    joins = np.searchsorted(lines, np.asarray(heading_lines, dtype=np.int64))
    disorder = np.setdiff1d(back, joins)
    if disorder.size:
        shown = ", ".join(str(line) for line in lines[disorder][:10].tolist())
        plural = "readings were" if disorder.size > 1 else "reading was"
        notices.append(f"{disorder.size} {plural} out of order and put in place (line {shown}).")
    return Ordered(found.keep, left_out, int(found.repeats.size), tuple(notices))


def _conflict(
    pairs: Sequence[tuple[int, int]], temperature: FloatArray, humidity: FloatArray, lines: IntArray, wall: TimeArray
) -> ClimateRefused:
    first, second = pairs[0]

    def shown(at: int) -> str:
        values = [
            f"{value:g}{unit}"
            for value, unit in ((temperature[at], " °C"), (humidity[at], " % RH"))
            if not np.isnan(value)
        ]
        return f"line {int(lines[at])} has {' and '.join(values) or 'no value'}"

    more = f" ({len(pairs) - 1} more moments contradict)" if len(pairs) > 1 else ""
    sentence = (
        f"Two readings for {wall[first].item():%Y-%m-%d %H:%M:%S} contradict: {shown(first)}, {shown(second)}{more}."
    )
    question = Question(
        "conflicts", f"{sentence} Leave both out?", (Option("leave-out", "use neither; the moment counts as a fault"),)
    )
    return ClimateRefused(sentence, questions=(question,))
