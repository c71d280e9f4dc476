"""A rig, a job and conditioned specimens: all that must be right before a trial can be opened."""

import uuid
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from hashlib import sha256
from typing import Any

import numpy as np

from calibration.models import Calibration, Instrument, Mounting, Rig
from labsite.ledger.actions import keep_file
from labsite.ledger.models import Place, User
from labsite.ledger.numbering import instrument_number, order_number, piece_number
from specimens.domain.climate_archive import archived
from specimens.domain.climate_series import Series
from specimens.models import (
    Client,
    ClimateRecord,
    Contact,
    ContractReview,
    DecisionRule,
    Item,
    Order,
    OrderLine,
    Receipt,
    Specimen,
    Stay,
    StaySpecimen,
)
from tests.factories.ledger import NOON, LaboratoryFactory, UserFactory
from trials.actions.bench import open_trial
from trials.actions.observations import BenchEvent
from trials.domain.methods.registry import method_edition
from trials.models import Authorisation, Job, Trial

METHOD = "glow-wire-end-product@2021"
KINDS = {
    "TC-05": "thermocouple",
    "IN-02": "indicator",
    "FG-02": "force gauge",
    "TM-01": "timer",
    "LG-01": "length gauge",
    "AM-01": "ammeter",
}
SETUP = {
    "force_n": "0.96",
    "tip_clean": "yes",
    "new_layer": "yes",
    "hood_off": "yes",
    "light_lx": "12",
    "penetration_mm": "7.0",
    "layer_distance_mm": "200",
    "tissue_g_m2": "21.0",
    "board_mm": "10.0",
    "chamber_m3": "0.60",
    "thermocouple_mm": "1.0",
    "foil_check_c": "960.4",
}
"""A set-up inside every limit of the 2021 edition, as a technician types it."""


@dataclass
class Scene:
    """What a bench test works with."""

    technician: User
    lead: User
    rig: Rig
    instruments: dict[str, Instrument]
    line: OrderLine
    job: Job
    specimens: list[Specimen]
    authorisation: Authorisation
    at: datetime

    def by_role(self) -> dict[str, Instrument | None]:
        """The rig's instruments by the role they play."""
        roles = {need.role: need.kind for need in method_edition(self.line.method_key).instruments}
        by_kind = {one.kind: one for one in self.instruments.values()}
        return {role: by_kind[kind] for role, kind in roles.items()}


def bench_scene(
    at: datetime,
    *,
    specimens: int = 2,
    hours: int = 30,
    serial: int = 1,
    method: str = METHOD,
    severity: str | None = "850",
    conditioned: int | None = None,
) -> Scene:
    """A technician's job on a rig with conditioned specimens taken out half an hour before `at`.

    Any edition will do: rig, instruments and authorisation are those it asks for. `conditioned`: only so many of the
    specimens, the others by `stayed`.
    """
    edition = method_edition(method)
    kinds = KINDS if method == METHOD else {f"{need.kind} {serial}": need.kind for need in edition.instruments}
    LaboratoryFactory()
    technician = UserFactory.create(username=f"tech{serial}", full_name="Tess Technician", roles=["technician"])
    lead = UserFactory.create(username=f"lead{serial}", full_name="Lena Lead", roles=["lead"])
    rig = Rig.objects.create(code=f"GW-{serial}", name="Rig of the tests", kind=edition.rig_kind)
    instruments = {
        code: instrument(place + 10 * serial, code if serial == 1 else f"{code}/{serial}", kind, lead, at, rig=rig)
        for place, (code, kind) in enumerate(kinds.items())
    }
    line, pieces = _order(lead, at, specimens, serial, method, severity)
    recorder = instrument(9 + 10 * serial, f"HY-0{serial}", "hygrometer", lead, at)
    if method != METHOD:
        hours = max(hours, int(edition.number(edition.conditioning.hours)) + 6)
    out_at, atmosphere = at - timedelta(minutes=30), edition.conditioning.atmosphere
    stayed(line, pieces[:conditioned], recorder, lead, atmosphere=atmosphere, hours=hours, out_at=out_at)
    authorisation = Authorisation.objects.create(
        person=technician,
        method_key=method,
        activity="perform",
        from_on=(at - timedelta(days=90)).date(),
        granted_at=at - timedelta(days=90),
        granted_by=lead,
    )
    job = Job.objects.create(
        order_line=line, technician=technician, rig=rig, handed_at=at - timedelta(hours=1), handed_by=lead
    )
    return Scene(technician, lead, rig, instruments, line, job, pieces, authorisation, at)


def instrument(
    serial: int, code: str, kind: str, by: User, at: datetime, *, rig: Rig | None = None, days_ago: int = 60
) -> Instrument:
    """An instrument calibrated `days_ago` for a year, mounted on `rig` if one is given."""
    made = Instrument.objects.create(
        number=instrument_number(serial),
        code=code,
        kind=kind,
        description=f"{kind} of the tests",
        registered_at=at - timedelta(days=900),
        registered_by=by,
    )
    calibrated_at = at - timedelta(days=days_ago)
    Calibration.objects.create(
        instrument=made,
        calibrated_on=calibrated_at.date(),
        interval=12,
        calibrated_by="Example Calibrations",
        entered_at=calibrated_at,
        entered_by=by,
        decision="accepted",
        decided_at=calibrated_at,
        decided_by=by,
    )
    if rig is not None:
        Mounting.objects.create(rig=rig, instrument=made, mounted_at=at - timedelta(days=30), mounted_by=by)
    return made


