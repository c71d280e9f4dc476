"""What was known of instruments and rigs at a past moment: where they stood, who made them, from their books."""

from collections import defaultdict
from collections.abc import Iterable
from copy import copy
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from calibration.models import Instrument, Rig
from labsite.ledger.models import Entry, Place

_INSTRUMENT = {
    "number": "number",
    "code": "code",
    "kind": "kind",
    "description": "description",
    "maker": "maker",
    "model": "model_name",
    "serial number": "serial_number",
    "software version": "software_version",
    "firmware version": "firmware_version",
    "thermocouple type": "thermocouple_type",
    "tolerance class": "tolerance_class",
    "owner": "owner",
    "maintenance plan": "maintenance_plan",
    "range": "range_text",
    "resolution": "resolution_text",
}
"""Names in the ledger and the columns they stand for; the place is kept by its code beside them."""
_RIG = {"code": "code", "name": "name", "kind": "kind", "in use": "in_use"}


@dataclass(frozen=True, slots=True)
class Known[Thing: (Instrument, Rig)]:
    """A thing with its facts as of a moment. It is a copy to look at, never to save.

    `sure` is False where its book says nothing of that time: then the facts are those of today.
    """

    thing: Thing
    sure: bool = True


def instrument_facts(instrument: Instrument) -> dict[str, Any]:
    """What the ledger keeps of an instrument when it is registered or changed."""
    return _facts(instrument, _INSTRUMENT)


def rig_facts(rig: Rig) -> dict[str, Any]:
    """What the ledger keeps of a rig when it is registered or changed."""
    return _facts(rig, _RIG)


def instruments_as_known(instruments: Iterable[Instrument], at: datetime) -> dict[int, Known[Instrument]]:
    """Each instrument with its facts as they stood at `at`, by primary key; two reads however many there are."""
    return _as_known(instruments, at, _INSTRUMENT)


def rigs_as_known(rigs: Iterable[Rig], at: datetime) -> dict[int, Known[Rig]]:
    """Each rig with its facts as they stood at `at`, by primary key; two reads however many there are."""
    return _as_known(rigs, at, _RIG)


def instrument_then(instrument: Instrument, at: datetime) -> Instrument:
    """One instrument with its facts as they stood at `at`, to look at and never to save; two reads."""
    return instruments_as_known([instrument], at)[instrument.pk].thing


def rig_then(rig: Rig, at: datetime) -> Rig:
    """One rig with its facts as they stood at `at`, to look at and never to save; two reads."""
    return rigs_as_known([rig], at)[rig.pk].thing


def _facts(thing: Instrument | Rig, names: dict[str, str]) -> dict[str, Any]:
    columns = {name: getattr(thing, column) for name, column in names.items()}
    facts = {name: value if isinstance(value, bool) else str(value) for name, value in columns.items()}
    return facts | {"place": thing.place.code if thing.place else ""}


def _as_known[Thing: (Instrument, Rig)](
    things: Iterable[Thing], at: datetime, names: dict[str, str]
) -> dict[int, Known[Thing]]:
    things = list(things)
    told: defaultdict[str, list[tuple[datetime, dict[str, Any]]]] = defaultdict(list)
    books = [one.book for one in things]
    entries = Entry.objects.filter(book__name__in=books, data__has_key="after").order_by("book_id", "sequence")
    for book, moment, data in entries.values_list("book__name", "at", "data"):
        if isinstance(data.get("after"), dict) and data["after"].keys() & (names.keys() | {"place"}):
            told[book].append((moment, data))
    places = {place.code: place for place in Place.objects.all()}
    return {one.pk: _one_as_known(one, told[one.book], at, names, places) for one in things}


def _one_as_known[Thing: (Instrument, Rig)](
    thing: Thing,
    told: list[tuple[datetime, dict[str, Any]]],
    at: datetime,
    names: dict[str, str],
    places: dict[str, Place],
) -> Known[Thing]:
    """Later facts are taken back one by one, so that what no entry speaks of stays as it is."""
    seen = copy(thing)
    for moment, data in reversed(told):
        if moment <= at:
            break
        before = data.get("before")
        if isinstance(before, dict):
            for name, value in before.items():
                if name in names:
                    setattr(seen, names[name], value)
            if "place" in before:
                code = before["place"]
                seen.place = places.get(code) or (Place(code=code, name="a place of then") if code else None)
    return Known(seen, sure=any(moment <= at for moment, _ in told))
