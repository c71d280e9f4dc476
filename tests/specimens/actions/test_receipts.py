"""Registering parcels: numbers, digits, deviations, places; all or nothing."""

from datetime import timedelta
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from labsite.ledger.models import Series, StoredFile
from labsite.ledger.numbering import read_number
from labsite.ledger.pictures import shown_picture
from labsite.ledger.queries import entries_about, ledger_faults
from labsite.ledger.refusals import Refused
from specimens.actions.receipts import ItemIn, PhotoIn, add_photo, register_receipt
from specimens.models import Item, OrderLine, Receipt, Specimen
from specimens.queries.pieces import current_custody, current_item_custody
from tests.factories.ledger import NOON, PlaceFactory
from tests.factories.specimens import ItemFactory, OrderLineFactory

pytestmark = pytest.mark.django_db

PICTURES = Path(__file__).resolve().parents[3] / "fixtures" / "worked" / "pictures"


def item_in(line: OrderLine, **changed: Any) -> ItemIn:
    facts: dict[str, Any] = {
        "order_line": line,
        "description": "Front plate",
        "material": "PC",
        "colour": "white",
        "counted": 2,
        "specimens": 2,
        "conditions": ("as described",),
        "place": changed.pop("place", None) or PlaceFactory.create(),
        "thickness_mm": Decimal("3.0"),
    }
    return ItemIn(**facts | changed)


def register(by, line, *items, **changed) -> Receipt:
    facts: dict[str, Any] = {"came_at": NOON, "brought_by": "Courier", "parcels": 1, "outside": "sound"}
    return register_receipt(by=by, at=NOON, order=line.order, items=items, **facts | changed)


def test_items_and_specimens_share_one_running_series_over_several_parcels(person):
    by, line = person("counter"), OrderLineFactory.create()
    register(by, line, item_in(line), item_in(line, specimens=1))
    register(by, line, item_in(line, specimens=0))
    numbers = [*Item.objects.values_list("number", flat=True), *Specimen.objects.values_list("number", flat=True)]
    assert sorted(number[6:9] for number in numbers) == ["001", "002", "003", "004", "005", "006"]
    assert {number[:6] for number in numbers} == {line.order.number[:6]}
    assert {read_number(number).digits for number in numbers} == set(numbers)
    assert sorted(item.number[6:9] for item in Item.objects.all()) == ["001", "004", "006"]


@pytest.mark.parametrize("typed", ["3.0", "3", "0.75", "1.50", "0.30"])
def test_thickness_keeps_its_digits(person, typed):
    # The same figures as in the trailing-zeros case of public bug reports (encode/django-rest-framework 6311).
    line = OrderLineFactory.create()
    register(person("counter"), line, item_in(line, thickness_mm=Decimal(typed)))
    assert [format(specimen.thickness_mm, "f") for specimen in Specimen.objects.all()] == [typed, typed]


def test_everything_is_on_its_place_and_in_one_entry(person):
    by, line, shelf = person("counter"), OrderLineFactory.create(), PlaceFactory.create(code="C-3")
    register(by, line, item_in(line, place=shelf))
    item = Item.objects.get()
    assert current_item_custody([item.pk])[item.pk].place == shelf
    ids = list(Specimen.objects.values_list("pk", flat=True))
    assert {custody.place for custody in current_custody(ids).values()} == {shelf}
    entry = entries_about(line.order.book).get()
    assert entry.act == "registered a parcel"
    assert entry.data["after"]["items"][0]["specimens"] == list(Specimen.objects.values_list("number", flat=True))
    assert entry.data["after"]["items"][0]["thickness, mm"] == "3.0"
    assert list(ledger_faults()) == []


def test_pieces_are_here_from_the_moment_they_came_in_whenever_that_is_registered(person):
    by, line = person("counter"), OrderLineFactory.create()
    came_at = NOON - timedelta(hours=20)
    register(by, line, item_in(line), came_at=came_at)
    item, specimens = Item.objects.get(), list(Specimen.objects.all())
    held = [*current_item_custody([item.pk]).values(), *current_custody([one.pk for one in specimens]).values()]
    assert [row.at for row in held] == [came_at] * 3


