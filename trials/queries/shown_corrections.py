"""What was read and as what it counts: the corrections of a trial, line by line, for its page."""

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal

from calibration.domain.figures import signed
from calibration.domain.rounding import rounded_uncertainty
from calibration.domain.units import difference_unit
from trials.domain.criteria import digits, with_unit
from trials.domain.methods.base import MethodEdition
from trials.domain.observations import standing
from trials.domain.records import TIP, AppliedCorrection, TrialRecord

_COVERAGE = Decimal(2)


@dataclass(frozen=True, slots=True)
class ShownCorrection:
    """One figure as read, what the calibrations add, as what it counts, and how sure that addition is (U, k = 2).

    `counts` is empty where there is no correction; `why` then says so.
    """

    what: str
    read: str
    correction: str
    counts: str
    uncertainty: str
    source: str
    why: str


def shown_corrections(edition: MethodEdition, record: TrialRecord | None) -> tuple[ShownCorrection, ...]:
    """The corrections applied in a record, that of the temperature for its last reading up to the start."""
    if record is None or not record.corrections:
        return ()
    return tuple(_shown(edition, record))


def _shown(edition: MethodEdition, record: TrialRecord) -> Iterator[ShownCorrection]:
    seen = {row.kind: row.value for row in standing(record.observations)}
    for applied in record.corrections:
        if applied.key == TIP:
            yield from _temperature(edition, record, applied)
            continue
        field, kind = edition.fields_by_key.get(applied.key), edition.kinds_by_key.get(applied.key)
        named = field or kind
        value = record.setup.get(applied.key) if field is not None else seen.get(applied.key)
        if named is not None and isinstance(value, Decimal):
            yield _line(named.title, value, named.unit, applied, applied.correction)


def _temperature(edition: MethodEdition, record: TrialRecord, applied: AppliedCorrection) -> Iterator[ShownCorrection]:
    before = [one for one in record.temperature_readings if one.t_s <= 0] or record.temperature_readings
    last = max(before, key=lambda one: one.t_s, default=None)
    if last is not None:
        title = "Temperature" if edition.steady is None else f"{edition.steady.title}, last reading before the start"
        yield _line(title, last.read_c, "°C", applied, last.correction_k)


def _line(
    what: str, read: Decimal, unit: str, applied: AppliedCorrection, correction: Decimal | None
) -> ShownCorrection:
    u = applied.standard_uncertainty
    known = correction is not None and u is not None and u > 0
    expanded = digits(rounded_uncertainty(_COVERAGE * u)) if known and u is not None else "not known"
    return ShownCorrection(
        what=what,
        read=with_unit(read, unit),
        correction="" if correction is None else f"{signed(correction)} {difference_unit(unit)}",
        counts="" if correction is None else with_unit(read + correction, unit),
        uncertainty=f"{expanded} {difference_unit(unit)}" if known else expanded,
        source=applied.source,
        why=applied.refusal if correction is None else "",
    )
