"""Receiving a parcel at the counter."""

from decimal import Decimal
from pathlib import Path

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.utils import timezone

from labsite.ledger.models import Place
from specimens.models import Item, Photo, Receipt, Specimen
from tests.factories.ledger import PlaceFactory
from tests.factories.specimens import ContractReviewFactory, ItemFactory, OrderLineFactory, SpecimenFactory
from tests.specimens.typed import ITEM, field_value, parcel_form

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("own_catalogue")]

PICTURES = Path(__file__).resolve().parents[3] / "fixtures" / "worked" / "pictures"


@pytest.fixture
def line(lab):
    return OrderLineFactory.create(specimens_ordered=3)


@pytest.fixture
def shelf(lab) -> Place:
    return PlaceFactory.create(code="C-3")


def url(line):
    return f"/orders/{line.order.number}/receive/"


def item(line, shelf, **changed):
    return ITEM | {"order_line": str(line.pk), "place": str(shelf.pk)} | changed


def picture(name):
    return SimpleUploadedFile(name, (PICTURES / name).read_bytes(), content_type="image/jpeg")


def test_a_parcel_is_registered_and_leads_to_its_labels(signed_in, line, shelf):
    client = signed_in("counter")
    answer = client.post(url(line), parcel_form(item(line, shelf)))
    receipt = Receipt.objects.get()
    assert answer["Location"] == f"/orders/{line.order.number}/?receipt={receipt.pk}"
    assert receipt.came_at.isoformat() == "2026-03-10T09:22:00+00:00"  # 10:22 in Berlin
    assert [specimen.thickness_mm for specimen in Specimen.objects.all()] == [Decimal("3.0")] * 3
    assert [str(specimen.thickness_mm) for specimen in Specimen.objects.all()] == ["3.0"] * 3
    page = client.get(answer["Location"])
    labels = f"/orders/{line.order.number}/labels.pdf?receipt={receipt.pk}"
    assert f'<a class="act" href="{labels}">Print the labels</a>' in page.text
    assert client.get(labels)["Content-Type"] == "application/pdf"


def test_the_form_expects_what_is_still_missing(signed_in, line, shelf):
    full = OrderLineFactory.create(order=line.order, subject="Complete")
    SpecimenFactory.create(item=ItemFactory.create(order_line=full))
    SpecimenFactory.create(item=ItemFactory.create(order_line=line))
    page = signed_in("counter").get(url(line)).text
    assert field_value(page, "item-TOTAL_FORMS") == "1"
    assert field_value(page, "item-0-specimens") == "2"
    assert field_value(page, "item-0-counted") == ""


def test_an_item_left_as_it_is_is_not_in_the_parcel(signed_in, line, shelf):
    other = OrderLineFactory.create(order=line.order, subject="Terminal block", specimens_ordered=2)
    client = signed_in("counter")
    untouched = {
        "order_line": str(other.pk), "description": "Terminal block", "stated_count": "2", "specimens": "2",
    }  # fmt: skip
    client.post(url(line), parcel_form(item(line, shelf), untouched))
    assert [row.order_line for row in Item.objects.all()] == [line]


def test_an_added_item_left_empty_is_not_in_the_parcel(signed_in, line, shelf):
    added = dict.fromkeys(ITEM, "") | {"order_line": str(line.pk), "conditions": []}
    signed_in("counter").post(url(line), parcel_form(item(line, shelf), added))
    assert Item.objects.count() == 1


def test_the_page_counts_the_fields_that_need_a_look(signed_in, line, shelf):
    browser = signed_in("counter")
    one = browser.post(url(line), parcel_form(item(line, shelf, thickness_mm="1,5.0")))
    assert "<h1>One field needs a look before the labels can print.</h1>" in one.text
    two = browser.post(url(line), parcel_form(item(line, shelf, thickness_mm="1,5.0"), brought_by=""))
    assert "<h1>Two fields need a look before the labels can print.</h1>" in two.text


def test_an_order_not_reviewed_may_receive_and_the_page_says_so(signed_in, line):
    client = signed_in("counter")
    assert "The contract review is not signed yet." in client.get(url(line)).text
    ContractReviewFactory.create(order=line.order)
    assert "The contract review is not signed yet." not in client.get(url(line)).text


@pytest.mark.parametrize(
    ("changed", "sentence"),
    [
        ({"thickness_mm": "1,5.0"}, "“1,5.0” is not a number."),
        ({"thickness_mm": "1.234"}, "“1.234” can be read in two ways."),
        ({"thickness_mm": "-3.0"}, "A thickness is above zero, not -3.0 mm."),
        ({"thickness_mm": "0"}, "A thickness is above zero, not 0 mm."),
        ({"counted": ""}, "Count the pieces, or empty the whole item."),
        ({"counted": "-1"}, "Write a whole number from 0 to 9999."),
        ({"material": ""}, "Write the material, or “not stated”."),
        ({"conditions": []}, "Tick how it arrived"),
        ({"conditions": ["damaged"]}, "Write what is different from the order"),
        ({"counted": "2"}, "You count 2 where the client says 3: write what is different."),
        ({"place": ""}, "Choose where it is put."),
        ({"description": "x" * 3000}, "This has 3000 characters; 200 fit here."),
        ({"specimens": "1000"}, "Write a whole number from 0 to 999."),
    ],
)
def test_a_refused_item_is_told_why_and_keeps_the_typing(signed_in, line, shelf, changed, sentence):
    typed = item(line, shelf, **changed)
    page = signed_in("counter").post(url(line), parcel_form(typed))
    assert page.status_code == 422
    assert sentence in page.text
    assert "Nothing is registered yet." in page.text
    for name in ("description", "client_name_for_it", "material", "colour", "counted", "thickness_mm", "surface"):
        assert field_value(page.text, f"item-0-{name}") == typed[name], name
    assert field_value(page.text, "brought_by") == "Courier, slip 7731"
    assert Receipt.objects.count() == 0


