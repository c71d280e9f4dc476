"""All chambers at a glance, and what waits to go in."""

from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import groupby
from typing import Any

from django.db.models import OuterRef, Q, QuerySet, Subquery

from calibration.models import Instrument, InstrumentKind
from calibration.queries.usability import Usability, usabilities
from labsite.ledger.models import Place
from specimens.domain.atmospheres import ATMOSPHERES, Atmosphere
from specimens.domain.conditioning_state import Need
from specimens.domain.conditioning_words import duration_text, set_text
from specimens.models import ClimateRecord, ClimateUpload, OrderLine, Specimen, StaySpecimen
from specimens.queries.chambers import LastReading, SetInside, chambers, last_reading, sets_of
from specimens.queries.climate import NO_CLIMATE, Climate, climate_records, climates, open_uploads, records_known
from specimens.queries.conditioning import (
    between_stages,
    members_at,
    method_needs,
    source_of,
    waiting_specimens,
)
from specimens.queries.methods import method_offers

_LATELY = timedelta(days=2)


@dataclass(frozen=True, slots=True)
class ChamberRow:
    """One chamber: its last reading against the atmosphere of its last set, and who is inside."""

    chamber: Place
    atmosphere: Atmosphere | None
    recorder: Instrument | None
    last: LastReading | None
    record_until: datetime | None
    inside: tuple[SetInside, ...]

    @property
    def complete(self) -> tuple[SetInside, ...]:
        """Sets inside that have their hours, those of their stage where several come one after the other."""
        return tuple(each for each in self.inside if each.state.stage_ready_at is not None)


@dataclass(frozen=True, slots=True)
class WaitingSet:
    """Specimens of a line that need conditioning and are in no chamber: never yet, or between two stages.

    `needs` are the ways their method knows, or the one stage that comes next.
    """

    line: OrderLine
    numbers: tuple[str, ...]
    method: str
    needs: tuple[Need, ...]

    @property
    def words(self) -> str:
        """The set's numbers."""
        return set_text(self.numbers)

    @property
    def needed(self) -> str:
        """Hours the method asks for, way by way."""
        return " or ".join(", then ".join(duration_text(one.needed_s) for one in _stages(need)) for need in self.needs)

    @property
    def under(self) -> str:
        """The atmospheres the hours are spent in, way by way."""
        return " or ".join(
            ", then ".join(one.atmosphere.title for one in _stages(need) if one.atmosphere) for need in self.needs
        )


@dataclass(frozen=True, slots=True)
class ChamberList:
    """The overview."""

    rows: tuple[ChamberRow, ...]
    waiting: tuple[WaitingSet, ...]
    uploads: tuple[ClimateUpload, ...]

    @property
    def complete(self) -> tuple[SetInside, ...]:
        """Sets in any chamber that may come out."""
        return tuple(each for row in self.rows for each in row.complete)

    @property
    def inside_count(self) -> int:
        """How many sets are inside."""
        return sum(len(row.inside) for row in self.rows)


def chamber_list(at: datetime) -> ChamberList:
    """The overview at `at`; a constant number of queries."""
    places = list(chambers())
    latest, inside = _latest_and_inside(places, at)
    records = _latest_records(places, at)
    sources = {key: source_of(member.stay) for key, member in latest.items()}
    sources = {key: (key, record.recorder_id) for key, record in records.items()} | sources
    since = min([at - _LATELY, *(member.in_at for member in inside)])
    wanted = set(sources.values()) | {source_of(member.stay) for member in inside}
    known = climates(wanted, from_at=since, until_at=at, at=at)
    sets = sets_of(inside, known, at)
    rows = tuple(
        _row(
            place,
            latest.get(place.pk),
            records.get(place.pk),
            known[sources[place.pk]] if place.pk in sources else NO_CLIMATE,
            tuple(each for each in sets if each.stay.chamber_id == place.pk),
            at,
        )
        for place in places
    )
    return ChamberList(rows, waiting_sets(), tuple(open_uploads()))


def _row(
    place: Place,
    latest: StaySpecimen | None,
    record: ClimateRecord | None,
    climate: Climate,
    inside: tuple[SetInside, ...],
    at: datetime,
) -> ChamberRow:
    atmosphere = ATMOSPHERES[latest.stay.atmosphere_key] if latest else None
    recorder = latest.stay.recorder if latest else record.recorder if record else None
    last = last_reading(climate, atmosphere, at) if atmosphere else None
    return ChamberRow(place, atmosphere, recorder, last, record.last_at if record else None, inside)


def _latest_and_inside(places: list[Place], at: datetime) -> tuple[dict[int, StaySpecimen], list[StaySpecimen]]:
    """For each chamber the last specimen that went in, and everybody inside at `at`; two queries."""
    last = StaySpecimen.objects.filter(stay__chamber=OuterRef("pk"), in_at__lte=at).order_by("-in_at", "-pk")
    newest = set(_first_for_each(places, last))
    members = members_at(at).filter(Q(out_at=None) | Q(out_at__gt=at) | Q(pk__in=newest))
    latest, inside = {}, []
    for member in members:
        if member.pk in newest:
            latest[member.stay.chamber_id] = member
        if member.out_at is None or member.out_at > at:
            inside.append(member)
    return latest, inside


def _latest_records(places: list[Place], at: datetime) -> dict[int, ClimateRecord]:
    """The record with the last reading for each chamber; two queries."""
    keys = _first_for_each(places, records_known(at).filter(chamber=OuterRef("pk")))
    return {record.chamber_id: record for record in climate_records().filter(pk__in=keys)}


def _first_for_each(places: list[Place], rows: QuerySet[Any]) -> list[int]:
    found = Place.objects.filter(pk__in=[place.pk for place in places]).annotate(found=Subquery(rows.values("pk")[:1]))
    return [key for key in found.values_list("found", flat=True) if key is not None]


def waiting_sets() -> tuple[WaitingSet, ...]:
    """What waits to go in, by order and line, what is between two stages first; three queries at most."""
    offers = method_offers()
    found = []
    for next_stage, specimens in between_stages():
        line = specimens[0].order_line
        numbers = tuple(specimen.number for specimen in specimens)
        found.append(WaitingSet(line, numbers, offers[line.method_key].short_title, (next_stage,)))
    for line, rows in groupby(sorted(waiting_specimens(), key=_by_line), key=lambda specimen: specimen.order_line):
        needs, offer = method_needs(line.method_key), offers.get(line.method_key)
        if offer is not None and all(need.words for need in needs):
            found.append(WaitingSet(line, tuple(row.number for row in rows), offer.short_title, needs))
    return tuple(found)


def _stages(need: Need) -> tuple[Need, ...]:
    return (need,) if need.earlier is None else (need.earlier, need)


def _by_line(specimen: Specimen) -> tuple[str, int, str]:
    return specimen.order_line.order.number, specimen.order_line.position, specimen.number


def recorders_at(at: datetime) -> list[tuple[Instrument, Usability]]:
    """Hygrometers with whether each may be used at `at`, by code."""
    instruments = list(Instrument.objects.filter(kind=InstrumentKind.HYGROMETER).order_by("code"))
    answers = usabilities(instruments, at)
    return [(instrument, answers[instrument.pk]) for instrument in instruments]
