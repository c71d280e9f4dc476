"""What happens to an instrument: lost, damaged, doubted, sent away, moved, repaired; each by one act."""

from datetime import date, datetime
from typing import Any

from django.db import transaction

from calibration.actions.calibrations import EARLIEST
from calibration.actions.certificate_files import Upload, read_certificate
from calibration.actions.instruments import OUT_OF_SERVICE, change_service
from calibration.domain.status import shown
from calibration.models import Instrument, InstrumentEvent
from calibration.queries.events import HAPPENED, gone_since
from calibration.queries.instruments import service_history
from labsite.ledger.actions import keep_file, record_entry
from labsite.ledger.models import Place, Role, User
from labsite.ledger.queries import laboratory_day
from labsite.ledger.refusals import Refused
from labsite.ledger.wording import mid_sentence

Kind = InstrumentEvent.Kind
KEEPERS_KINDS = (Kind.REPAIRED, Kind.MODIFIED, Kind.ADJUSTED, Kind.MAINTAINED)
"""What the quality keeper alone records; the rest is told by whoever handles the instrument."""
STAYS_IN_SERVICE = (Kind.MOVED, Kind.MAINTAINED)
_ACTS = {
    Kind.MOVED: "moved the instrument",
    Kind.SENT_AWAY: "sent the instrument away",
    Kind.RECEIVED_BACK: "received the instrument back",
    Kind.LOST: "told that the instrument is lost",
    Kind.FOUND: "found the instrument again",
    Kind.DAMAGED: "told that the instrument is damaged",
    Kind.DOUBTED: "put the instrument in doubt",
    Kind.REPAIRED: "recorded a repair",
    Kind.MODIFIED: "recorded a modification",
    Kind.ADJUSTED: "recorded an adjustment",
    Kind.MAINTAINED: "recorded maintenance",
}


@transaction.atomic
def record_event(
    *,
    by: User,
    at: datetime,
    instrument: Instrument,
    kind: str,
    text: str,
    happened_on: date | None = None,
    place: Place | None = None,
    file: Upload | None = None,
    take_out: bool = False,
) -> InstrumentEvent:
    """Record what happened to an instrument, today unless another day is said.

    Anything but a move or maintenance takes it out of service in the same transaction, or leaves it out, until the
    keeper puts it back; with `take_out`, the two presses at the bench, a move does so too and nothing need be
    written. A place, where one is said, is where it stands from now on.
    """
    instrument = Instrument.objects.select_for_update(of=("self",)).get(pk=instrument.pk)
    made, today = Kind(kind), laboratory_day(at)
    day = happened_on or today
    _check(instrument, made, text=text, day=day, today=today, place=place, by=by, at=at, take_out=take_out)
    data: dict[str, Any] = {"happened on": day.isoformat(), "reason": text.strip()}
    kept = None
    if file is not None:
        name, media_type, content = read_certificate(file)
        kept = keep_file(name=name, media_type=media_type, content=content, by=by, at=at)
        data["file"] = kept.sha256
    if place is not None and place != instrument.place:
        data |= {"before": {"place": instrument.place.code if instrument.place else ""}, "after": {"place": place.code}}
        instrument.place = place
        instrument.version += 1
        instrument.save(update_fields=["place", "version"])
    event = InstrumentEvent.objects.create(
        instrument=instrument, kind=made, happened_on=day, text=text.strip(), place=place, file=kept, at=at, by=by
    )
    record_entry(book=instrument.book, act=_ACTS[made], by=by, at=at, data=data)
    if (take_out or made not in STAYS_IN_SERVICE) and not _is_out(instrument, at):
        reason = mid_sentence(str(made.label)) + (f": {event.text}" if event.text else "")
        change_service(by=by, at=at, instrument=instrument, state=OUT_OF_SERVICE, reason=reason[:300])
    return event


def _check(
    instrument: Instrument,
    kind: InstrumentEvent.Kind,
    *,
    text: str,
    day: date,
    today: date,
    place: Place | None,
    by: User,
    at: datetime,
    take_out: bool,
) -> None:
    if kind in KEEPERS_KINDS and not by.may(Role.QUALITY):
        raise Refused("Only the quality keeper records repairs, modifications, adjustments and maintenance.")
    if not text.strip() and not take_out:
        raise Refused("Write what happened; it stands on the instrument's page from now on.", field="text")
    if day > today:
        raise Refused(f"{shown(day)} is in the future; today is {shown(today)} here.", field="happened_on")
    if day < EARLIEST:
        raise Refused(f"{shown(day)} is before {shown(EARLIEST)}; look at the year again.", field="happened_on")
    if kind == Kind.MOVED and place is None and not take_out:
        raise Refused("Say where it was moved to.", field="place")
    if kind == Kind.MOVED and place is not None and place == instrument.place:
        raise Refused(f"{instrument.code} is at {place.code} already.", field="place")
    gone = gone_since(instrument, at)
    if kind == Kind.FOUND and (gone is None or gone.kind != Kind.LOST):
        raise Refused(f"{instrument.code} is not recorded as lost, so it cannot be found again.", field="kind")
    if kind == Kind.RECEIVED_BACK and (gone is None or gone.kind != Kind.SENT_AWAY):
        raise Refused(f"{instrument.code} is not recorded as sent away, so it cannot come back.", field="kind")
    if gone is not None and kind == gone.kind:
        raise Refused(f"{instrument.code} {HAPPENED[kind]} on {shown(gone.happened_on)} already.", field="kind")


def _is_out(instrument: Instrument, at: datetime) -> bool:
    last = service_history(instrument, at).first()
    return last is not None and last.state == OUT_OF_SERVICE
