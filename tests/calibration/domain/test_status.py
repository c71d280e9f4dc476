"""May an instrument be used, for every status and any past moment; after ISO/IEC 17025:2017 6.4.4 and 6.4.9."""

from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from calibration.domain.status import (
    CalibrationFact,
    Decision,
    PermitFact,
    ServiceFact,
    Standing,
    Status,
    permitted,
    standing,
)

BERLIN = ZoneInfo("Europe/Berlin")


def utc(text: str) -> datetime:
    return datetime.fromisoformat(text).replace(tzinfo=UTC)


def accepted(number: int, day: date, due: date, entered: str, decided: str) -> CalibrationFact:
    return CalibrationFact(number, day, due, utc(entered), Decision.ACCEPTED, utc(decided))


MAY = accepted(1, date(2025, 5, 14), date(2026, 5, 14), "2025-05-18T08:00", "2025-05-18T09:00")
NEXT = accepted(2, date(2026, 5, 4), date(2027, 5, 4), "2026-05-06T08:00", "2026-05-08T10:00")


def at(moment: str, *calibrations: CalibrationFact, service: tuple[ServiceFact, ...] = ()) -> Standing:
    return standing(service, calibrations, at=utc(moment), zone=BERLIN)


def test_without_a_calibration_it_must_not_be_used():
    found = at("2026-01-01T12:00")
    assert found == Standing(Status.NEVER, "no calibration of it is entered")
    assert not found.usable
    assert found.reason == "No calibration of it is entered."


@pytest.mark.parametrize(
    ("moment", "status", "clause"),
    [
        ("2025-05-18T07:59", Status.NEVER, "no calibration of it is entered"),
        ("2025-05-18T08:00", Status.AWAITS, "its calibration of 14 May 2025 awaits verification"),
        ("2025-05-18T08:59", Status.AWAITS, "its calibration of 14 May 2025 awaits verification"),
        ("2025-05-18T09:00", Status.USABLE, "its calibration is due on 14 May 2026"),
        ("2026-04-13T21:59", Status.USABLE, "its calibration is due on 14 May 2026"),  # 23:59 in Berlin, 31 days
        ("2026-04-13T22:00", Status.DUE_SOON, "its calibration is due on 14 May 2026, in 30 days"),
        ("2026-05-13T12:00", Status.DUE_SOON, "its calibration is due on 14 May 2026, tomorrow"),
        ("2026-05-13T22:00", Status.DUE_SOON, "its calibration is due on 14 May 2026, today, until the end of the day"),
        (
            "2026-05-14T21:59:59.999999",
            Status.DUE_SOON,
            "its calibration is due on 14 May 2026, today, until the end of the day",
        ),
        ("2026-05-14T22:00", Status.OVERDUE, "its calibration was due on 14 May 2026 and that day is over"),
    ],
)
def test_one_calibration_through_its_life_by_the_clock_of_berlin(moment: str, status: Status, clause: str):
    # Berlin is UTC+2 in April and May (EU summer time): midnight there is 22:00 UTC.
    found = at(moment, MAY)
    assert (found.status, found.clause) == (status, clause)
    assert found.usable == (status in (Status.USABLE, Status.DUE_SOON))


def test_the_answer_names_the_calibration_it_rests_on():
    assert at("2025-06-01T12:00", MAY) == Standing(
        Status.USABLE, "its calibration is due on 14 May 2026", date(2026, 5, 14), 1
    )


@pytest.mark.parametrize(
    ("moment", "status", "calibration"),
    [
        ("2026-05-06T07:59", Status.DUE_SOON, 1),
        ("2026-05-06T08:00", Status.AWAITS, None),  # the newer one is entered: the older no longer helps
        ("2026-05-08T09:59:59", Status.AWAITS, None),
        ("2026-05-08T10:00", Status.USABLE, 2),
    ],
)
def test_a_newer_calibration_counts_from_its_acceptance_and_stops_the_older_before(
    moment: str, status: Status, calibration: int | None
):
    found = at(moment, NEXT, MAY)
    assert (found.status, found.calibration_id) == (status, calibration)


def test_a_rejected_newest_calibration_makes_it_not_usable_although_an_older_one_is_good():
    rejected = CalibrationFact(
        3, date(2025, 11, 18), date(2026, 11, 18), utc("2025-11-20T08:00"), Decision.REJECTED,
        utc("2025-11-21T08:00"), "reads 3.9 K low.",
    )  # fmt: skip
    assert at("2025-11-20T09:00", MAY, rejected).status is Status.AWAITS
    found = at("2025-11-21T08:00", MAY, rejected)
    assert found == Standing(Status.REJECTED, "its calibration of 18 Nov 2025 was rejected: reads 3.9 K low")


def test_an_entry_by_mistake_counts_for_nothing_once_that_was_said():
    mistaken = CalibrationFact(
        3, date(2025, 11, 18), date(2026, 11, 18), utc("2025-11-20T08:00"), Decision.MISTAKEN,
        utc("2025-11-21T08:00"), "another instrument's",
    )  # fmt: skip
    assert at("2025-11-21T07:59", MAY, mistaken).status is Status.AWAITS
    assert at("2025-11-21T08:00", MAY, mistaken).calibration_id == 1


def test_an_older_certificate_entered_later_does_not_speak_for_the_instrument():
    late = CalibrationFact(4, date(2024, 5, 1), date(2025, 5, 1), utc("2025-07-01T08:00"))
    assert at("2025-07-02T08:00", MAY, late).calibration_id == 1


