"""What happened to an instrument between calibrations, and what that still asks for."""

from collections import defaultdict
from collections.abc import Collection
from datetime import datetime

from django.db.models import QuerySet

from calibration.domain.return_to_service import CheckFact, Happening, lacking_proof
from calibration.models import Calibration, Instrument, InstrumentEvent, IntermediateCheck
from labsite.ledger.models import StoredFile
from labsite.ledger.queries import laboratory_zone

Kind = InstrumentEvent.Kind
HAPPENED = {
    Kind.MOVED: "was moved",
    Kind.SENT_AWAY: "was sent away",
    Kind.RECEIVED_BACK: "came back",
    Kind.LOST: "was lost",
    Kind.FOUND: "was found again",
    Kind.DAMAGED: "was damaged",
    Kind.DOUBTED: "was doubted",
    Kind.REPAIRED: "was repaired",
    Kind.MODIFIED: "was modified",
    Kind.ADJUSTED: "was adjusted",
    Kind.MAINTAINED: "was maintained",
}
"""What each kind says of an instrument, after “it”."""
NEEDS_PROOF = (Kind.DAMAGED, Kind.DOUBTED, Kind.REPAIRED, Kind.MODIFIED, Kind.ADJUSTED)
"""After these it goes back into service only when a calibration or a check has shown that it is right."""
_SAME_DAY = (Kind.REPAIRED, Kind.MODIFIED, Kind.ADJUSTED)
_GONE = {Kind.LOST: Kind.FOUND, Kind.SENT_AWAY: Kind.RECEIVED_BACK}


def events_of(instrument: Instrument, at: datetime) -> QuerySet[InstrumentEvent]:
    """What was told by `at` to have happened to the instrument, latest first; one read."""
    rows = instrument.events.filter(at__lte=at).select_related("by", "place", "file").defer("file__content")
    return rows.order_by("-happened_on", "-at", "-pk")


def event_file(event_id: int) -> QuerySet[StoredFile]:
    """The file kept with an event, if any."""
    return StoredFile.objects.filter(pk__in=InstrumentEvent.objects.filter(pk=event_id).values("file"))


def gone_since(instrument: Instrument, at: datetime) -> InstrumentEvent | None:
    """The event by which the instrument is lost or away at `at`, or None when it is here."""
    return gone_of([instrument.pk], at).get(instrument.pk)


def gone_of(keys: Collection[int], at: datetime) -> dict[int, InstrumentEvent]:
    """The same for many, by primary key, those only that are not here; one read."""
    turns = InstrumentEvent.objects.filter(instrument__in=keys, at__lte=at, kind__in=[*_GONE, *_GONE.values()])
    last = {event.instrument_id: event for event in turns.order_by("at", "pk")}
    return {key: event for key, event in last.items() if event.kind in _GONE}


def lacking_proof_of(instrument: Instrument, at: datetime) -> str:
    """What happened to the instrument and is not answered by a calibration or a check since, as a clause; or empty."""
    return lacking_proofs([instrument.pk], at)[instrument.pk]


def lacking_proofs(keys: Collection[int], at: datetime) -> dict[int, str]:
    """The same for many, by primary key; four reads however many there are."""
    zone = laboratory_zone()
    happenings, days, checks = defaultdict(list), defaultdict(list), defaultdict(list)
    for row in InstrumentEvent.objects.filter(instrument__in=keys, at__lte=at, kind__in=NEEDS_PROOF):
        words = HAPPENED[Kind(row.kind)]
        happenings[row.instrument_id].append(Happening(words, row.happened_on, row.at, row.kind in _SAME_DAY))
    accepted = Calibration.objects.filter(
        instrument__in=keys, decision=Calibration.Decision.ACCEPTED, decided_at__lte=at
    )  # fmt: skip
    for key, day in accepted.values_list("instrument", "calibrated_on"):
        days[key].append(day)
    for check in IntermediateCheck.objects.filter(instrument__in=keys, entered_at__lte=at).exclude(struck_at__lte=at):
        checks[check.instrument_id].append(CheckFact(check.kind, check.checked_at, check.passed))
    return {key: lacking_proof(happenings[key], days[key], checks[key], zone=zone) for key in keys}
