"""Authorisations on their first and last day, at the moment they are ended, and the sentence when there is none."""

from dataclasses import replace
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from trials.domain.authority import Grant, standing_grant, why_not_authorised

BERLIN = ZoneInfo("Europe/Berlin")
NOON = datetime(2026, 3, 10, 12, 0, tzinfo=BERLIN)
KEY = "glow-wire-end-product@2021"
GRANT = Grant(1, 7, "Tess Technician", KEY, "perform", date(2026, 3, 1), date(2026, 3, 31))


@pytest.mark.parametrize(
    ("day", "stands"),
    [
        (date(2026, 2, 28), False),
        (date(2026, 3, 1), True),
        (date(2026, 3, 31), True),
        (date(2026, 4, 1), False),
    ],
)
def test_first_and_last_day_are_included(day: date, stands: bool) -> None:
    assert GRANT.stands(datetime.combine(day, NOON.timetz()), day) is stands


def test_without_a_last_day_it_goes_on() -> None:
    assert replace(GRANT, until_on=None).stands(NOON.replace(year=2040), date(2040, 3, 10))


def test_an_end_counts_from_its_moment() -> None:
    ended = replace(GRANT, ended_at=NOON)
    assert ended.stands(NOON - timedelta(microseconds=1), NOON.date())
    assert not ended.stands(NOON, NOON.date())


def test_person_edition_and_activity_must_fit() -> None:
    def found(**changed: object) -> Grant | None:
        asked = {"person": 7, "method_key": KEY, "activity": "perform"} | changed
        return standing_grant([GRANT], at=NOON, day=NOON.date(), **asked)  # type: ignore[arg-type]

    assert found() == GRANT
    assert found(person=8) is None
    assert found(method_key="glow-wire-end-product@2014") is None
    assert found(activity="check") is None


def test_of_several_the_one_that_began_last_allows_the_act() -> None:
    later = replace(GRANT, row=2, from_on=date(2026, 3, 5))
    asked = {"person": 7, "method_key": KEY, "activity": "perform", "at": NOON, "day": NOON.date()}
    assert standing_grant([later, GRANT], **asked) == later  # type: ignore[arg-type]


OTHER = replace(GRANT, row=3, person=8, name="Oren Example")
THIRD = replace(GRANT, row=4, person=9, name="Ada Example")
BEFORE = "Tess Technician is not authorised to perform trials by 2-11:2021 on 10 Mar 2026"


@pytest.mark.parametrize(
    ("grants", "sentence"),
    [
        ([], f"{BEFORE}. Nobody is."),
        ([OTHER], f"{BEFORE}. Oren Example is."),
        ([OTHER, THIRD], f"{BEFORE}. Ada Example and Oren Example are."),
        (
            [replace(GRANT, until_on=date(2026, 3, 9))],
            f"{BEFORE}; the authorisation ran out on 9 Mar 2026. Nobody is.",
        ),
        (
            [replace(GRANT, from_on=date(2026, 3, 11))],
            f"{BEFORE}; the authorisation begins on 11 Mar 2026. Nobody is.",
        ),
        ([replace(GRANT, ended_at=NOON)], f"{BEFORE}; the authorisation was ended. Nobody is."),
        ([replace(OTHER, until_on=date(2026, 3, 9))], f"{BEFORE}. Nobody is."),
    ],
)
def test_the_sentence_says_why_and_who_may(grants: list[Grant], sentence: str) -> None:
    said = why_not_authorised(
        grants, person=7, name="Tess Technician", method="2-11:2021", method_key=KEY, activity="perform", at=NOON,
        day=NOON.date(),
    )  # fmt: skip
    assert said == sentence