def test_of_two_calibrations_of_one_day_the_later_entry_speaks():
    twin = accepted(5, MAY.calibrated_on, date(2025, 11, 14), "2025-05-19T08:00", "2025-05-19T09:00")
    for order in ((MAY, twin), (twin, MAY)):
        found = at("2025-05-20T08:00", *order)
        assert (found.calibration_id, found.due_on) == (5, date(2025, 11, 14))


OUT = ServiceFact(utc("2025-08-01T10:00"), False, "dropped on the floor.")
BACK = ServiceFact(utc("2025-08-05T10:00"), True, "checked at 0 °C")


@pytest.mark.parametrize(
    ("moment", "status"),
    [
        ("2025-08-01T09:59", Status.USABLE),
        ("2025-08-01T10:00", Status.OUT_OF_SERVICE),
        ("2025-08-05T09:59", Status.OUT_OF_SERVICE),
        ("2025-08-05T10:00", Status.USABLE),
    ],
)
def test_out_of_service_holds_at_once_until_put_back(moment: str, status: Status):
    assert at(moment, MAY, service=(OUT, BACK)).status is status


def test_out_of_service_gives_its_reason_and_day_at_the_laboratory():
    night = ServiceFact(utc("2025-08-01T22:30"), False, "dropped on the floor.")
    found = at("2025-08-03T10:00", MAY, service=(night,))
    assert found.clause == "it is out of service since 2 Aug 2025: dropped on the floor"
    assert found.due_on == date(2026, 5, 14)


def test_putting_back_does_not_make_an_overdue_instrument_usable():
    found = standing((OUT, BACK), (MAY,), at=utc("2026-06-01T00:00"), zone=BERLIN)
    assert found.status is Status.OVERDUE


def test_of_two_service_changes_at_one_instant_the_later_row_holds():
    both = (OUT, ServiceFact(OUT.at, True, "wrong instrument"))
    assert at("2025-08-02T00:00", MAY, service=both).status is Status.USABLE


@pytest.mark.parametrize(
    ("zone", "moment", "status"),
    [
        ("Europe/Berlin", "2026-10-25T22:59:59", Status.DUE_SOON),  # the day of 25 hours ends at 23:00 UTC
        ("Europe/Berlin", "2026-10-25T23:00:00", Status.OVERDUE),
        ("Pacific/Auckland", "2026-10-25T10:59:59", Status.DUE_SOON),  # UTC+13
        ("Pacific/Auckland", "2026-10-25T11:00:00", Status.OVERDUE),
    ],
)
def test_the_due_day_ends_at_the_laboratory_also_on_the_day_the_clocks_change(zone: str, moment: str, status: Status):
    fact = accepted(1, date(2025, 10, 25), date(2026, 10, 25), "2025-10-28T08:00", "2025-10-28T08:00")
    assert standing((), (fact,), at=utc(moment), zone=ZoneInfo(zone)).status is status


def test_the_zone_of_the_asked_moment_does_not_matter():
    moment = utc("2026-05-14T22:00").astimezone(BERLIN)
    assert standing((), (MAY,), at=moment, zone=BERLIN).status is Status.OVERDUE


def test_a_moment_in_the_repeated_hour_is_told_apart():
    # Berlin, 25 Oct 2026: 02:30 comes twice; a calibration accepted at the second does not count at the first.
    second = datetime(2026, 10, 25, 2, 30, tzinfo=BERLIN, fold=1)
    fact = CalibrationFact(
        1, date(2026, 10, 1), date(2027, 10, 1), utc("2026-10-02T08:00"), Decision.ACCEPTED, second.astimezone(UTC)
    )
    first = datetime(2026, 10, 25, 2, 30, tzinfo=BERLIN, fold=0)
    assert standing((), (fact,), at=first, zone=BERLIN).status is Status.AWAITS
    assert standing((), (fact,), at=second, zone=BERLIN).status is Status.USABLE


@pytest.mark.parametrize(
    ("until", "end"),
    [
        (date(2026, 4, 5), "2026-04-05T12:00:00"),  # 25 hours: summer time ends, UTC+13 to UTC+12
        (date(2026, 9, 27), "2026-09-27T11:00:00"),  # 23 hours: summer time begins
        (date(2024, 2, 29), "2024-02-29T11:00:00"),
    ],
)
def test_a_permit_holds_to_the_end_of_its_day_at_the_laboratory(until: date, end: str):
    zone, day = ZoneInfo("Pacific/Auckland"), timedelta(days=1)
    old = accepted(1, until - 400 * day, until - 35 * day, "2020-01-01T00:00:00", "2020-01-01T00:00:00")
    permit = PermitFact(7, 1, utc(end) - 2 * day, until, "Lee Lead", "the spare is away")

    def found(moment: datetime) -> tuple[Status, int | None]:
        answer = permitted(standing((), (old,), at=moment, zone=zone), (permit,), at=moment, zone=zone)
        return answer.status, answer.permit_id

    last = utc(end) - timedelta(microseconds=1)
    assert [found(one) for one in (permit.given_at - timedelta(seconds=1), permit.given_at, last, utc(end))] == [
        (Status.OVERDUE, None),
        (Status.PERMITTED, 7),
        (Status.PERMITTED, 7),
        (Status.OVERDUE, None),
    ]