def test_a_deviation_is_kept_with_who_found_it(person):
    by, line = person("counter"), OrderLineFactory.create()
    register(by, line, item_in(line, stated_count=3, conditions=("fewer than stated",), deviation="One is missing."))
    deviation = Item.objects.get().deviations.get()
    assert (deviation.text, deviation.raised_by, deviation.raised_at) == ("One is missing.", by, NOON)


@pytest.mark.parametrize(
    ("changed", "parcel", "words"),
    [
        ({}, {"came_at": NOON.replace(hour=12)}, "cannot have come in later than now"),
        ({"conditions": ()}, {}, "Tick how it arrived"),
        ({"stated_count": 3}, {}, "You count 2 where the client says 3"),
        ({"specimens": 999}, {}, "1003 more numbers do not fit order"),
        ({"counted": -1}, {}, "counts cannot be below zero"),
    ],
)
def test_a_refused_parcel_leaves_nothing_and_takes_no_number(person, changed, parcel, words):
    line = OrderLineFactory.create()
    with pytest.raises(Refused, match=words):
        register(person("counter"), line, item_in(line), item_in(line, **changed), **parcel)
    counts = (Receipt.objects.count(), Item.objects.count(), Specimen.objects.count())
    assert counts == (0, 0, 0)
    assert not Series.objects.filter(name__startswith="pieces:", last__gt=0).exists()


def test_the_999th_piece_still_fits(person):
    by, line = person("counter"), OrderLineFactory.create()
    register(by, line, item_in(line, specimens=997, counted=997))
    register(by, line, item_in(line, specimens=0))
    assert Item.objects.order_by("-number").first().number[6:9] == "999"  # type: ignore[union-attr]
    with pytest.raises(Refused, match="999 numbers are given"):
        register(by, line, item_in(line, specimens=0))


def test_an_empty_parcel_is_refused(person):
    with pytest.raises(Refused, match="at least one item"):
        register(person("counter"), OrderLineFactory.create())


def test_nothing_comes_in_for_a_withdrawn_line_or_one_of_another_order(person):
    line = OrderLineFactory.create()
    for wrong in (OrderLineFactory.create(order=line.order, withdrawn_at=NOON), OrderLineFactory.create()):
        with pytest.raises(Refused, match="is not, or no longer, part of this order"):
            register(person("counter"), line, item_in(wrong))


def photo_in(name: str) -> PhotoIn:
    content = (PICTURES / name).read_bytes()
    return PhotoIn(name, content, shown_picture(content, name=name))


@pytest.mark.parametrize(
    ("name", "size"),
    [
        ("e04_exif_orientation_6.jpg", (80, 120)),  # turned upright
        ("e04_exif_orientation_0.jpg", (120, 80)),  # values outside 1 to 8: taken as upright
        ("e04_exif_orientation_9.jpg", (120, 80)),
        ("f06_exif_gps.jpg", None),
    ],
)
def test_the_original_is_kept_byte_for_byte_and_a_clean_copy_shown(person, name, size):
    import io

    from PIL import Image

    line = OrderLineFactory.create()
    register(person("counter"), line, item_in(line, photo=photo_in(name)))
    photo = Item.objects.get().photos.get()
    assert bytes(photo.file.content) == (PICTURES / name).read_bytes()
    assert (photo.file.name, photo.file.media_type) == (name, "image/jpeg")
    shown = Image.open(io.BytesIO(bytes(photo.shown.content)))
    assert dict(shown.getexif()) == {}
    if size is not None:
        assert shown.size == size
    entry = entries_about(line.order.book).get()
    assert entry.data["after"]["items"][0]["photo"] == photo.file.sha256


def test_a_photo_can_be_added_later(person):
    item = ItemFactory.create()
    add_photo(by=person("counter"), at=NOON, item=item, photo=photo_in("e04_exif_orientation_6.jpg"), caption="corner")
    assert item.photos.get().caption == "corner"
    assert StoredFile.objects.count() == 2
    assert entries_about(item.receipt.order.book).get().act == "added a photo"
