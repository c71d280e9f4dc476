"""The demo's trials, run through the same actions as at the bench."""

import uuid
from dataclasses import dataclass
from datetime import datetime, timedelta
from decimal import Decimal

from django.core.files.uploadedfile import SimpleUploadedFile

from calibration.models import Instrument, Mounting
from labsite.demo.pictures import photo_after_trial
from labsite.ledger.models import User
from specimens.models import Specimen
from trials.actions.bench import enter_setup_values, keep_trial_photo, open_trial
from trials.actions.observations import BenchEvent, add_findings, record_events
from trials.actions.signing import judged, sign_trial, verdict_fingerprint
from trials.models import Trial
from trials.queries.records import READING_KIND

SETUP = {
    "force_n": "0.96",
    "tip_clean": "yes",
    "new_layer": "yes",
    "hood_off": "yes",
    "light_lx": "12",
    "penetration_mm": "7.0",
    "layer_distance_mm": "200",
    "tissue_g_m2": "18.5",
    "board_mm": "12.0",
    "chamber_m3": "0.60",
    "thermocouple_mm": "1.0",
    "foil_check_c": "958.9",
    "foil_check_current": "yes",
    "approach_mm_s": "15",
    "tip_wear_percent": "99.2",
    "room_temperature_c": "22.6",
    "room_humidity_percent": "51",
    "specimen_form": "complete product",
    "point": "thinnest wall, 20 mm below the upper edge",
    "position": "as in use",
}


@dataclass(frozen=True, slots=True)
class Course:
    """What is seen: (seconds from contact, kind, value); readings run from two minutes before contact."""

    events: tuple[tuple[str, str, str], ...]
    consumed: str = "no"


NO_FLAME = Course((("30.1", "withdrawn", ""), ("60.4", "watch_ends", "")))
FLAME_IN_TIME = Course(
    (
        ("6.4", "ignites", "bright"),
        ("9.8", "flame_height", "25"),
        ("19.7", "drip", ""),
        ("22.8", "flame_height", "40"),
        ("30.2", "withdrawn", ""),
        ("38.6", "flame_out", ""),
        ("60.9", "watch_ends", ""),
    )
)
LAYER_CATCHES = Course(
    (
        ("6.5", "ignites", "bright"),
        ("10.0", "flame_height", "35"),
        ("18.0", "drip", ""),
        ("21.9", "drip", ""),
        ("22.4", "layer_catches", ""),
        ("24.0", "flame_height", "55"),
        ("30.2", "withdrawn", ""),
        ("31.4", "layer_out", ""),
        ("43.5", "flame_out", ""),
        ("61.5", "watch_ends", ""),
    )
)


def run_trial(specimen: Specimen, technician: User, course: Course, *, at: datetime, sign: bool = True) -> Trial:
    """Open a trial at `at`, set the rig up, watch `course`, and sign what the rule says."""
    instruments: dict[str, Instrument | None] = {}
    job = specimen.order_line.jobs.get(superseded_at=None)
    for mounting in Mounting.objects.filter(rig=job.rig, removed_at=None).select_related("instrument"):
        instruments[mounting.instrument.kind] = mounting.instrument
    trial = open_trial(by=technician, at=at, specimen=specimen, instruments=instruments)
    enter_setup_values(by=technician, at=at + timedelta(minutes=2), trial_id=trial.pk, values=SETUP)
    contact_s = Decimal(420)
    events = [
        _event(trial, contact_s, Decimal(20 * step - 120), READING_KIND, str(_reading_c(trial.severity, step)))
        for step in range(7)
    ]
    events.append(_event(trial, contact_s, Decimal("0.0"), "contact", ""))
    events += [_event(trial, contact_s, Decimal(t_s), kind, value) for t_s, kind, value in course.events]
    for event in events:
        _record(trial, technician, event)
    ended_at = trial.opened_at + timedelta(seconds=float(contact_s) + 70)
    add_findings(
        by=technician, at=ended_at + timedelta(minutes=3), trial_id=trial.pk, findings={"consumed": course.consumed}
    )
    _take_photo(trial, technician, ended_at + timedelta(minutes=4))
    if sign:
        _, verdict = judged(trial)
        sign_trial(
            by=technician,
            at=ended_at + timedelta(minutes=8),
            trial_id=trial.pk,
            looked_at=verdict_fingerprint(verdict),
        )
    return trial


def _record(trial: Trial, technician: User, event: BenchEvent) -> None:
    received_at = (event.device_at or trial.opened_at) + timedelta(milliseconds=200)
    [answer] = record_events(by=technician, at=received_at, trial_id=trial.pk, events=[event])
    if answer.status != "saved":
        raise RuntimeError(f"the demo’s own trial was refused: {answer.sentence}")


def _reading_c(severity: Decimal, step: int) -> Decimal:
    """A tip that rises, then holds still for the last minute and a half."""
    offsets = ("-6.2", "-1.1", "0.6", "0.9", "0.4", "0.8", "0.5")
    return severity + Decimal(offsets[step])


def _event(trial: Trial, contact_s: Decimal, t_s: Decimal, kind: str, value: str) -> BenchEvent:
    steady_s = contact_s + t_s
    reading = kind == READING_KIND
    return BenchEvent(
        key=uuid.uuid4(),
        kind=kind,
        steady_s=steady_s,
        t_s=None if reading else t_s,
        value=value,
        device_at=trial.opened_at + timedelta(milliseconds=int(steady_s * 1000)),
    )


def _take_photo(trial: Trial, technician: User, at: datetime) -> None:
    photo = SimpleUploadedFile("after.jpg", photo_after_trial(), content_type="image/jpeg")
    keep_trial_photo(by=technician, at=at, trial_id=trial.pk, photo=photo, caption="After the trial, hood on again")
