"""The demo's stays in two chambers and the recorders' files that prove them."""

from datetime import datetime, timedelta

from calibration.models import Instrument
from labsite.demo.climate import recorder_file
from labsite.demo.days import working_hour
from labsite.ledger.models import Place, User
from labsite.ledger.queries import laboratory_zone
from specimens.actions.climate import attach_climate_record, explain_stretch
from specimens.actions.conditioning import start_conditioning, take_out
from specimens.models import Order, Stay

ATMOSPHERE = "15-35/45-75"
ALL = slice(None)
FIRST_DAY_AGO = 15
MORNINGS_AGO = (12, 9, 4, 2, 1)
"""The mornings on which somebody fetched the recorders’ files; specimens come out after one of them."""
CHAMBERS = {
    "CH-1": ("HY-01", 22.4, 53.0),
    "CH-2": ("HY-02", 23.6, 58.0),
    "CH-3": ("HY-04", 23.0, 50.2),
    "OV-1": ("HY-05", 70.1, 3.4),
    "DE-1": ("HY-06", 22.8, 12.5),
}
"""Chamber to its recorder and its usual temperature and humidity."""


def bring_in_records(people: dict[str, User], *, now: datetime) -> None:
    """For each chamber a file on each of those mornings, and one just now."""
    zone = laboratory_zone()
    ends = [working_hour(now, days, 7, 52) for days in MORNINGS_AGO]
    ends.append(now - timedelta(minutes=2))
    gap_from = working_hour(now, 1, 2, 10)
    damp_from = working_hour(now, 2, 22, 10)
    for serial, (code, (recorder, temperature_c, humidity)) in enumerate(CHAMBERS.items()):
        chamber = Place.objects.get(code=code)
        from_at = working_hour(now, FIRST_DAY_AGO, 7, 30)
        for until_at in ends:
            attach_climate_record(
                by=people["tilda"],
                at=until_at + timedelta(minutes=2),
                chamber=chamber,
                recorder=Instrument.objects.get(code=recorder),
                name=f"{recorder}_{until_at.astimezone(zone):%Y%m%d-%H%M}.csv",
                content=recorder_file(
                    seed=serial * 1000 + int(until_at.timestamp()) // 60,
                    from_at=from_at,
                    until_at=until_at,
                    zone=zone,
                    temperature_c=temperature_c,
                    humidity_percent=humidity,
                    gap=(gap_from, gap_from + timedelta(minutes=40)) if code == "CH-2" else None,
                    excursion=(damp_from, damp_from + timedelta(minutes=55), 81.0) if code == "CH-2" else None,
                ),
            )
            from_at = until_at + timedelta(minutes=1)
    explain_stretch(
        by=people["tilda"],
        at=now - timedelta(minutes=1),
        chamber=Place.objects.get(code="CH-2"),
        from_at=gap_from,
        until_at=gap_from + timedelta(minutes=40),
        text="Recorder memory full; emptied and started again.",
    )


def put_in(
    order: Order,
    people: dict[str, User],
    *,
    chamber: str,
    at: datetime,
    atmosphere: str = ATMOSPHERE,
    specimens: slice = ALL,
) -> Stay:
    """The specimens of an order, or some of them by number, into a chamber."""
    line = order.lines.get()
    return start_conditioning(
        by=people["tilda"],
        at=at,
        order_line=line,
        specimens=list(line.specimens.order_by("number"))[specimens],
        chamber=Place.objects.get(code=chamber),
        atmosphere_key=atmosphere,
        recorder=Instrument.objects.get(code=CHAMBERS[chamber][0]),
    )


def bring_out(stay: Stay, technician: User, *, at: datetime, count: int | None = None) -> None:
    """All of them, or the first few, out again to the shelf."""
    members = stay.members.select_related("specimen").order_by("specimen__number")
    specimens = [member.specimen for member in members][:count]
    place = Place.objects.get(code="C-2")
    # Written down after the recorder’s file was fetched, so that the file covers the stay to its end.
    written_at = at + timedelta(minutes=6)
    take_out(by=technician, at=written_at, stay=stay, specimens=specimens, place=place, out_at=at)
