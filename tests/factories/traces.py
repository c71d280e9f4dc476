"""A thermocouple that came back 8 K high after signed trials: what the tests of the reverse trace work with."""

from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from decimal import Decimal

from calibration.models import Calibration, CalibrationPoint, Instrument, IntermediateCheck, ServiceChange
from labsite.ledger.models import User
from tests.factories.bench import Scene, bench_scene, opened_trial
from tests.factories.ledger import NOON, UserFactory
from tests.reports.worked import WORKED
from trials.domain.judge_file import judge_case
from trials.domain.record_json import record_to_json
from trials.domain.verdicts import to_json, verdict_fingerprint
from trials.models import SignedVerdict
from trials.queries.methods import trial_edition

AS_FOUND = (("500.0", "508.0"), ("960.0", "968.0"))
BACK_AT = NOON + timedelta(days=10)


@dataclass
class Returned:
    """The scene, its keeper, the thermocouple, and the calibration that found it 8 K high."""

    scene: Scene
    keeper: User
    thermocouple: Instrument
    bad: Calibration


def returned(*tips_c: str, specimens: int = 1, taken_out: bool = True) -> Returned:
    """Signed trials at 850 ± 15 °C on a rig, one for each tip as read; then the thermocouple is out, and rejected."""
    scene = bench_scene(NOON, specimens=max(len(tips_c), specimens))
    keeper = UserFactory.create(full_name="Quinn Keeper", roles=["quality"])
    for number, tip in enumerate(tips_c):
        signed(scene, number, tip)
    thermocouple = scene.instruments["TC-05"]
    out_at = NOON + timedelta(days=2)
    if taken_out:
        ServiceChange.objects.create(
            instrument=thermocouple, state=ServiceChange.State.OUT_OF_SERVICE, reason="doubted", at=out_at, by=keeper
        )
    return Returned(scene, keeper, thermocouple, found(thermocouple, keeper, BACK_AT))


def found(instrument: Instrument, by: User, at: datetime, *, accepted: bool = False) -> Calibration:
    """A calibration with the as-found points, rejected unless it is accepted."""
    made = Calibration.objects.create(
        instrument=instrument,
        calibrated_on=at.date(),
        interval=12,
        calibrated_by="Example Calibrations",
        entered_at=at,
        entered_by=by,
        decision="accepted" if accepted else "rejected",
        decided_at=at,
        decided_by=by,
    )
    CalibrationPoint.objects.bulk_create(
        CalibrationPoint(
            calibration=made,
            kind="as found",
            reference=reference,
            indication=indication,
            unit="°C",
            expanded_uncertainty="1.1",
            coverage_factor="2",
        )
        for reference, indication in AS_FOUND
    )
    return made


def signed(scene: Scene, number: int, tip_c: str) -> SignedVerdict:
    """A trial with the tip read at this figure in the last minute, judged and signed."""
    trial = opened_trial(scene, number)
    edition = trial_edition(trial)
    case = judge_case((WORKED / "glow_wire_end_product" / "no_ignition_passes.json").read_text("utf-8"))
    record = case.records[0][1]
    readings = tuple(replace(one, read_c=Decimal(tip_c), correction_k=None) for one in record.temperature_readings)
    record = replace(record, temperature_readings=readings, severity=Decimal(850))
    verdict = edition.judge(record)
    return SignedVerdict.objects.create(
        trial=trial,
        outcome=verdict.outcome,
        sentence=verdict.sentence,
        record=record_to_json(record),
        verdict=to_json(verdict),
        verdict_sha256=verdict_fingerprint(verdict),
        rule_version=str(verdict.rule_version),
        signed_at=scene.at + timedelta(minutes=10),
        signed_by=scene.technician,
    )


def checked(instrument: Instrument, against: Instrument, by: User, at: datetime) -> IntermediateCheck:
    """A passing comparison of an instrument with another one."""
    return IntermediateCheck.objects.create(
        instrument=instrument,
        compared_with=against,
        kind="comparison",
        checked_at=at,
        reference="850.0",
        indication="850.4",
        unit="°C",
        passed=True,
        sentence="holds",
        entered_at=at,
        entered_by=by,
    )
