"""The checks of a calibration somebody is to decide on, as they stand at a moment, and as they are kept."""

import hashlib
import json
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from calibration.domain.acceptance import Check, IncomingCertificate, acceptance_checks, not_ok
from calibration.domain.conformity import Conformity, ErrorLimit, PointConformity
from calibration.domain.corrections import StatedPoint
from calibration.domain.decisions import percent_text
from calibration.domain.figures import digits, signed, with_unit
from calibration.domain.units import difference_unit
from calibration.models import Calibration, CalibrationPoint
from calibration.queries.drift import point_of
from calibration.queries.limits import conformity_of, instrument_limits
from labsite.ledger.queries import laboratory_day


@dataclass(frozen=True, slots=True)
class Acceptance:
    """What somebody decides on: the checks, the points against the limits, and the limits they were set against."""

    checks: tuple[Check, ...]
    conformity: Conformity
    limits: dict[str, ErrorLimit]

    @property
    def not_ok(self) -> tuple[Check, ...]:
        """The checks an acceptance needs a reason for."""
        return not_ok(self.checks)

    @property
    def as_kept(self) -> dict[str, Any]:
        """The same as plain values, numbers as texts, to be kept with the decision."""
        return {
            "checks": [
                {"key": one.key, "question": one.question, "answer": one.answer, "sentence": one.sentence}
                for one in self.checks
            ],
            "limits": [_limit_json(unit, one) for unit, one in self.limits.items()],
            "points": [point_json(one) for one in self.conformity.points],
        }

    @property
    def fingerprint(self) -> str:
        """Of what is kept, so that nobody decides on what they did not see."""
        return hashlib.sha256(json.dumps(self.as_kept, sort_keys=True).encode()).hexdigest()


def acceptance_of(calibration: Calibration, at: datetime) -> Acceptance:
    """The checks of a calibration with its instrument and points, with the limits that hold at `at`; two reads."""
    limits = instrument_limits(calibration.instrument, at).error_limits
    judged = conformity_of(calibration, limits)
    checks = acceptance_checks(
        _incoming(calibration),
        serial_number=calibration.instrument.serial_number,
        limits=limits.values(),
        conformity=judged,
        today=laboratory_day(at),
    )
    return Acceptance(checks, judged, limits)


def point_json(one: PointConformity) -> dict[str, str]:
    """A judged point as a page shows it and as it is kept: texts, empty where nothing is known."""
    point, k = one.stated.point, one.stated.coverage_factor
    unit = difference_unit(point.unit)
    return {
        "kind": "as left" if point.as_left else "as found",
        "reads": f"{digits(point.reference)} → {digits(point.indication)} {point.unit}",
        "error": f"{signed(one.error)} {unit}",
        "uncertainty": "" if point.uncertainty is None else with_unit(point.uncertainty, unit),
        "coverage_factor": "" if k is None else digits(k),
        "permitted": "" if one.permitted is None else f"±{with_unit(one.permitted, unit)}",
        "statement": one.statement,
        "risk": "" if one.risk is None else percent_text(one.risk),
        "reason": one.reason,
    }


def _limit_json(unit: str, limit: ErrorLimit) -> dict[str, str]:
    return {
        "unit": unit,
        "permitted": limit.words,
        "rule": limit.rule,
        "r": digits(limit.guard_factor),
        "source": limit.source,
    }


def _incoming(calibration: Calibration) -> IncomingCertificate:
    rows = sorted(calibration.points.all(), key=lambda row: row.pk)
    return IncomingCertificate(
        calibrated_on=calibration.calibrated_on,
        points=tuple(_stated(row) for row in rows),
        probabilities=tuple(row.coverage_probability for row in rows),
        issued_on=calibration.issued_on,
        received_on=calibration.received_on,
        route=calibration.route,
        route_evidence=calibration.route_evidence,
        accreditation_number=calibration.accreditation_number,
        in_scope=calibration.in_scope,
        serial_on_certificate=calibration.serial_on_certificate,
    )


def _stated(row: CalibrationPoint) -> StatedPoint:
    return StatedPoint(point_of(row), row.coverage_factor)
