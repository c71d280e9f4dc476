"""Climate records of chambers: which there are at a moment, and their readings as one series."""

from collections import OrderedDict, defaultdict
from collections.abc import Collection, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from types import MappingProxyType

import numpy as np
from django.db.models import Q, QuerySet

from calibration.domain.corrections import CorrectionTable
from calibration.domain.status import shown
from calibration.queries.corrections import CalibrationCorrections, calibration_corrections
from specimens.domain.atmospheres import Atmosphere
from specimens.domain.climate_answers import Option, Question
from specimens.domain.climate_archive import unarchived
from specimens.domain.climate_arrays import BoolArray, instant_us, moment
from specimens.domain.climate_corrections import corrected_series, joined
from specimens.domain.climate_series import Series, sampling_interval
from specimens.domain.conditioning import InBand, hours_in_band, in_band, longest_gap
from specimens.models import ClimateRecord, ClimateUpload

Source = tuple[int, int]
"""A chamber and a recorder in it, by their primary keys."""
Instead = Mapping[int, Mapping[str, CorrectionTable]]
"""By the recorder's primary key, corrections by unit."""
NO_OTHER_CORRECTIONS: Instead = MappingProxyType({})

CELSIUS, HUMIDITY = "°C", "% RH"
"""Units in which a recorder's calibration states its points."""

_MOST_READINGS_KEPT = 3_000_000
_decoded: OrderedDict[str, Series] = OrderedDict()
"""Series by their fingerprint, least used first: records never change, so nothing here can become stale."""


@dataclass(frozen=True, slots=True)
class Uncounted:
    """Readings that do not count, from a moment to the end of their record, because of their recorder."""

    from_at: datetime
    until_at: datetime
    reason: str


@dataclass(frozen=True, slots=True)
class Climate:
    """What one recorder recorded in a chamber: the readings, and the same without those that do not count.

    Both carry the corrections of the recorder's calibrations, named in `corrected_by`. `beyond` marks readings outside
    the calibrated range: they count only as being out of band, never as being in it.
    """

    series: Series
    counting: Series
    uncounted: tuple[Uncounted, ...] = ()
    corrected_by: tuple[str, ...] = ()
    beyond: BoolArray | None = None

    @property
    def longest_gap(self) -> timedelta:
        """The longest step between readings over which time counts."""
        return longest_gap(sampling_interval(self.series.times_utc) or timedelta())

    @property
    def last_at(self) -> datetime | None:
        """The last reading."""
        stamps = self.series.times_utc
        return moment(int(stamps[-1].astype("datetime64[us]").astype(np.int64))) if stamps.size else None

    def judged(self, atmosphere: Atmosphere, from_at: datetime, until_at: datetime) -> InBand:
        """How a window of time divides into hours that count and hours that do not."""
        temperature_c, humidity_percent = self.counting.temperature_c, self.counting.humidity_percent
        if self.beyond is not None:
            unproved = self.beyond & in_band(temperature_c, humidity_percent, atmosphere)
            temperature_c = np.where(unproved, np.nan, temperature_c)
        return hours_in_band(
            self.counting.times_utc,
            temperature_c,
            humidity_percent,
            atmosphere=atmosphere,
            from_at=from_at,
            until_at=until_at,
            longest_gap=self.longest_gap,
        )

    def reason_at(self, from_at: datetime, until_at: datetime) -> str:
        """Why the recorder's readings between two moments do not count; empty when it is not for the recorder."""
        reasons = [each.reason for each in self.uncounted if each.from_at < until_at and from_at < each.until_at]
        if not reasons and self.beyond is not None and self._beyond_between(from_at, until_at):
            return "outside the calibrated range of the recorder"
        return reasons[0] if reasons else ""

    def _beyond_between(self, from_at: datetime, until_at: datetime) -> bool:
        stamps = self.series.times_utc.astype("datetime64[us]").astype(np.int64)
        within = (stamps >= instant_us(from_at)) & (stamps <= instant_us(until_at))
        return bool((within & self.beyond).any()) if self.beyond is not None else False


_NOTHING = np.empty(0, dtype=np.float64)
NO_SERIES = Series(np.empty(0, dtype="datetime64[us]"), _NOTHING, _NOTHING)
NO_CLIMATE = Climate(NO_SERIES, NO_SERIES)


def climate_records() -> QuerySet[ClimateRecord]:
    """All records with chamber, recorder, people and the file's name, newest readings first; no bytes are loaded."""
    return (
        ClimateRecord.objects.select_related(
            "chamber", "recorder", "calibration", "file", "attached_by", "withdrawn_by"
        )
        .defer("series", "file__content")
        .order_by("-last_at", "-pk")
    )


def records_known(at: datetime) -> QuerySet[ClimateRecord]:
    """Records attached by `at` and not withdrawn then."""
    return climate_records().filter(Q(withdrawn_at=None) | Q(withdrawn_at__gt=at), attached_at__lte=at)


def record_files() -> QuerySet[ClimateRecord]:
    """Records with their file's bytes."""
    return ClimateRecord.objects.select_related("file").defer("series")


