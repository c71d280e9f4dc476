"""Several places tested on one specimen: which place a trial stands for, and what is missing when there are more."""

from collections import Counter
from collections.abc import Sequence

from trials.domain.criteria import NOT_RECORDED, Criterion
from trials.domain.line_result import LineTrial
from trials.domain.methods.base import MethodEdition
from trials.domain.records import TrialRecord
from trials.domain.setup_criteria import value_text


def point_criteria(edition: MethodEdition, record: TrialRecord) -> tuple[Criterion, ...]:
    """Return the place of the trial, for the record of its verdict; it never decides. Empty without `point_field`."""
    field = edition.fields_by_key.get(edition.point_field)
    if field is None:
        return ()
    place = value_text(record.setup.get(field.key) or None)
    stated = None if place == NOT_RECORDED else True
    limit = "stated where one specimen is tested at several places"
    return (Criterion(field.key, field.title, place, limit, stated, "", "IEC 60695-2-11, from general knowledge",
                      "from memory", enforced=False),)  # fmt: skip


def unstated_points(edition: MethodEdition, trials: Sequence[LineTrial]) -> tuple[str, ...]:
    """Return a sentence for each specimen tested at several places of which one is not stated, or stated twice."""
    flags = []
    for specimen in sorted({trial.specimen for trial in trials if trial.further_point}):
        valid = [t for t in trials if t.specimen == specimen and t.verdict.outcome in ("pass", "fail")]
        places = Counter(
            criterion.found
            for trial in valid
            for criterion in trial.verdict.setup_criteria
            if criterion.key == edition.point_field
        )
        missing = places.pop(NOT_RECORDED, 0) if len(valid) > 1 else 0
        if missing:
            which = "one of them" if missing == 1 else f"{missing} of them"
            flags.append(f"Specimen {specimen} was tested at {len(valid)} places; {which} is not stated.")
        flags += [
            f"Specimen {specimen} was tested {count} times at the same place, “{place}”."
            for place, count in sorted(places.items())
            if count > 1
        ]
    return tuple(flags)