@pytest.mark.parametrize(
    ("changed", "sentence"),
    [
        ({"came_at": "2999-03-10 10:22"}, "The parcel cannot have come in later than now"),
        ({"came_at": "10/03/2026"}, "This is not a moment. Write it as 2026-11-25 10:22"),
        ({"came_at": "2026-03-29 02:30"}, "Berlin"),  # the hour the clocks jump over
        ({"brought_by": ""}, "Write who brought it"),
        ({"outside": ""}, "Say how the parcel looks from outside."),
        ({"parcels": "none"}, "Write a whole number from 1 to 99."),
    ],
)
def test_a_refused_parcel_is_told_why_and_keeps_the_typing(signed_in, line, shelf, changed, sentence):
    page = signed_in("counter").post(url(line), parcel_form(item(line, shelf), **changed))
    assert page.status_code == 422
    assert sentence in page.text
    assert field_value(page.text, "item-0-thickness_mm") == "3.0"
    assert field_value(page.text, "came_at") == changed.get("came_at", "2026-03-10 10:22")


def test_more_than_999_pieces_are_refused_whole(signed_in, line, shelf):
    typed = [item(line, shelf, specimens="600") for _ in range(2)]
    page = signed_in("counter").post(url(line), parcel_form(*typed))
    assert page.status_code == 422
    assert "1202 more numbers do not fit order" in page.text
    assert (Item.objects.count(), field_value(page.text, "item-1-specimens")) == (0, "600")


def test_one_more_item_keeps_what_was_typed(signed_in, line, shelf):
    page = signed_in("counter").post(url(line), parcel_form(item(line, shelf, thickness_mm="1,5.0"), add_row="1"))
    assert page.status_code == 200
    assert 'class="why"' not in page.text
    assert field_value(page.text, "item-TOTAL_FORMS") == "2"
    assert field_value(page.text, "item-0-thickness_mm") == "1,5.0"
    assert 'value="as described" ' in page.text
    assert Receipt.objects.count() == 0


def test_an_order_without_live_lines_cannot_receive(signed_in, line):
    line.withdrawn_at = timezone.now()
    line.save()
    page = signed_in("counter").get(url(line))
    assert "All lines of this order are withdrawn." in page.text
    assert '<form class="form"' not in page.text


@pytest.mark.parametrize(
    ("name", "sentence"),
    [
        ("e05_small_file_400_megapixels.png", "pixels"),
        ("e06_heic_named.jpg", "is a HEIC picture whatever its name says"),
        ("e07_script.svg", "is not a JPEG, PNG or WebP picture"),
    ],
)
def test_a_refused_photo_is_told_why_and_the_typing_stays(signed_in, line, shelf, name, sentence):
    form = parcel_form(item(line, shelf)) | {"item-0-photo": picture(name)}
    page = signed_in("counter").post(url(line), form)
    assert page.status_code == 422
    assert sentence in page.text
    assert name in page.text
    assert "Choose the photos again" in page.text
    assert field_value(page.text, "item-0-description") == ITEM["description"]
    assert Photo.objects.count() == 0


@pytest.mark.parametrize("name", ["e04_exif_orientation_6.jpg", "f06_exif_gps.jpg"])
def test_a_photo_is_shown_through_a_view_that_checks_who_asks(signed_in, client, line, shelf, name):
    counter = signed_in("counter")
    counter.post(url(line), parcel_form(item(line, shelf)) | {"item-0-photo": picture(name)})
    photo = Photo.objects.get()
    shown = counter.get(f"/photos/{photo.pk}/")
    assert (shown["Content-Type"], shown["Cache-Control"]) == ("image/jpeg", "private, no-store")
    assert b"Exif" not in shown.content
    assert f"/photos/{photo.pk}/" in counter.get(f"/items/{photo.item.number}/").text
    assert client.get(f"/photos/{photo.pk}/").status_code == 302  # to the sign-in


def test_the_parcel_and_every_item_tell_their_faults_in_the_first_round(signed_in, line, shelf):
    bad = [item(line, shelf, thickness_mm="-3.0", material=""), item(line, shelf, thickness_mm="0")]
    page = signed_in("counter").post(url(line), parcel_form(*bad, came_at="2999-03-10 10:22"))
    assert page.context["form"].errors.keys() == {"came_at"}
    assert [set(row.errors) for row in page.context["items"]] == [{"thickness_mm", "material"}, {"thickness_mm"}]
