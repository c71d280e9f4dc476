"""The result of an order line at the one level ordered: what was tested at another level never counts for it."""

from collections.abc import Sequence
from dataclasses import replace

from trials.domain.line_result import Asked, Doubt, LineResult, LineTrial, line_result
from trials.domain.methods.base import MethodEdition, line_rule


def level_line(
    edition: MethodEdition, asked: Asked, trials: Sequence[LineTrial], doubts: Sequence[Doubt]
) -> LineResult:
    """Return the result of a line by the edition's rule on specimens and doubt, with a flag for each other level.

    A trial that states no level was run at the one ordered. Independent of the order of `trials`.
    """
    run = sorted(trials, key=lambda t: (t.sequence, t.specimen))
    off = [t for t in run if t.severity is not None and t.severity != asked.severity]
    ordered = edition.severity_text(asked.severity)
    line = line_result(line_rule(edition), ordered, [t for t in run if t not in off], doubts, asked.specimens)
    flags = tuple(
        f"Specimen {t.specimen} does not count: it was tested at {edition.severity_text(t.severity)}, not at {ordered}."
        for t in off
    )
    aside = (*line.set_aside, *(t.specimen for t in off))
    return replace(line, flags=(*line.flags, *flags), set_aside=aside) if off else line
