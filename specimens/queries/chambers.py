"""One chamber over a window of time: its climate, who was inside, what did not count and why."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np
from django.db.models import QuerySet

from calibration.models import Instrument
from calibration.queries.usability import Usability, usability
from labsite.ledger.models import Place
from labsite.ledger.queries import laboratory_zone, places_of_kind
from specimens.domain.atmospheres import ATMOSPHERES, Atmosphere
from specimens.domain.climate_arrays import moment
from specimens.domain.conditioning import InBand, Stretch
from specimens.domain.conditioning_state import ConditioningState
from specimens.domain.conditioning_words import (
    duration_text,
    furthest_text,
    moment_text,
    out_of_band_text,
    set_text,
    stretch_text,
)
from specimens.models import ClimateRecord, ClimateUpload, Stay, StaySpecimen, StretchExplanation
from specimens.queries.climate import NO_CLIMATE, Climate, climates, open_uploads, records_known
from specimens.queries.conditioning import histories_of, least_first, members_at, method_needs, source_of, stay_states
from specimens.queries.methods import method_offers

MOST_STRETCHES = 40


@dataclass(frozen=True, slots=True)
class LastReading:
    """The last reading of a chamber. `trouble` is what was outside the band, empty when nothing was."""

    at: datetime
    present: bool
    trouble: str


@dataclass(frozen=True, slots=True)
class SetInside:
    """Specimens of one stay that went in and came out together."""

    stay: Stay
    numbers: tuple[str, ...]
    in_at: datetime
    out_at: datetime | None
    state: ConditioningState
    judged: InBand
    method: str

    @property
    def atmosphere(self) -> Atmosphere:
        """The atmosphere it went in under."""
        return ATMOSPHERES[self.stay.atmosphere_key]

    @property
    def words(self) -> str:
        """The set's numbers."""
        return set_text(self.numbers)

    @property
    def first_number(self) -> str:
        """The number of its first specimen."""
        return self.numbers[0]

    @property
    def rest(self) -> str:
        """The numbers after the first, without its check digit: “ to -012”."""
        return self.words.removeprefix(set_text(self.numbers[:1]))

    @property
    def counted(self) -> str:
        """Hours in band of the stage that this stay is."""
        return duration_text(self.state.stage_counted_s)

    @property
    def not_counted(self) -> str:
        """Hours that were recorded and did not count."""
        return duration_text(self.state.not_counted_s)

    @property
    def needed(self) -> str:
        """Hours the method asks for in this stage."""
        return duration_text(self.state.stage_needed_s) if self.state.stage_needed_s else "none"

    @property
    def missing_record(self) -> str:
        """How long a record is missing that might complete the hours; empty when that would not do."""
        state = self.state
        might_do = 0 < state.stage_needed_s - state.stage_counted_s <= state.awaiting_record_s
        return duration_text(state.awaiting_record_s) if might_do and state.stay_counts else ""

    @property
    def stands(self) -> tuple[str, str]:
        """Shape and word of where the set stands."""
        if not self.state.stay_counts:
            return "hand", "does not count"
        if self.state.inside:
            return ("ready", "complete") if self.state.stage_ready_at else ("wait", "waits")
        return ("done", "out, complete") if self.state.stage_ready_at else ("stop", "out, not complete")


@dataclass(frozen=True, slots=True)
class StretchRow:
    """One stretch that did not count, with the latest explanation that touches it."""

    stretch: Stretch
    what: str
    furthest: str
    explanation: StretchExplanation | None

    @property
    def length(self) -> str:
        """How long it was."""
        return duration_text(self.stretch.duration_s)


@dataclass(frozen=True, slots=True)
class ChamberPage:
    """Everything a chamber's page shows."""

    chamber: Place
    zone: ZoneInfo
    at: datetime
    from_at: datetime
    until_at: datetime
    atmosphere: Atmosphere
    recorder: Instrument | None
    usability: Usability | None
    climate: Climate
    last: LastReading | None
    judged: InBand | None
    sets: tuple[SetInside, ...]
    stretches: tuple[StretchRow, ...]
    records: tuple[ClimateRecord, ...]
    uploads: tuple[ClimateUpload, ...]

    @property
    def inside(self) -> tuple[SetInside, ...]:
        """Sets that are in the chamber now."""
        return tuple(each for each in self.sets if each.state.inside)

    @property
    def complete(self) -> tuple[SetInside, ...]:
        """Sets inside that have their hours, those of their stage where several come one after the other."""
        return tuple(each for each in self.inside if each.state.stage_ready_at is not None)

    @property
    def unshown(self) -> int:
        """How many stretches have no row, because there are so many."""
        return max(0, len(self.judged.not_counted) - len(self.stretches)) if self.judged else 0


def chambers() -> QuerySet[Place]:
    """Conditioning chambers and rooms in use, by code."""
    return places_of_kind(Place.Kind.CHAMBER)


