"""One instrument's whole record as tables."""

from calibration.exports.columns import CALIBRATION, IDENTITY, calibration_cells, identity_cells, local
from calibration.exports.register import POINT, ordered_points, place_words, point_cells
from calibration.models import Calibration, InstrumentEvent, InstrumentLimit, IntermediateCheck, Mounting
from calibration.queries.exported import InstrumentRecord
from labsite.ledger.workbooks import Cell, Table


def record_tables(record: InstrumentRecord) -> dict[str, Table]:
    """The tables by the word an address asks for them with."""
    points = tuple(
        (row.calibrated_on, row.certificate_number, *point_cells(point))
        for row in record.calibrations
        for point in ordered_points(row)
    )
    return {
        "instrument": Table("Instrument", ("What", "Said"), _facts(record)),
        "calibrations": Table("Calibrations", _CALIBRATIONS, tuple(_calibration(row) for row in record.calibrations)),
        "points": Table("Points", ("Calibrated on", "Certificate", *POINT), points),
        "limits": Table("Limits", _LIMITS, tuple(_limit(row) for row in record.limits)),
        "checks": Table("Checks", _CHECKS, tuple(_check(row) for row in record.checks)),
        "events": Table("Events", _EVENTS, tuple(_event(row) for row in record.events)),
        "service": Table(
            "Service",
            ("At", "State", "Reason", "By"),
            tuple((local(row.at), row.get_state_display(), row.reason, str(row.by)) for row in record.services),
        ),
        "mountings": Table("Mountings", _MOUNTINGS, tuple(_mounting(row) for row in record.mountings)),
    }


def _facts(record: InstrumentRecord) -> tuple[tuple[Cell, ...], ...]:
    row, one = record.row, record.row.instrument
    more: tuple[tuple[str, Cell], ...] = (
        ("Thermocouple type", one.get_thermocouple_type_display()),
        ("Tolerance class", one.tolerance_class),
        ("Belongs to", one.owner),
        ("Maintenance plan", one.maintenance_plan),
        ("Place", place_words(row)),
        ("Rig", row.rig),
        ("Registered at", local(one.registered_at)),
        ("Registered by", str(one.registered_by)),
        ("Facts of", "that day" if row.sure else "now; its book says nothing of that day"),
    )
    return (
        *zip(IDENTITY, identity_cells(row), strict=True),
        *more,
        *zip(CALIBRATION, calibration_cells(row), strict=True),
    )


_CALIBRATIONS = (
    "Calibrated on", "Interval", "Interval unit", "Due on", "Calibrated by", "Accreditation number", "Certificate",
    "Certificate file", "Issued on", "Received on", "Route", "Route evidence", "In scope", "Serial on certificate",
    "Adjusted", "Remarks", "Entered by", "Entered at", "Decision", "Decided by", "Decided at", "Reason",
)  # fmt: skip


def _calibration(row: Calibration) -> tuple[Cell, ...]:
    return (
        row.calibrated_on, row.interval_in_force, row.unit_in_force, row.due_on, row.calibrated_by,
        row.accreditation_number, row.certificate_number, row.certificate.name if row.certificate else "",
        row.issued_on, row.received_on, row.get_route_display(), row.route_evidence, row.in_scope,
        row.serial_on_certificate, row.adjusted, row.remarks, str(row.entered_by), local(row.entered_at),
        row.get_decision_display(), str(row.decided_by or ""), local(row.decided_at), row.decision_reason,
    )  # fmt: skip


_LIMITS = (
    "Made at", "Unit", "From", "To", "Absolute", "Relative", "Drift allowance", "Decision rule", "Guard factor",
    "Source", "Ended", "Made by",
)  # fmt: skip


def _limit(row: InstrumentLimit) -> tuple[Cell, ...]:
    return (
        local(row.made_at), row.unit, row.low, row.high, row.absolute, row.relative, row.drift_allowance,
        row.decision_rule, row.guard_factor, row.source, row.ended, str(row.made_by),
    )  # fmt: skip


_CHECKS = (
    "Checked at", "Kind", "Compared with", "Reference", "Indication", "Unit", "Lowest error", "Highest error", "E_n",
    "Passed", "Said", "Remarks", "Entered by", "Entered at", "Struck out at", "Struck out by", "Reason",
)  # fmt: skip


def _check(row: IntermediateCheck) -> tuple[Cell, ...]:
    return (
        local(row.checked_at), row.get_kind_display(), row.compared_with.code if row.compared_with else "",
        row.reference, row.indication, row.unit, row.error_low, row.error_high, row.e_n, row.passed, row.sentence,
        row.remarks, str(row.entered_by), local(row.entered_at), local(row.struck_at), str(row.struck_by or ""),
        row.struck_reason,
    )  # fmt: skip


_EVENTS = ("Happened on", "What", "Said", "To place", "Paper", "Told by", "Told at")


def _event(row: InstrumentEvent) -> tuple[Cell, ...]:
    place = f"{row.place.code}, {row.place.name}" if row.place else ""
    paper = row.file.name if row.file else ""
    return row.happened_on, row.get_kind_display(), row.text, place, paper, str(row.by), local(row.at)


_MOUNTINGS = ("Rig", "Mounted at", "Mounted by", "Taken off at", "Taken off by")


def _mounting(row: Mounting) -> tuple[Cell, ...]:
    return row.rig.code, local(row.mounted_at), str(row.mounted_by), local(row.removed_at), str(row.removed_by or "")
