"""Registering instruments, changing what is known of them, taking them out of service and back."""

from datetime import datetime
from typing import Any

from django.db import transaction

from calibration.actions.codes import check_code
from calibration.models import Instrument, InstrumentEvent, InstrumentKind, ServiceChange
from calibration.queries.events import gone_since, lacking_proof_of
from calibration.queries.known_facts import instrument_facts
from labsite.ledger.actions import record_entry, take_next
from labsite.ledger.models import Place, Role, User
from labsite.ledger.numbering import instrument_number
from labsite.ledger.refusals import Refused

SERIES = "instruments"
_PAIR = ("kind", "thermocouple_type", "tolerance_class")
IN_SERVICE, OUT_OF_SERVICE = ServiceChange.State.IN_SERVICE, ServiceChange.State.OUT_OF_SERVICE


@transaction.atomic
def register_instrument(
    *,
    by: User,
    at: datetime,
    code: str,
    kind: str,
    description: str,
    maker: str = "",
    model_name: str = "",
    serial_number: str = "",
    software_version: str = "",
    firmware_version: str = "",
    thermocouple_type: str = "",
    tolerance_class: str = "",
    owner: str = "",
    maintenance_plan: str = "",
    range_text: str = "",
    resolution_text: str = "",
    place: Place | None = None,
) -> Instrument:
    """Enter an instrument under a new number. It may be used once a calibration of it is accepted."""
    _check_pair(kind, thermocouple_type, tolerance_class)
    serial = take_next(SERIES)  # its lock also lets only one registration at a time look for an equal code
    check_code(code, Instrument.objects.values_list("code", flat=True))
    try:
        number = instrument_number(serial)
    except ValueError:
        raise Refused("All 99999 instrument numbers are given; none is ever used twice.") from None
    instrument = Instrument.objects.create(
        number=number,
        code=code,
        kind=InstrumentKind(kind),
        description=description,
        maker=maker,
        model_name=model_name,
        serial_number=serial_number,
        software_version=software_version,
        firmware_version=firmware_version,
        thermocouple_type=thermocouple_type,
        tolerance_class=tolerance_class,
        owner=owner,
        maintenance_plan=maintenance_plan,
        range_text=range_text,
        resolution_text=resolution_text,
        place=place,
        registered_at=at,
        registered_by=by,
    )
    data = {"after": instrument_facts(instrument)}
    record_entry(book=instrument.book, act="registered the instrument", by=by, at=at, data=data)
    return instrument


@transaction.atomic
def change_instrument(*, by: User, at: datetime, instrument: Instrument, version: int, **facts: Any) -> Instrument:
    """Change what is known of an instrument; refused when somebody changed it since the form was opened."""
    instrument = Instrument.objects.select_for_update(of=("self",)).get(pk=instrument.pk)
    if instrument.version != version:
        raise Refused(
            "Somebody else changed this while you typed. Your typing is kept below; compare, then keep it again."
        )
    if facts["code"] != instrument.code:
        check_code(facts["code"], Instrument.objects.exclude(pk=instrument.pk).values_list("code", flat=True))
    told = {name: facts.get(name, getattr(instrument, name)) for name in _PAIR}
    _check_pair(told["kind"], told["thermocouple_type"], told["tolerance_class"])
    before = instrument_facts(instrument)
    for name, value in facts.items():
        setattr(instrument, name, value)
    instrument.version += 1
    instrument.save()
    data = {"before": before, "after": instrument_facts(instrument)}
    record_entry(book=instrument.book, act="changed the instrument", by=by, at=at, data=data)
    return instrument


@transaction.atomic
def change_service(*, by: User, at: datetime, instrument: Instrument, state: str, reason: str) -> ServiceChange:
    """Take an instrument out of service at once, or put it back; the quality keeper alone puts back.

    It comes back only when it is here, and when a calibration or a check since has answered what happened to it.
    """
    instrument = Instrument.objects.select_for_update(of=("self",)).get(pk=instrument.pk)
    if state == IN_SERVICE and not by.may(Role.QUALITY):
        raise Refused("Only the quality keeper puts an instrument back into service.")
    if not reason.strip():
        raise Refused("Write the reason; it stands on the instrument's page from now on.", field="reason")
    last = instrument.service_changes.order_by("-at", "-pk").first()
    now = IN_SERVICE if last is None else last.state
    if now == state:
        since = "" if last is None else f", by {last.by}: {last.reason}"
        raise Refused(f"{instrument.code} is already {state}{since}")
    if state == IN_SERVICE:
        _check_back(instrument, at)
    change = ServiceChange.objects.create(instrument=instrument, state=state, reason=reason.strip(), at=at, by=by)
    act = "put back into service" if state == IN_SERVICE else "took out of service"
    data = {"before": str(now), "after": str(change.state), "reason": change.reason}
    record_entry(book=instrument.book, act=act, by=by, at=at, data=data)
    return change


def _check_pair(kind: str, thermocouple_type: str, tolerance_class: str) -> None:
    """The pair of wires and its class belong to a thermocouple, and a class to a pair."""
    if thermocouple_type and kind != InstrumentKind.THERMOCOUPLE:
        raise Refused("Only a thermocouple has a thermocouple type.", field="thermocouple_type")
    if tolerance_class and not thermocouple_type:
        raise Refused("A tolerance class belongs to a thermocouple type; say which.", field="tolerance_class")


def _check_back(instrument: Instrument, at: datetime) -> None:
    """ISO/IEC 17025:2017, 6.4.4: verified before it goes back."""
    gone = gone_since(instrument, at)
    if gone is not None:
        word = (
            "lost: record that it was found"
            if gone.kind == InstrumentEvent.Kind.LOST
            else "away: record that it came back"
        )
        raise Refused(f"{instrument.code} is {word} before it goes back into service.")
    lacking = lacking_proof_of(instrument, at)
    if lacking:
        raise Refused(
            f"{instrument.code} stays out of service: {lacking}, and since then no calibration of it was accepted and "
            "no intermediate check passed."
        )