def chamber_page(
    chamber: Place, *, at: datetime, from_at: datetime, until_at: datetime, atmosphere_key: str = ""
) -> ChamberPage:
    """The page of a chamber from `from_at` to `until_at`, as known at `at`; a constant number of queries.

    The climate is that of the recorder of the last stay (else of the last record), judged by the atmosphere of the
    last stay unless another is asked for; each set is judged by its own.
    """
    zone = laboratory_zone()
    latest = members_at(at).filter(stay__chamber=chamber).last()
    records = tuple(records_known(at).filter(chamber=chamber)[:6])
    recorder = latest.stay.recorder if latest else records[0].recorder if records else None
    atmosphere = ATMOSPHERES.get(atmosphere_key) or ATMOSPHERES[_default_atmosphere(latest)]
    members = [
        member
        for member in members_at(at).filter(stay__chamber=chamber, in_at__lt=until_at)
        if member.out_at is None or member.out_at > from_at
    ]
    sources = {source_of(member.stay) for member in members} | ({(chamber.pk, recorder.pk)} if recorder else set())
    begin = min([from_at, *(member.in_at for member in members)])
    known = climates(sources, from_at=begin, until_at=at, at=at)
    climate = known[chamber.pk, recorder.pk] if recorder else NO_CLIMATE
    judged = _judged(climate, atmosphere, from_at, until_at)
    return ChamberPage(
        chamber=chamber,
        zone=zone,
        at=at,
        from_at=from_at,
        until_at=until_at,
        atmosphere=atmosphere,
        recorder=recorder,
        usability=usability(recorder, at) if recorder else None,
        climate=climate,
        last=last_reading(climate, atmosphere, at),
        judged=judged,
        sets=sets_of(members, known, at),
        stretches=_stretch_rows(chamber, climate, atmosphere, judged, at),
        records=records,
        uploads=tuple(open_uploads().filter(chamber=chamber)),
    )


def _default_atmosphere(latest: StaySpecimen | None) -> str:
    return latest.stay.atmosphere_key if latest else next(iter(ATMOSPHERES))


def _judged(climate: Climate, atmosphere: Atmosphere, from_at: datetime, until_at: datetime) -> InBand | None:
    """The part of the window there is a record of; None without any."""
    stamps = climate.series.times_utc
    if climate.last_at is None:
        return None
    first = moment(int(stamps[0].astype("datetime64[us]").astype(np.int64)))
    begin, end = max(from_at, first), min(until_at, climate.last_at)
    return climate.judged(atmosphere, begin, end) if begin < end else None


def last_reading(climate: Climate, atmosphere: Atmosphere, at: datetime) -> LastReading | None:
    """The last reading, whether it still speaks for now, and what is outside the band."""
    last_at = climate.last_at
    if last_at is None:
        return None
    series = climate.series
    trouble = out_of_band_text(float(series.temperature_c[-1]), float(series.humidity_percent[-1]), atmosphere)
    return LastReading(last_at, last_at >= at - climate.longest_gap, trouble)


def sets_of(
    members: Iterable[StaySpecimen], known: dict[tuple[int, int], Climate], at: datetime
) -> tuple[SetInside, ...]:
    """Members grouped into sets, first in first, each as its least conditioned specimen; five queries at most."""
    groups: dict[tuple[int, datetime, datetime | None], list[StaySpecimen]] = defaultdict(list)
    for member in members:
        groups[member.stay_id, member.in_at, member.out_at].append(member)
    stays = Stay.objects.select_related("order_line__order", "chamber").in_bulk({key[0] for key in groups})
    histories = histories_of((member for many in groups.values() for member in many), at)
    pairs = [
        (histories[member.pk], method_needs(stays[key[0]].order_line.method_key))
        for key, many in groups.items()
        for member in many
    ]
    states = stay_states(pairs, at)
    offers = method_offers()
    found = []
    for (stay_id, in_at, _), many in groups.items():
        stay, state = stays[stay_id], min((states[member.pk] for member in many), key=least_first)
        offer = offers.get(stay.order_line.method_key)
        judged = known[source_of(stay)].judged(ATMOSPHERES[stay.atmosphere_key], in_at, state.taken_out_at or at)
        numbers = tuple(sorted(member.specimen.number for member in many))
        method = offer.short_title if offer else stay.order_line.method_key
        found.append(SetInside(stay, numbers, in_at, state.taken_out_at, state, judged, method))
    return tuple(sorted(found, key=lambda each: (each.in_at, each.numbers)))


def _stretch_rows(
    chamber: Place, climate: Climate, atmosphere: Atmosphere, judged: InBand | None, at: datetime
) -> tuple[StretchRow, ...]:
    """The longest stretches in the order of time, each with its explanation; one query."""
    if judged is None or not judged.not_counted:
        return ()
    said = list(
        StretchExplanation.objects.filter(
            chamber=chamber, at__lte=at, from_at__lt=judged.until_at, until_at__gt=judged.from_at
        )
        .select_related("by")
        .order_by("-at", "-pk")
    )
    longest = sorted(judged.not_counted, key=lambda stretch: -stretch.duration_s)[:MOST_STRETCHES]
    rows = []
    for stretch in sorted(longest, key=lambda stretch: stretch.from_at):
        reason = climate.reason_at(stretch.from_at, stretch.until_at) if stretch.kind == "fault" else ""
        what = reason or stretch_text(stretch.kind, atmosphere)
        rows.append(StretchRow(stretch, what, furthest_text(stretch), _explanation(stretch, said)))
    return tuple(rows)


def _explanation(stretch: Stretch, said: Sequence[StretchExplanation]) -> StretchExplanation | None:
    """The explanation that covers most of a stretch, the latest of equals; None when none touches it."""

    def covered(each: StretchExplanation) -> timedelta:
        return min(each.until_at, stretch.until_at) - max(each.from_at, stretch.from_at)

    touching = [each for each in said if covered(each) > timedelta()]
    return max(touching, key=covered, default=None)


def inside_words(page: ChamberPage) -> str:
    """When the sets that wait come free: the latest expected moment."""
    waiting = [
        each.state.expected_at for each in page.inside if each.state.expected_at and not each.state.stage_ready_at
    ]
    return moment_text(max(waiting), page.zone, page.at) if waiting else ""
