"""Putting specimens in and taking them out: what is written, and what is refused."""

from datetime import date, timedelta
from typing import Any

import pytest

from labsite.ledger.models import Place
from labsite.ledger.queries import entries_about
from labsite.ledger.refusals import Refused
from specimens.actions.conditioning import move_on, start_conditioning, take_out
from specimens.models import Custody, Stay, StaySpecimen
from specimens.queries.pieces import current_custody
from tests.factories.calibration import InstrumentFactory
from tests.factories.conditioning import HOUR, MINUTE, chamber, hygrometer, set_of_specimens
from tests.factories.ledger import NOON, PlaceFactory

LATER = NOON + HOUR


@pytest.fixture
def scene(person):
    """Three specimens that came in at noon, a chamber, a recorder, a technician; one hour later."""
    specimens = set_of_specimens()
    return {
        "by": person("technician"),
        "at": LATER,
        "order_line": specimens[0].order_line,
        "specimens": specimens,
        "chamber": chamber(),
        "atmosphere_key": "15-35/45-75",
        "recorder": hygrometer(),
    }


def refusal(action, **arguments) -> Refused:
    """What an action refuses; nothing is written."""
    before = (Stay.objects.count(), Custody.objects.count(), StaySpecimen.objects.filter(out_at=None).count())
    with pytest.raises(Refused) as caught:
        action(**arguments)
    after = (Stay.objects.count(), Custody.objects.count(), StaySpecimen.objects.filter(out_at=None).count())
    assert after == before
    return caught.value


def test_a_set_goes_in_with_custody_and_an_entry(scene):
    stay = start_conditioning(**scene)
    numbers = [specimen.number for specimen in scene["specimens"]]
    members = list(stay.members.order_by("specimen__number"))
    assert [(member.specimen.number, member.in_at, member.in_by, member.out_at) for member in members] == [
        (number, LATER, scene["by"], None) for number in numbers
    ]
    held = current_custody([specimen.pk for specimen in scene["specimens"]])
    assert {row.place for row in held.values()} == {scene["chamber"]}
    entry = entries_about(scene["order_line"].order.book).reverse()[0]
    assert (entry.act, entry.by, entry.at) == ("put specimens into a chamber", scene["by"], LATER)
    assert entry.data == {
        "specimens": numbers,
        "after": {
            "chamber": "CH-1",
            "atmosphere": "15-35/45-75",
            "recorder": "HY-1",
            "in": LATER.isoformat(),
        },
    }


def test_an_overdue_recorder_is_refused_with_its_reason(scene):
    scene["recorder"] = hygrometer("HY-9", calibrated_on=date(2025, 2, 1), interval=12)
    found = refusal(start_conditioning, **scene)
    assert found.field == "recorder"
    assert found.sentence == (
        "HY-9 may not be used now: its calibration was due on 1 Feb 2026 and that day is over. Choose another recorder."
    )


def test_a_recorder_is_usable_to_the_end_of_its_due_day_in_berlin(scene):
    # due 10 March 2026; that day ends in Berlin at 23:00 UTC
    scene["recorder"] = hygrometer("HY-9", calibrated_on=date(2025, 3, 10), interval=12)
    last = NOON.replace(hour=22, minute=59)
    assert refusal(start_conditioning, **scene | {"at": last + MINUTE, "in_at": LATER}).field == "recorder"
    assert start_conditioning(**scene | {"at": last, "in_at": LATER}).recorder == scene["recorder"]


def test_another_instrument_is_no_recorder(scene):
    scene["recorder"] = InstrumentFactory.create(code="TC-7")
    assert refusal(start_conditioning, **scene).sentence == (
        "TC-7 does not record temperature and humidity; choose a hygrometer."
    )


def test_a_specimen_is_in_one_chamber_at_a_time(scene):
    start_conditioning(**scene)
    found = refusal(start_conditioning, **scene | {"chamber": chamber("CH-2"), "at": LATER + HOUR})
    number = scene["specimens"][0].number
    assert found.field == "specimens"
    assert found.sentence == (
        f"{number[:2]}-{number[2:6]}-{number[6:9]} is in CH-1 since Tue 10 Mar 13:00; take it out first."
    )