def _order(
    by: User, at: datetime, count: int, serial: int, method: str, severity: str | None
) -> tuple[OrderLine, list[Specimen]]:
    client = Client.objects.create(name="Example Plugs", address="Sample Street 1")
    contact = Contact.objects.create(client=client, name="Carla Contact")
    number = order_number(26, serial)
    taken_at = at - timedelta(days=5)
    order = Order.objects.create(number=number, client=client, contact=contact, taken_at=taken_at, taken_by=by)
    line = OrderLine.objects.create(
        order=order,
        position=1,
        method_key=method,
        severity=severity,
        specimens_ordered=1,
        decision_rule=DecisionRule.IN_STANDARD,
        subject="Plug insert",
    )
    line.refresh_from_db()
    ContractReview.objects.create(
        order=order,
        order_version=order.version,
        signed_at=taken_at,
        signed_by=by,
        agreed_with="Carla Contact",
        agreed_on=taken_at.date(),
    )
    receipt = Receipt.objects.create(
        order=order, came_at=taken_at, brought_by="post", outside="sound", received_at=taken_at, received_by=by
    )
    item = Item.objects.create(
        number=piece_number(number, 1),
        receipt=receipt,
        order_line=line,
        description="Plug insert",
        material="UP-GF20",
        colour="grey",
        counted=count,
        condition="sound",
    )
    pieces = [
        Specimen.objects.create(number=piece_number(number, 2 + n), item=item, order_line=line, made_at=taken_at)
        for n in range(count)
    ]
    return line, pieces


def stayed(
    line: OrderLine,
    pieces: list[Specimen],
    recorder: Instrument,
    by: User,
    *,
    atmosphere: str,
    hours: int,
    out_at: datetime,
    air: tuple[float, float] = (23.0, 50.0),
) -> None:
    """Let pieces lie in a chamber of the recorder's own at `air` in °C and % RH, and take them out at `out_at`."""
    chamber = Place.objects.create(code=f"C-{recorder.pk}", name="Conditioned room", kind=Place.Kind.CHAMBER)
    in_at = out_at - timedelta(hours=hours)
    first_at = (in_at - timedelta(hours=1)).astimezone(UTC)
    count = 12 * (hours + 2)
    times = np.datetime64(first_at.replace(tzinfo=None), "us") + np.arange(count) * np.timedelta64(300, "s")
    series = archived(Series(times, np.full(count, air[0]), np.full(count, air[1])))
    ClimateRecord.objects.create(
        chamber=chamber,
        recorder=recorder,
        file=keep_file(name="climate.csv", media_type="text/csv", content=b"times", by=by, at=out_at),
        first_at=first_at,
        last_at=first_at + timedelta(minutes=5 * (count - 1)),
        rows=count,
        interval_s=300.0,
        series=series,
        series_sha256=sha256(series).hexdigest(),
        attached_at=out_at,
        attached_by=by,
    )
    stay = Stay.objects.create(order_line=line, chamber=chamber, atmosphere_key=atmosphere, recorder=recorder)
    for piece in pieces:
        StaySpecimen.objects.create(stay=stay, specimen=piece, in_at=in_at, in_by=by, out_at=out_at, out_by=by)


def opened_trial(scene: Scene, number: int = 0, **asked: Any) -> Trial:
    """An open trial on one of the scene's specimens."""
    specimen, instruments = scene.specimens[number], scene.by_role()
    return open_trial(by=scene.technician, at=scene.at, specimen=specimen, instruments=instruments, **asked)


def key(number: int) -> uuid.UUID:
    """A key that tells rows apart and stays the same from run to run."""
    return uuid.UUID(int=number)


def pressed(number: int, kind: str, t_s: str | None = None, value: str = "", **more: Any) -> BenchEvent:
    """One press, `t_s` seconds after contact; contact comes 70 s after opening on the bench clock."""
    seconds = None if t_s is None else Decimal(t_s)
    steady_s = more.pop("steady_s", None if seconds is None else Decimal("70.0") + seconds)
    device_at = None if steady_s is None else NOON + timedelta(seconds=float(steady_s))
    return BenchEvent(key(number), kind, steady_s, seconds, value, device_at=device_at, **more)


def readings(*figures: str, first: int = 100, before_s: int = 65, apart_s: int = 10) -> list[BenchEvent]:
    """Readings of the tip in °C, the first `before_s` seconds before contact."""
    return [
        pressed(first + n, "temperature", value=figure, steady_s=Decimal(70 - before_s + n * apart_s))
        for n, figure in enumerate(figures)
    ]


STEADY = ("850.4", "850.9", "850.2", "851.1", "850.6", "850.8", "850.4")
"""Seven readings over 60 s within 5 K of each other and 15 K of 850 °C."""


def steady_readings() -> list[BenchEvent]:
    """Readings that prove the steady minute, the last one 5 s before contact."""
    return readings(*STEADY)
