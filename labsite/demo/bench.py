"""The demo's trials, run through the same actions as at the bench."""

import uuid
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from decimal import ROUND_CEILING, Decimal

from django.core.files.uploadedfile import SimpleUploadedFile

from calibration.models import Instrument, Mounting
from labsite.demo.pictures import photo_after_trial
from labsite.demo.setups import plausible_setup
from labsite.demo.wires import heating_current_a
from labsite.ledger.models import User
from specimens.models import Specimen
from trials.actions.bench import enter_setup_values, keep_trial_photo, open_trial
from trials.actions.observations import BenchEvent, add_late_observation, record_events
from trials.actions.signing import judged, sign_trial
from trials.domain.methods.base import MethodEdition
from trials.domain.verdicts import verdict_fingerprint
from trials.models import Trial
from trials.queries.methods import edition_by_key, trial_edition
from trials.queries.records import READING_KIND

SETUP = {
    "force_n": "0.96",
    "tissue_g_m2": "18.5",
    "board_mm": "12.0",
    "foil_check_c": "958.9",
    "foil_check_current": "yes",
    "approach_mm_s": "15",
    "tip_wear_percent": "99.2",
    "specimen_form": "complete product",
    "point": "thinnest wall, 20 mm below the upper edge",
    "position": "as in use",
}
"""What these technicians enter for a product under the glow wire; the rest lies well inside the edition's limits."""


@dataclass(frozen=True, slots=True)
class Course:
    """What is seen: (seconds from the start, kind, value), what is found afterwards, what the set-up was."""

    events: tuple[tuple[str, str, str], ...]
    findings: tuple[tuple[str, str], ...] = (("consumed", "no"),)
    setup: Mapping[str, str] = field(default_factory=lambda: SETUP)


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


def run_trial(
    specimen: Specimen, technician: User, course: Course, *, at: datetime, sign: bool = True, tip_off_k: str = "0.0"
) -> Trial:
    """Open a trial at `at`, set the rig up, watch `course`, and sign what the rule says.

    `tip_off_k` is how far from its level the technician let the tip stand.
    """
    instruments = _mounted(specimen)
    trial = open_trial(by=technician, at=at, specimen=specimen, instruments=instruments)
    edition = trial_edition(trial)
    values = plausible_setup(edition, _given(trial, edition) | dict(course.setup))
    enter_setup_values(by=technician, at=at + timedelta(minutes=2), trial_id=trial.pk, values=values)
    step_s = _reading_step_s(edition)
    contact_s = Decimal(300) + 6 * step_s
    events = []
    if edition.steady is not None and trial.severity is not None:
        events += [
            _event(
                trial,
                contact_s,
                step_s * (step - 6),
                READING_KIND,
                str(_reading_c(trial.severity, step) + Decimal(tip_off_k)),
            )
            for step in range(7)
        ]
    events.append(_event(trial, contact_s, Decimal("0.0"), "contact", ""))
    events += [_event(trial, contact_s, Decimal(t_s), kind, value) for t_s, kind, value in course.events]
    for event in events:
        _record(trial, technician, event)
    ended_at = trial.opened_at + timedelta(seconds=float(contact_s + Decimal(course.events[-1][0])))
    for kind, value in course.findings:
        found_at = ended_at + timedelta(minutes=2)
        add_late_observation(by=technician, at=found_at, trial_id=trial.pk, kind=kind, t_s=None, value=value)
    if edition.burns:
        _take_photo(trial, technician, ended_at + timedelta(minutes=3))
    if sign:
        _, verdict = judged(trial)
        if verdict.outcome not in ("pass", "fail"):
            raise RuntimeError(f"the demo’s own trial of {trial.method_key}: {' '.join(verdict.reasons)}")
        sign_trial(
            by=technician,
            at=ended_at + timedelta(minutes=5),
            trial_id=trial.pk,
            looked_at=verdict_fingerprint(verdict),
        )
    return trial


def _given(trial: Trial, edition: MethodEdition) -> dict[str, str]:
    """What the trial itself says: the thickness as labelled and as measured, the level where it is read again."""
    given = {} if trial.severity is None else {"voltage_v": format(trial.severity, "f")}
    if trial.severity is not None and "heating_current_a" in edition.fields_by_key:
        given["heating_current_a"] = heating_current_a(trial.severity, trial.pk)
    thickness_mm = trial.specimen.thickness_mm
    if thickness_mm is None:
        return given
    text = format(thickness_mm, "f")
    offered = {field.key: text for field in edition.setup_fields if field.offered_from == "item thickness"}
    return given | offered | {"thickness_mm": text}


def _mounted(specimen: Specimen) -> dict[str, Instrument | None]:
    """An instrument of the rig for each role the method needs filled, as far as one of its kind is mounted."""
    job = specimen.order_line.jobs.get(superseded_at=None)
    rows = Mounting.objects.filter(rig=job.rig, removed_at=None).select_related("instrument").order_by("pk")
    by_kind: dict[str, list[Instrument]] = {}
    for mounting in rows:
        by_kind.setdefault(mounting.instrument.kind, []).append(mounting.instrument)
    needs = edition_by_key(specimen.order_line.method_key).instruments
    return {need.role: by_kind[need.kind].pop(0) if by_kind.get(need.kind) else None for need in needs}


def _record(trial: Trial, technician: User, event: BenchEvent) -> None:
    received_at = (event.device_at or trial.opened_at) + timedelta(milliseconds=200)
    [answer] = record_events(by=technician, at=received_at, trial_id=trial.pk, events=[event])
    if answer.status != "saved":
        raise RuntimeError(f"the demo’s own trial was refused: {answer.sentence}")


def _reading_step_s(edition: MethodEdition) -> Decimal:
    """Between two readings: 20 s, longer where the temperature must hold longer; four steps cover the window."""
    if edition.steady is None:
        return Decimal(20)
    return max(Decimal(20), (edition.number("steady_window_s") / 4).to_integral_value(ROUND_CEILING))


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
