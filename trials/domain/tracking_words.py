"""The words of a tracking result: index, letter and erosion as they are written, material group, failures, flags."""

from collections.abc import Sequence
from decimal import ROUND_HALF_UP, Decimal

from trials.domain.criteria import digits
from trials.domain.line_result import LineTrial
from trials.domain.methods.base import MethodEdition
from trials.domain.tracking_levels import Level, named, spoiled_by


def material_group(edition: MethodEdition, index_v: Decimal) -> str:
    """Return the material group of an index in V by solution A: "I", "II", "IIIa", "IIIb", or "" below all."""
    least = (("I", "group_i_v"), ("II", "group_ii_v"), ("IIIa", "group_iiia_v"), ("IIIb", "group_iiib_v"))
    return next((name for name, key in least if edition.parameter(key).admits(index_v)), "")


def group_words(edition: MethodEdition, run: Sequence[LineTrial], index_v: Decimal) -> str:
    """The material group, for the end of a sentence; it is stated for solution A only."""
    group = "" if solution_used(edition, run) != "A" else material_group(edition, index_v)
    return f"; material group {group}" if group else ""


def written_suffix(edition: MethodEdition, run: Sequence[LineTrial], voltage_v: Decimal, level: Level) -> str:
    """What follows the figure: the letter for solution B, and the greatest erosion where it is asked for."""
    letter = f" {edition.parameter('suffix_b').value}" if solution_used(edition, run) == "B" else ""
    if edition.parameter("erosion_asked").value is not True:
        return letter
    at_level = (t for t in run if t.severity == voltage_v and t.specimen in level.survived)
    depths = [mm for t in at_level if (mm := t.verdict.quantity("erosion").value) is not None]
    if not depths:
        return letter
    return f"{letter}-{digits(max(depths).quantize(edition.number('erosion_step_mm'), ROUND_HALF_UP))}"


def solution_used(edition: MethodEdition, run: Sequence[LineTrial]) -> str:
    """Return the solution of the first valid trial, else the one ordered."""
    parameter = edition.parameter("solution")
    valid = [t.verdict.quantity("solution").text for t in run if t.verdict.outcome in ("pass", "fail")]
    return next((text for text in valid if text in parameter.choices), str(parameter.value))


def failure_words(run: Sequence[LineTrial], level: Level, voltage_v: Decimal) -> str:
    """Return who failed at a level and, where it was one, why: "specimen 02, the device tripped at drop 12"."""
    if len(level.failed) == 1:
        return f"{named(level.failed)}, {_because(_failing(run, level, voltage_v)[0])}"
    return f"{len(level.failed)} failed ({', '.join(level.failed)})"


def failure_sentences(run: Sequence[LineTrial], level: Level, voltage_v: Decimal) -> list[str]:
    """Return a sentence for each failure at a level."""
    return [f"Specimen {t.specimen} failed: {_because(t)}." for t in _failing(run, level, voltage_v)]


def all_failures(run: Sequence[LineTrial]) -> list[str]:
    """Return a sentence for each failed trial of a search."""
    bad = [t for t in run if t.verdict.outcome == "fail"]
    return [f"Specimen {t.specimen} failed at {t.verdict.severity}: {_because(t)}." for t in bad]


def arc_flags(run: Sequence[LineTrial]) -> list[str]:
    """Return a flag for each trial that an air arc spoiled; they are reported."""
    arcs = [t for t in run if spoiled_by(t, "air_arc")]
    return [f"An air arc at {t.verdict.severity} spoiled the trial on specimen {t.specimen}." for t in arcs]


def hole_flags(run: Sequence[LineTrial]) -> list[str]:
    """Return a flag for each trial in which a hole formed through the specimen."""
    holes = [t for t in run if spoiled_by(t, "hole")]
    return [f"A hole formed through specimen {t.specimen} at {t.verdict.severity}: thicker material." for t in holes]


def _failing(run: Sequence[LineTrial], level: Level, voltage_v: Decimal) -> list[LineTrial]:
    """The trials behind the failures of a level; a specimen may have several sites there, of which one failed."""
    about = [t for t in run if t.severity == voltage_v and t.specimen in level.failed]
    return [t for t in about if t.verdict.outcome == "fail"] or about


def _because(trial: LineTrial) -> str:
    return trial.verdict.sentence.partition(": ")[2].rstrip(".")