def test_nothing_goes_in_before_it_came(scene):
    found = refusal(start_conditioning, **scene | {"in_at": NOON - MINUTE})
    assert found.field == "in_at"
    assert found.sentence.endswith("came in on Tue 10 Mar 12:00 and cannot have gone into a chamber before that.")


def test_the_moment_may_be_typed_but_not_in_the_future(scene):
    assert refusal(start_conditioning, **scene | {"in_at": LATER + MINUTE}).sentence == (
        "Tue 10 Mar 13:01 is still to come; it is Tue 10 Mar 13:00 now."
    )
    stay = start_conditioning(**scene | {"in_at": NOON})
    assert {member.in_at for member in stay.members.all()} == {NOON}


def test_nothing_goes_in_while_the_record_says_it_was_elsewhere(scene, person):
    specimen = scene["specimens"][0]
    Custody.objects.create(specimen=specimen, person=person(full_name="Tove"), at=LATER, by=scene["by"])
    found = refusal(start_conditioning, **scene | {"at": LATER + HOUR, "in_at": LATER - 30 * MINUTE})
    assert "was handed to Tove on Tue 10 Mar 13:00" in found.sentence


def test_a_parcel_registered_late_may_have_gone_in_before(scene, person):
    """Came in at 8, registered at noon, in the chamber since 9: the chamber holds it now."""
    late = set_of_specimens(1, came_at=NOON)
    receipt = late[0].item.receipt
    receipt.came_at = NOON - 4 * HOUR
    receipt.save()
    scene |= {"specimens": late, "order_line": late[0].order_line}
    start_conditioning(**scene | {"in_at": NOON - 3 * HOUR})
    assert current_custody([late[0].pk])[late[0].pk].place == scene["chamber"]


@pytest.mark.parametrize(
    ("change", "sentence"),
    [
        ({"specimens": []}, "Choose at least one specimen."),
        ({"atmosphere_key": "sauna"}, "“sauna” is not an atmosphere of this program."),
    ],
)
def test_what_is_missing_or_unknown_is_refused(scene, change, sentence):
    assert refusal(start_conditioning, **scene | change).sentence == sentence


def test_a_shelf_is_no_chamber(scene):
    shelf = PlaceFactory.create(code="S-1")
    assert refusal(start_conditioning, **scene | {"chamber": shelf}).sentence == (
        "S-1 is not a conditioning chamber in use; choose another."
    )


def test_specimens_of_another_line_and_of_a_withdrawn_one_stay_out(scene):
    mixed = [*scene["specimens"], *set_of_specimens(1)]
    assert refusal(start_conditioning, **scene | {"specimens": mixed}).sentence == (
        "Put specimens of one order line in at a time."
    )
    line = scene["order_line"]
    line.withdrawn_at = NOON
    line.save()
    assert refusal(start_conditioning, **scene).sentence == (
        "Line 1 of the order is withdrawn; nothing of it is conditioned."
    )


def test_some_come_out_and_the_rest_stays(scene):
    stay, shelf = start_conditioning(**scene), PlaceFactory.create(code="S-9")
    first, *rest = scene["specimens"]
    out = take_out(by=scene["by"], at=LATER + HOUR, stay=stay, specimens=[first], place=shelf)
    assert [(member.specimen, member.out_at, member.out_by) for member in out] == [(first, LATER + HOUR, scene["by"])]
    assert set(StaySpecimen.objects.filter(out_at=None).values_list("specimen", flat=True)) == {one.pk for one in rest}
    held = current_custody([one.pk for one in scene["specimens"]])
    assert [str(held[one.pk].place) for one in scene["specimens"]] == ["S-9", "CH-1", "CH-1"]
    entry = entries_about(scene["order_line"].order.book).reverse()[0]
    assert (entry.act, entry.data["before"], entry.data["after"]) == (
        "took specimens out of a chamber",
        {"chamber": "CH-1"},
        {"place": "S-9", "out": (LATER + HOUR).isoformat()},
    )


