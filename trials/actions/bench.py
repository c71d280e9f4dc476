"""What a technician does before contact: opens a trial with its instruments, enters the set-up, keeps photos."""

from collections.abc import Mapping
from datetime import datetime
from decimal import Decimal
from typing import Any

from django.core.files.uploadedfile import UploadedFile
from django.db import transaction

from calibration.models import Instrument
from labsite.ledger.actions import keep_file, record_entry
from labsite.ledger.fields import one_line, typed_decimal
from labsite.ledger.models import User
from labsite.ledger.pictures import shown_picture
from labsite.ledger.refusals import Refused
from specimens.models import OrderLine, Specimen
from specimens.queries.orders import reviewed_lines, unanswered_deviations
from trials.actions.equipment_gate import refuse_rig, usable_instruments
from trials.actions.opening import level_to_open, plan_of
from trials.actions.specimen_gate import refuse_place, refuse_specimen
from trials.domain.record_checks import impossibility
from trials.domain.records import RecordError, checked_number
from trials.domain.statements import SetupField
from trials.models import InstrumentUse, Job, SetupValue, SignedVerdict, Trial, TrialPhoto
from trials.queries.authorisations import PERFORM, authorisation_needed
from trials.queries.bench import bench_trials, job_of_specimen, may_perform
from trials.queries.methods import edition_of, trial_edition
from trials.queries.setup_offers import values_of_last_trial
from trials.queries.sheets import line_parameters


@transaction.atomic
def open_trial(
    *,
    by: User,
    at: datetime,
    specimen: Specimen,
    instruments: Mapping[str, Instrument | None],
    severity: Decimal | None = None,
    departure: str = "",
    again_reason: str = "",
    point: str = "",
) -> Trial:
    """Begin a trial on one specimen of a job that is handed to `by`, with an instrument for each role.

    Refused with a sentence unless the person is authorised now, the job stands and is theirs, the line is reviewed
    and free of open deviations, the specimen is conditioned and untested, and every instrument is in calibration.
    Where the order is open, `severity` None takes the level the rule calls for next; another one needs `departure`.
    Where the edition allows it, a tested specimen is tested again at another place: `point` says where, and
    `again_reason` why what was done before cannot matter there.
    """
    line = OrderLine.objects.select_for_update().get(pk=specimen.order_line_id)
    specimen = Specimen.objects.select_for_update().get(pk=specimen.pk)
    job = job_of_specimen(specimen)
    revision, changes = line_parameters(line, at)
    edition = edition_of(line.method_key, changes)
    _refuse_other_hands(job, by)
    authorisation = authorisation_needed(by, line.method_key, PERFORM, at)
    _refuse_unready_line(line)
    state = refuse_specimen(specimen, edition, at)
    level, departure = level_to_open(line, edition, severity, departure)
    again_reason, point = " ".join(again_reason.split()), " ".join(point.split())
    refuse_place(specimen, edition, again_reason, point)
    chosen = usable_instruments(edition, instruments, at)
    refuse_rig(job, edition, at)
    at_level: dict[str, Any] = {"severity": level}  # the column keeps a Decimal's digits
    trial = Trial.objects.create(
        job=job,
        specimen=specimen,
        method_key=line.method_key,
        **at_level,
        departure=departure,
        conditioning_plan=plan_of(edition, state),
        parameter_revision=revision,
        parameter_changes=changes,
        again_reason=again_reason,
        rig=job.rig,
        opened_at=at.replace(microsecond=0),  # zero of the bench clock: whole seconds keep its tenths whole
        opened_by=by,
        authorisation=authorisation,
    )
    for role, (instrument, calibration_id, due_on, permit_id) in chosen.items():
        InstrumentUse.objects.create(
            trial=trial,
            role=role,
            instrument=instrument,
            calibration_id=calibration_id,
            due_on=due_on,
            permit_id=permit_id,
            at=at,
        )
    if point:
        enter_setup_values(by=by, at=at, trial_id=trial.pk, values={edition.point_field: point})
    data = {
        "trial": trial.pk,
        "specimen": specimen.number,
        "method": line.method_key,
        "severity": None if level is None else format(level, "f"),
        "departure": departure,
        "figures": {"revision": revision, "changes": changes},
        "further place": again_reason,
        "rig": job.rig.code,
        "authorisation": authorisation.pk,
        "instruments": {role: instrument.code for role, (instrument, *_) in chosen.items()},
    }
    record_entry(book=line.order.book, act="opened a trial", by=by, at=at, data={"after": data})
    return trial


@transaction.atomic
def enter_setup_values(
    *, by: User, at: datetime, trial_id: int, values: Mapping[str, str], seen: Mapping[str, str] | None = None
) -> list[str]:
    """Enter set-up values as typed; only those that changed are written, each as a new row. Returns their keys.

    `seen` is what the person saw in the fields they changed, None where they saw what holds. Refused, naming the
    field, for a text that is not what the field asks and for a value that is another one by now than was seen; then
    nothing is written.
    """
    trial = writable_trial(trial_id, by)
    edition = trial_edition(trial)
    fields = {field.key: field for field in edition.setup_fields}
    before = {row.key: row.value for row in SetupValue.objects.filter(trial=trial).order_by("pk")}
    after: dict[str, str] = {}
    refusals: list[Refused] = []
    for key, text in values.items():
        if key not in fields:
            raise Refused(f"“{key}” is not a set-up value of {edition.short_standard}.")
        try:
            value = _stored_text(fields[key], text)
        except Refused as refusal:
            refusals.append(refusal)
            value = text
        if value != before.get(key, ""):
            after[key] = value
            refusals += _newer(fields[key], before.get(key, ""), seen)
    if refusals:
        raise Refused(" ".join(one.sentence for one in refusals), field=refusals[0].field)
    for key, value in after.items():
        SetupValue.objects.create(trial=trial, key=key, value=value, at=at, by=by)
    if after:
        was = {key: before.get(key, "") for key in after}
        record_entry(
            book=trial.job.order_line.order.book,
            act="entered set-up values",
            by=by,
            at=at,
            data={"trial": trial.pk, "before": was, "after": after},
        )
    return list(after)


