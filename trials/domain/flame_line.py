"""The line some product standards draw on the length of a flame, and the needle flame it asks for on parts above."""

from collections.abc import Iterable
from decimal import Decimal

from trials.domain.criteria import NOT_RECORDED, Criterion, digits, with_unit
from trials.domain.line_result import LineResult, LineTrial
from trials.domain.methods.base import MethodEdition
from trials.domain.timeline import Timeline, merged_spans

OFF, NEEDLE_FLAME, FAILS = "not looked at", "asks for the needle flame", "fails"
LONGEST, WHOLE, AFTER_WITHDRAWAL = "longest flame", "t_e - t_i", "after withdrawal"
KEY = "flame_line"


def flame_line_criteria(edition: MethodEdition, seen: Timeline, *, passed: bool) -> tuple[Criterion, ...]:
    """Return the criterion on the length of a flame, as the edition's parameters state it; empty where it is off.

    Where exceeding the line asks for the needle flame it looks only at specimens that passed the test itself
    (`passed`), and never decides. A flame as long as the line is inside it; one known to have lasted longer, even if
    not how long, breaks it.
    """
    line, does = edition.parameter("flame_line_s"), edition.parameter("flame_line").value
    if does == OFF or (does == NEEDLE_FLAME and not passed):
        return ()
    measure = str(edition.parameter("flame_line_measure").value)
    burned_s = flame_length_s(measure, seen)
    least = ""
    if burned_s is None and (known_s := _known_length_s(measure, seen)) is not None and not line.admits(known_s):
        burned_s, least = known_s, " at least"
    found = NOT_RECORDED if burned_s is None else f"{with_unit(burned_s, 's')}{least}"
    holds = None if burned_s is None else line.admits(burned_s)
    exceeded = f"{_LENGTH[measure]} is {found}, more than {with_unit(edition.number(line.key), 's')}"
    reason = {
        None: f"{_LENGTH[measure]} is not known, so it cannot be held against {line.limit_text}",
        True: "",
        False: exceeded if does == FAILS else f"{exceeded}: {_needle_flame(edition)}",
    }[holds]
    return (Criterion(KEY, line.title, found if seen.flames else "no flame", f"{line.limit_text} ({measure})", holds,
                      reason, line.source, line.certainty, enforced=does == FAILS),)  # fmt: skip


_LENGTH = {
    LONGEST: "the longest single flame",
    WHOLE: "the time from ignition to the end of the flames",
    AFTER_WITHDRAWAL: "the flame after withdrawal",
}


def flame_length_s(measure: str, seen: Timeline) -> Decimal | None:
    """Return the length in s that is held against the line; 0 without a flame, None while a moment is unknown.

    A corona never counts; a flame put out by hand has no length of its own. Raises KeyError for another measure.
    """
    _ = _LENGTH[measure]
    if not seen.flames:
        return Decimal(0)
    if any(flame.put_out for flame in seen.flames):
        return None
    if measure == LONGEST:
        return seen.longest_flame_s
    begin_s = seen.specimen_ignites_s if measure == WHOLE else seen.application_s
    unknown_start = measure == WHOLE and any(flame.start_s is None for flame in seen.flames)
    if seen.flames_end_s is None or begin_s is None or unknown_start:
        return None
    return max(seen.flames_end_s - begin_s, Decimal(0))


def _known_length_s(measure: str, seen: Timeline) -> Decimal | None:
    """The length as far as it is known: a flame put out by hand lasted until then, one without an end is left out."""
    spans = [(f.start_s, f.end_s) for f in seen.flames if f.start_s is not None and f.end_s is not None]
    if not spans or (measure == AFTER_WITHDRAWAL and seen.application_s is None):
        return None
    if measure == LONGEST:
        return max(end_s - start_s for start_s, end_s in merged_spans(spans))
    begin_s = min(start_s for start_s, _ in spans) if measure == WHOLE else seen.application_s or Decimal(0)
    return max(end_s for _, end_s in spans) - begin_s


def follow_ups(line: LineResult, trials: Iterable[LineTrial]) -> tuple[str, ...]:
    """Return a sentence for each passed trial of a line that did not fail, whose flame was past the line or unknown."""
    if line.state == "failed":
        return ()
    tested = {*line.counted, *line.further, *line.extra}
    asked = [
        f"Specimen {trial.specimen}: {criterion.reason}."
        for trial in sorted(trials, key=lambda t: (t.sequence, t.specimen))
        if trial.verdict.outcome == "pass" and trial.specimen in tested
        for criterion in trial.verdict.criteria
        if criterion.key == KEY and not criterion.enforced and criterion.holds is not True
    ]
    return tuple(dict.fromkeys(asked))


def _needle_flame(edition: MethodEdition) -> str:
    width, height = edition.number("flame_line_cylinder_mm"), edition.number("flame_line_height_mm")
    return (
        f"needle flame on the parts above it in an upright cylinder {digits(width)} mm wide and {digits(height)} mm "
        "high, except those behind a tested barrier and those of V-0 or V-1 material, classed no thicker than they are"
    )
