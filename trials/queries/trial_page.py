"""Everything the page of one trial shows: verdict, course, set-up, rows as recorded, and the rule asked again."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from zoneinfo import ZoneInfo

from django.db.models import QuerySet

from labsite.ledger.queries import laboratory_zone
from labsite.ledger.wording import mid_sentence
from trials.domain.course import Course, course_of
from trials.domain.criteria import Criterion, digits
from trials.domain.methods.base import MethodEdition
from trials.domain.observations import standing
from trials.domain.records import RecordError, TrialRecord
from trials.domain.setup_criteria import value_text
from trials.domain.verdicts import Verdict, verdict_bytes
from trials.models import InstrumentUse, Observation, Trial, TrialPhoto
from trials.queries.budgets import UncertainFigure, slug_of, stated_at, uncertain_figures
from trials.queries.judged_again import JudgedAgain, judged_again
from trials.queries.methods import severity_words, trial_edition
from trials.queries.records import READING_KIND, TAKEN_BACK_KIND, seconds_from_contact, trial_record
from trials.queries.results import LineStanding, TrialStanding, line_standing
from trials.queries.shown_corrections import ShownCorrection, shown_corrections

LATE_S = Decimal(2)
"""A row that arrived later than this after it was pressed was kept on the tablet meanwhile."""


FIRST_LOOKED_AT = ("temperature", "steady", "application", "force_n", "conditioned", "used_within")
"""Keys of the set-up criteria a reader asks for first, as far as a method has them."""


@dataclass(frozen=True, slots=True)
class ShownRow:
    """One observation as it stands, with what it replaced; `gone` says that it was taken back.

    `was` are the earlier values, `why` the reasons, oldest first; `clock` and `delay` are the device's time of day
    and how much later the server had the row.
    """

    row: Observation
    title: str
    t: str
    value: str
    was: tuple[str, ...]
    why: tuple[str, ...]
    clock: str
    delay: str
    late: bool
    gone: bool


@dataclass(frozen=True, slots=True)
class TrialPage:
    """The page of one trial. `judged` is what the rule says now; `same` None while nothing is signed."""

    trial: Trial
    edition: MethodEdition
    standing: TrialStanding
    line: LineStanding
    verdict: Verdict | None
    judged: Verdict | None
    fault: str
    same: bool | None
    again: JudgedAgain
    course: Course | None
    rows: tuple[ShownRow, ...]
    readings: tuple[ShownRow, ...]
    instruments: tuple[InstrumentUse, ...]
    photos: tuple[TrialPhoto, ...]
    room: str
    layer: str
    corrections: tuple[ShownCorrection, ...]
    uncertain: tuple[UncertainFigure, ...]

    @property
    def severity(self) -> str:
        """The severity with its unit."""
        return severity_words(self.trial.method_key, self.trial.severity)

    @property
    def summary(self) -> str:
        """How many criteria hold, in words."""
        if self.verdict is None:
            return ""
        return f"{_held(self.verdict.criteria)} criteria met; of the set-up {_held(self.verdict.setup_criteria)}"

    @property
    def setup_shown(self) -> tuple[Criterion, ...]:
        """The set-up criteria that are looked at first, and all that do not hold."""
        criteria = () if self.verdict is None else self.verdict.setup_criteria
        return tuple(one for one in criteria if one.key in FIRST_LOOKED_AT or one.holds is not True)

    @property
    def setup_rest(self) -> tuple[Criterion, ...]:
        """The other set-up criteria, all of which hold."""
        criteria = () if self.verdict is None else self.verdict.setup_criteria
        return tuple(one for one in criteria if one.key not in FIRST_LOOKED_AT and one.holds is True)

    @property
    def latest_s(self) -> Decimal | None:
        """The last moment for flames and glow, in s from contact, where the method has one."""
        if self.verdict is None:
            return None
        return next((q.value for q in self.verdict.quantities if q.key == "latest"), None)


def _held(criteria: Sequence[Criterion]) -> str:
    return f"{sum(one.holds is True for one in criteria)} of {len(criteria)}"


def trials_for_page() -> QuerySet[Trial]:
    """Trials with all that their page needs."""
    return Trial.objects.select_related(
        "specimen__item__receipt__received_by", "specimen__order_line__order__client", "job__order_line__order__client",
        "job__technician", "rig__place", "opened_by", "authorisation",
    )  # fmt: skip


def trial_page(trial: Trial) -> TrialPage:
    """One trial as its page shows it."""
    edition = trial_edition(trial)
    line = line_standing(trial.job.order_line)
    own = next(one for one in line.trials if one.trial.pk == trial.pk)
    record, course, judged, fault = _judged(edition, trial)
    verdict = own.verdict or judged
    same = None if own.verdict is None else judged is not None and verdict_bytes(judged) == verdict_bytes(own.verdict)
    rows = list(Observation.objects.filter(trial=trial).select_related("by").order_by("pk"))
    shown = shown_rows(edition, rows, trial)
    uses = InstrumentUse.objects.filter(trial=trial).select_related("instrument").order_by("pk")
    photos = TrialPhoto.objects.filter(trial=trial).select_related("by").order_by("at", "pk")
    return TrialPage(
        trial=trial,
        edition=edition,
        standing=own,
        line=line,
        verdict=verdict,
        judged=judged,
        fault=fault,
        same=same,
        again=judged_again(own, record, judged, fault),
        course=course,
        rows=tuple(row for row in shown if row.row.kind != READING_KIND),
        readings=tuple(row for row in shown if row.row.kind == READING_KIND),
        instruments=tuple(uses),
        photos=tuple(photos),
        room=_setup_words(edition, record, ("room_temperature_c", "room_humidity_percent", "light_lx")),
        layer=_setup_words(edition, record, ("layer_distance_mm",)),
        corrections=shown_corrections(edition, record),
        uncertain=_uncertain(trial, verdict),
    )


def _uncertain(trial: Trial, verdict: Verdict | None) -> tuple[UncertainFigure, ...]:
    """The figures with the uncertainty in force when the trial was opened; one query."""
    return () if verdict is None else uncertain_figures(trial, verdict, stated_at(slug_of(trial), trial.opened_at))


def shown_rows(edition: MethodEdition, rows: Sequence[Observation], trial: Trial) -> list[ShownRow]:
    """The rows as they stand, in order of time, each with what it replaced; rows taken back stay, struck through."""
    by_key = {row.pk: row for row in rows}
    replaced = {row.replaces_id for row in rows if row.replaces_id is not None}
    last = [row for row in rows if row.pk not in replaced]
    contact = next((row for row in last if row.kind == "contact"), None)
    zero_at = (contact.device_at or contact.received_at) if contact else trial.opened_at
    zone = laboratory_zone()
    shown = [_shown(edition, row, by_key, contact, zero_at, zone) for row in last]
    far = Decimal("Infinity")
    moments = {one.row.pk: seconds_from_contact(one.row, contact, zero_at) for one in shown}
    return sorted(shown, key=lambda one: (moment if (moment := moments[one.row.pk]) is not None else far, one.row.pk))


def _judged(edition: MethodEdition, trial: Trial) -> tuple[TrialRecord | None, Course | None, Verdict | None, str]:
    record: TrialRecord | None = None
    course: Course | None = None
    try:
        record = trial_record(trial)
        course = course_of(edition, standing(record.observations))
        return record, course, edition.judge(record), ""
    except RecordError as wrong:
        return record, course, None, str(wrong)


def _shown(
    edition: MethodEdition,
    row: Observation,
    by_key: dict[int, Observation],
    contact: Observation | None,
    zero_at: datetime,
    zone: ZoneInfo,
) -> ShownRow:
    gone = row.kind == TAKEN_BACK_KIND
    was, why = [], []
    link = row
    while link.replaces_id is not None and link.replaces_id in by_key:
        before = by_key[link.replaces_id]
        was.append(_figure(edition, before, contact, zero_at))
        why.append(link.reason)
        link = before
    kind = row.kind if not gone else by_key[row.replaces_id].kind if row.replaces_id in by_key else row.kind
    titles = {one.key: one.title for one in edition.observation_kinds} | {READING_KIND: _probe(edition)}
    delay = None if row.device_at is None else Decimal(str((row.received_at - row.device_at).total_seconds()))
    return ShownRow(
        row=row,
        title=titles.get(kind, kind.replace("_", " ")),
        t="" if gone else _moment(row, contact, zero_at),
        value="" if gone else _value(edition, row),
        was=tuple(reversed(was)),
        why=tuple(reversed(why)),
        clock="" if row.device_at is None else _clock(row.device_at.astimezone(zone)),
        delay="" if delay is None else f"{round(delay, 1):+f} s",
        late=delay is not None and delay > LATE_S,
        gone=gone,
    )


def _probe(edition: MethodEdition) -> str:
    """What is read until it is steady, as a row of the trial names it."""
    return "Temperature" if edition.steady is None else f"Temperature, {mid_sentence(edition.steady.title)}"


def _clock(at: datetime) -> str:
    return f"{at:%H:%M:%S}.{at.microsecond // 100000}"


def _moment(row: Observation, contact: Observation | None, zero_at: datetime) -> str:
    seconds = seconds_from_contact(row, contact, zero_at) if row.t_s is not None or row.kind == READING_KIND else None
    return "" if seconds is None else f"{digits(seconds)} s"


def _figure(edition: MethodEdition, row: Observation, contact: Observation | None, zero_at: datetime) -> str:
    return ", ".join(word for word in (_moment(row, contact, zero_at), _value(edition, row)) if word) or "recorded"


def _value(edition: MethodEdition, row: Observation) -> str:
    if row.kind == READING_KIND:
        return f"{row.value} °C"
    kind = next((one for one in edition.observation_kinds if one.key == row.kind), None)
    return f"{row.value} {kind.unit}".strip() if kind is not None and row.value else row.value


def _setup_words(edition: MethodEdition, record: TrialRecord | None, keys: Sequence[str]) -> str:
    """Some set-up values in words, those that were recorded."""
    if record is None:
        return ""
    fields = {field.key: field for field in edition.setup_fields}
    return ", ".join(
        value_text(record.setup[key], fields[key].unit)
        for key in keys
        if key in fields and record.setup.get(key) is not None
    )