def _newer(field: SetupField, now: str, seen: Mapping[str, str] | None) -> list[Refused]:
    """What is said where a field that is to be changed holds another value by now than the person saw."""
    if seen is None or seen.get(field.key, "") == now:
        return []
    was, what = seen.get(field.key, "") or "nothing", f"{now} {field.unit}".strip() if now else "empty"
    sentence = f"{field.title} is {what} by now, {was} was shown when this page was loaded; look, then save again."
    return [Refused(sentence, field=field.key)]


def take_over_rig_values(*, by: User, at: datetime, trial_id: int) -> list[str]:
    """Enter again what the last trial on this rig had, for values that stay with the rig and are still empty."""
    with transaction.atomic():
        trial = writable_trial(trial_id, by)
        entered = set(SetupValue.objects.filter(trial=trial).exclude(value="").values_list("key", flat=True))
        last = values_of_last_trial(trial, trial_edition(trial))
        values = {key: value for key, value in last.items() if key not in entered}
        if not values:
            raise Refused(f"There is no earlier trial on {trial.rig.code} with values to take over; type them.")
        return enter_setup_values(by=by, at=at, trial_id=trial_id, values=values)


@transaction.atomic
def keep_trial_photo(
    *, by: User, at: datetime, trial_id: int, photo: "UploadedFile[bytes]", caption: str = ""
) -> TrialPhoto:
    """Keep a photo of a trial: the original as it is, and the copy that may be shown."""
    trial = writable_trial(trial_id, by)
    name, content = photo.name or "photo", photo.read()
    picture = shown_picture(content, name=name)
    original = keep_file(
        name=name, media_type=photo.content_type or "application/octet-stream", content=content, by=by, at=at
    )
    ending = "png" if picture.media_type == "image/png" else "jpg"
    shown = keep_file(
        name=f"trial-{trial.pk}.{ending}", media_type=picture.media_type, content=picture.content, by=by, at=at
    )
    kept = TrialPhoto.objects.create(trial=trial, file=original, shown=shown, caption=caption, at=at, by=by)
    record_entry(
        book=trial.job.order_line.order.book,
        act="kept a photo of a trial",
        by=by,
        at=at,
        data={"trial": trial.pk, "after": {"file": original.sha256, "caption": caption}},
    )
    return kept


def writable_trial(trial_id: int, by: User) -> Trial:
    """The trial, locked, for its performer to write in; refused for others and once the verdict is signed."""
    trial = locked_trial(trial_id, by)
    if SignedVerdict.objects.filter(trial=trial).exists():
        raise Refused("The verdict on this trial is signed. Enter what is missing as a correction of the trial.")
    return trial


def locked_trial(trial_id: int, by: User) -> Trial:
    """The trial, locked against other writers; refused for anybody but its performer."""
    Trial.objects.select_for_update().get(pk=trial_id)
    trial = bench_trials().get(pk=trial_id)
    if trial.opened_by_id != by.pk:
        raise Refused(f"{trial.opened_by} performs this trial; only they record in it. Change person at the top.")
    return trial


def _refuse_other_hands(job: Job, by: User) -> None:
    if not may_perform(by):
        raise Refused(
            "Trials are performed by technicians, or by a lead who is authorised. Your roles include neither."
        )
    if job.technician_id != by.pk:
        raise Refused(
            f"This job is handed to {job.technician}. A lead can hand it to you from the queue, or change person.",
            field="number",
        )


def _refuse_unready_line(line: OrderLine) -> None:
    if line.pk not in reviewed_lines([line.pk]):
        raise Refused(f"The contract review of order {line.order.number} is not signed at its present version.")
    waiting = unanswered_deviations([line.pk]).get(line.pk, [])
    if waiting:
        raise Refused(f"The client has not answered this deviation yet: {waiting[0].text}")


def _stored_text(field: SetupField, text: str) -> str:
    """The text as kept: a number with a point and its digits, yes or no, one of the choices, or a line of text."""
    text = one_line(text)
    if text == "":
        return ""
    if field.kind == "number":
        try:
            number = typed_decimal(text, thousandths=_to_a_thousandth(field))
            checked_number(number, field.title)
        except RecordError as wrong:
            raise Refused(str(wrong), field=field.key) from None
        except ValueError as wrong:
            raise Refused(f"{field.title}: {wrong}", field=field.key) from None
        if why := impossibility(number, field.unit):
            raise Refused(f"{field.title}: {text} is {why}.", field=field.key)
        return format(number, "f")
    if field.kind == "yes-no" and text not in ("yes", "no"):
        raise Refused(f"{field.title}: yes or no is needed, not “{text}”.", field=field.key)
    if field.kind == "choice" and text not in field.choices:
        raise Refused(f"{field.title}: “{text}” is none of {', '.join(field.choices)}.", field=field.key)
    if len(text) > 200:
        raise Refused(f"{field.title}: 200 characters are kept, this has {len(text)}.", field=field.key)
    return text


def _to_a_thousandth(field: SetupField) -> bool:
    """Whether the field is read to a thousandth or finer, so that “1.760” is no thousand."""
    return field.resolution is not None and field.resolution <= Decimal("0.001")
