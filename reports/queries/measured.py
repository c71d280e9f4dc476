"""What each method edition measures, with the instruments on each rig for it, as of a moment."""

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime

from calibration.models import Rig
from calibration.queries.exported import ExportedInstrument, exported_instruments
from calibration.queries.instruments import mountings_at
from calibration.queries.rigs import all_rigs, rigs_known_at
from labsite.ledger.refusals import Refused
from reports.domain.measured import Measured, measured_quantities
from trials.domain.methods.base import MethodEdition
from trials.domain.methods.registry import EDITIONS
from trials.queries.methods import edition_by_key, edition_of
from trials.queries.sheets import newest_sheets

type Mounted = dict[int, list[ExportedInstrument]]


@dataclass(frozen=True, slots=True)
class MeasuredRow:
    """One quantity of one edition on one rig, with one instrument it is read on there.

    `rig` is None where the edition names no instrument or no rig of its kind is in use; `instrument` where none of the
    kind is mounted. `figures` says whose figures the limit is of.
    """

    edition: MethodEdition
    figures: str
    measured: Measured
    rig: Rig | None
    instrument: ExportedInstrument | None


def measured_rows(at: datetime, *, past: bool) -> list[MeasuredRow]:
    """All rows, edition by edition as the registry has them; a constant number of reads."""
    rigs = [rig for rig in (rigs_known_at(at) if past else all_rigs()) if rig.in_use]
    mounted = _mounted(at, past=past)
    return [
        MeasuredRow(edition, figures, measured, rig, instrument)
        for edition, figures in _editions(at)
        for measured in measured_quantities(edition)
        for rig, instrument in _instruments(measured, [rig for rig in rigs if rig.kind == edition.rig_kind], mounted)
    ]


def _editions(at: datetime) -> Iterator[tuple[MethodEdition, str]]:
    """Each edition with the figures the laboratory had by then."""
    sheets = newest_sheets(EDITIONS, at)
    for key in EDITIONS:
        sheet = sheets.get(key)
        if sheet is None:
            yield edition_by_key(key), "as delivered"
            continue
        try:
            yield edition_of(key, sheet.changes), f"the laboratory's revision {sheet.revision}"
        except Refused:
            yield edition_by_key(key), f"as delivered; revision {sheet.revision} cannot be read any more"


def _mounted(at: datetime, *, past: bool) -> Mounted:
    """The instruments on each rig, by the rig's primary key."""
    mountings = list(mountings_at(at))
    exported = exported_instruments(at, past=past)
    by_key = {row.instrument.pk: row for row in exported}
    mounted: Mounted = defaultdict(list)
    for mounting in mountings:
        mounted[mounting.rig_id].append(by_key[mounting.instrument_id])
    return mounted


def _instruments(
    measured: Measured, rigs: list[Rig], mounted: Mounted
) -> Iterator[tuple[Rig | None, ExportedInstrument | None]]:
    if not measured.kind or not rigs:
        yield None, None
        return
    for rig in rigs:
        fitting = [row for row in mounted.get(rig.pk, []) if row.instrument.kind == measured.kind]
        if not fitting:
            yield rig, None
        yield from ((rig, instrument) for instrument in fitting)