def all_uploads() -> QuerySet[ClimateUpload]:
    """Files that left something open, with chamber, recorder and people; their bytes come when they are asked for."""
    return ClimateUpload.objects.select_related("chamber", "recorder", "file", "by").defer("file__content")


def open_uploads() -> QuerySet[ClimateUpload]:
    """Files that wait for an answer, oldest first, without their bytes."""
    return all_uploads().filter(closed_at=None).order_by("at", "pk")


def questions_of(upload: ClimateUpload) -> tuple[Question, ...]:
    """The questions a kept file leaves open, the answered ones of earlier rounds included."""
    return tuple(
        Question(each["key"], each["text"], tuple(Option(value, label) for value, label in each["options"]))
        for each in upload.open.get("questions", [])
    )


def climates(
    sources: Collection[Source],
    *,
    from_at: datetime,
    until_at: datetime,
    at: datetime,
    instead: Instead = NO_OTHER_CORRECTIONS,
) -> dict[Source, Climate]:
    """What was recorded around a window, for each chamber and recorder, as known at `at`.

    `instead` are corrections that take the place of a recorder's own, for asking what would have counted with them.
    Two queries, which records there are and the readings of those this process has not decoded yet, and three for
    the calibrations of the recorders. Whole records
    are merged, so that the readings on either side of the window are there to judge its ends.
    """
    wanted = Q(pk__in=[])
    for chamber, recorder in set(sources):
        wanted |= Q(chamber=chamber, recorder=recorder)
    records: dict[Source, list[ClimateRecord]] = defaultdict(list)
    for record in records_known(at).filter(wanted, last_at__gte=from_at, first_at__lte=until_at):
        records[record.chamber_id, record.recorder_id].append(record)
    every = [record for many in records.values() for record in many]
    series = decoded_series(every)
    held = {record.calibration_id for record in every if record.calibration_id is not None}
    stated = calibration_corrections(held, at) if held else {}
    return {
        source: _climate(records.get(source, []), series, stated, instead.get(source[1])) for source in set(sources)
    }


def decoded_series(records: Collection[ClimateRecord]) -> dict[str, Series]:
    """The readings of records by their fingerprint; one query for those that are not in this process yet."""
    found = {
        record.series_sha256: _decoded[record.series_sha256] for record in records if record.series_sha256 in _decoded
    }
    missing = {record.series_sha256: record.pk for record in records if record.series_sha256 not in found}
    for key in found:
        _decoded.move_to_end(key)
    if missing:
        rows = ClimateRecord.objects.filter(pk__in=missing.values()).values_list("series_sha256", "series")
        for key, content in rows.iterator(chunk_size=4):
            found[key] = unarchived(bytes(content))
            _keep(key, found[key])
    return found


def forget_decoded() -> None:
    """Empty this process's memory of readings."""
    _decoded.clear()


def _keep(key: str, series: Series) -> None:
    _decoded[key] = series
    kept = sum(each.times_utc.size for each in _decoded.values())
    while _decoded and kept > _MOST_READINGS_KEPT:
        _, dropped = _decoded.popitem(last=False)
        kept -= dropped.times_utc.size


def _climate(
    records: list[ClimateRecord],
    series: dict[str, Series],
    stated: dict[int, CalibrationCorrections],
    instead: Mapping[str, CorrectionTable] | None,
) -> Climate:
    if not records:
        return NO_CLIMATE
    parts = [_corrected(record, series[record.series_sha256], stated, instead) for record in records]
    # records that contradict each other are refused when they are attached
    whole, beyond = joined([part for part, _ in parts], [outside for _, outside in parts])
    uncounted = tuple(
        Uncounted(record.counts_until, record.last_at, record.uncounted_reason)
        for record in records
        if record.counts_until is not None
    )
    words = dict.fromkeys(
        f"{found.code}, calibrated {shown(found.calibrated_on)}"
        for record in records
        if (found := stated.get(record.calibration_id or 0)) is not None and found.tables.keys() & {CELSIUS, HUMIDITY}
    )
    marked = beyond if words else None
    if not uncounted:
        return Climate(whole, whole, corrected_by=tuple(words), beyond=marked)
    stamps = whole.times_utc.astype("datetime64[us]").astype(np.int64)
    out = np.zeros(stamps.shape, dtype=np.bool_)
    for each in uncounted:
        out |= (stamps >= instant_us(each.from_at)) & (stamps <= instant_us(each.until_at))
    counting = Series(
        whole.times_utc, np.where(out, np.nan, whole.temperature_c), np.where(out, np.nan, whole.humidity_percent)
    )
    return Climate(whole, counting, uncounted, tuple(words), marked)


def _corrected(
    record: ClimateRecord,
    series: Series,
    stated: dict[int, CalibrationCorrections],
    instead: Mapping[str, CorrectionTable] | None,
) -> tuple[Series, BoolArray]:
    """A record's readings with what the recorder's calibration adds, where it states points in °C or in % RH."""
    found = stated.get(record.calibration_id or 0)
    own = found.tables if found is not None else {}
    tables = own if instead is None else instead
    return corrected_series(series, tables.get(CELSIUS), tables.get(HUMIDITY))