def test_a_set_moves_straight_from_one_chamber_into_the_next(scene):
    stay, second, hygro = start_conditioning(**scene), chamber("CH-2"), hygrometer("HY-2")
    first, *rest = scene["specimens"]
    moved_at = LATER + 30 * MINUTE
    moved = move_on(
        by=scene["by"], at=LATER + HOUR, stay=stay, specimens=[first], chamber=second,
        atmosphere_key="23/50 class 2", recorder=hygro, moved_at=moved_at,
    )  # fmt: skip
    assert (moved.chamber, moved.atmosphere_key, moved.recorder, moved.order_line) == (
        second, "23/50 class 2", hygro, stay.order_line,
    )  # fmt: skip
    times = first.stays.order_by("pk").values_list("stay", "in_at", "in_by", "out_at", "out_by")
    by = scene["by"].pk
    assert list(times) == [(stay.pk, LATER, by, moved_at, by), (moved.pk, moved_at, by, None, None)]
    assert set(stay.members.filter(out_at=None).values_list("specimen", flat=True)) == {one.pk for one in rest}
    custody = first.custody.order_by("at", "pk").values_list("place__code", "at", "note")
    assert list(custody)[1:] == [  # straight from chamber to chamber: no place between is invented
        ("CH-1", LATER, "put in at 15 to 35 °C and 45 to 75 % RH"),
        ("CH-2", moved_at, "put in at 21 to 25 °C and 40 to 60 % RH, straight out of CH-1"),
    ]
    entries = entries_about(scene["order_line"].order.book).reverse()[:2]
    assert [(entry.act, entry.data["after"].get("place"), entry.data["after"].get("chamber")) for entry in entries] == [
        ("put specimens into a chamber", None, "CH-2"),
        ("took specimens out of a chamber", "CH-2", None),
    ]


def test_a_move_that_is_refused_leaves_the_set_where_it_was(scene):
    stay = start_conditioning(**scene)
    facts = {
        "by": scene["by"], "at": LATER + HOUR, "stay": stay, "specimens": scene["specimens"],
        "chamber": chamber("CH-2"), "atmosphere_key": "23/50 class 2", "recorder": hygrometer("HY-2"),
    }  # fmt: skip
    overdue = hygrometer("HY-3", calibrated_on=date(2024, 1, 15))
    shelf = PlaceFactory.create(code="S-9")
    changes: list[dict[str, Any]] = [
        {"recorder": overdue}, {"chamber": stay.chamber}, {"chamber": shelf}, {"atmosphere_key": "moon"},
        {"moved_at": LATER - HOUR}, {"moved_at": LATER + 2 * HOUR}, {"specimens": []},
    ]  # fmt: skip
    fields = ["recorder", "place", "chamber", "atmosphere_key", "out_at", "out_at", "specimens"]
    assert [refusal(move_on, **facts | change).field for change in changes] == fields


def test_what_is_out_goes_in_again_as_a_new_stay(scene):
    stay, shelf = start_conditioning(**scene), PlaceFactory.create()
    take_out(by=scene["by"], at=LATER + HOUR, stay=stay, specimens=scene["specimens"], place=shelf)
    again = start_conditioning(**scene | {"at": LATER + 2 * HOUR})
    assert again != stay
    assert again.members.count() == 3


@pytest.mark.parametrize(
    ("minutes", "sentence"),
    [(-90, "after the moment typed"), (61, "is still to come")],
)
def test_nothing_comes_out_before_it_went_in_or_later_than_now(scene, minutes, sentence):
    stay = start_conditioning(**scene)
    found = refusal(
        take_out,
        by=scene["by"],
        at=LATER + HOUR,
        stay=stay,
        specimens=scene["specimens"],
        place=PlaceFactory.create(),
        out_at=LATER + timedelta(minutes=minutes),
    )
    assert found.field == "out_at"
    assert sentence in found.sentence


def test_what_is_out_is_not_taken_out_twice_nor_into_a_chamber(scene):
    stay, shelf = start_conditioning(**scene), PlaceFactory.create()
    facts = {"by": scene["by"], "stay": stay, "specimens": scene["specimens"]}
    into = refusal(take_out, **facts, at=LATER + HOUR, place=PlaceFactory.create(code="CH-3", kind=Place.Kind.CHAMBER))
    assert into.sentence == "CH-3 is not a place in use outside the chambers; choose another."
    take_out(**facts, at=LATER + HOUR, place=shelf)
    assert refusal(take_out, **facts, at=LATER + 2 * HOUR, place=shelf).sentence.endswith(
        "is out since Tue 10 Mar 14:00 already."
    )
