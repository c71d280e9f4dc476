"""By test clause: what is measured, its limit, and the instrument it is read on, rig by rig."""

from collections.abc import Iterable

from calibration.exports.columns import CALIBRATION, IDENTITY, calibration_cells, identity_cells
from labsite.ledger.workbooks import Cell, Table
from reports.queries.measured import MeasuredRow

_MEASURED = (
    "Method", "Standard", "Measured", "Unit", "Limit", "Where the limit stands", "Certainty", "Figures",
    "Read on", "Accuracy asked for", "Rig",
)  # fmt: skip


def clause_table(rows: Iterable[MeasuredRow]) -> Table:
    """One table; where no instrument is named or mounted, the row says so in the place of its code."""
    return Table("By test clause", (*_MEASURED, *IDENTITY, *CALIBRATION), tuple(_row(row) for row in rows))


def _row(row: MeasuredRow) -> tuple[Cell, ...]:
    edition, measured = row.edition, row.measured
    said: tuple[Cell, ...] = (
        edition.title, edition.standard, measured.title, measured.unit, measured.limit, measured.source,
        measured.certainty, row.figures, measured.kind or "not named", measured.need.accuracy if measured.need else "",
        _rig_words(row),
    )  # fmt: skip
    if row.instrument is None:
        words = "none mounted" if row.rig else ""
        return (*said, words, *[None] * (len(IDENTITY) + len(CALIBRATION) - 1))
    return (*said, *identity_cells(row.instrument), *calibration_cells(row.instrument))


def _rig_words(row: MeasuredRow) -> str:
    if row.rig is not None:
        return row.rig.code
    return f"no {row.edition.rig_kind} rig in use" if row.measured.kind else ""
