"""Pages of items and specimens, hand-over, deviations, labels."""

import io
from pathlib import Path

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile

from specimens.models import Custody, DeviationAnswer, Photo
from tests.factories.ledger import PlaceFactory
from tests.factories.specimens import CustodyFactory, DeviationFactory, ItemFactory, OrderLineFactory, SpecimenFactory

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("own_catalogue")]

PICTURES = Path(__file__).resolve().parents[3] / "fixtures" / "worked" / "pictures"


def test_a_specimen_says_what_it_is_and_where(signed_in):
    custody = CustodyFactory.create(place=PlaceFactory.create(code="C-3", name="Shelf"))
    specimen = custody.specimen
    assert specimen is not None
    page = signed_in("checker").get(f"/specimens/{specimen.number}/").text
    assert "It is with <bdi>C-3, Shelf</bdi> since" in page
    assert '<span class="keep">3.0 mm</span>' in page
    assert f"/items/{specimen.item.number}/" in page
    assert "Hand over" not in page


def test_an_item_shows_its_specimens_and_deviations(signed_in):
    specimen = SpecimenFactory.create()
    deviation = DeviationFactory.create(item=specimen.item)
    page = signed_in("counter").get(f"/items/{specimen.item.number}/").text
    assert f"/specimens/{specimen.number}/" in page
    assert deviation.text in page
    assert f"/deviations/{deviation.pk}/answer/" in page


@pytest.mark.parametrize(
    "path", ["/items/2600010017/", "/specimens/2600010017/", "/photos/1/", "/deviations/1/answer/"]
)
def test_what_is_not_there_is_not_found(signed_in, path):
    assert signed_in("counter").get(path).status_code == 404


def test_an_item_is_handed_over_with_its_specimens(signed_in):
    specimen, shelf, browser = SpecimenFactory.create(), PlaceFactory.create(), signed_in("technician")
    url = f"/items/{specimen.item.number}/hand-over/"
    assert "With its specimen" in browser.get(url).text
    typed = {"place": str(shelf.pk), "person": "", "with_specimens": "on", "note": ""}
    assert browser.post(url, typed)["Location"] == f"/items/{specimen.item.number}/"
    assert list(Custody.objects.values_list("item", "specimen", "place").order_by("item")) in (
        [(specimen.item.pk, None, shelf.pk), (None, specimen.pk, shelf.pk)],
        [(None, specimen.pk, shelf.pk), (specimen.item.pk, None, shelf.pk)],
    )


def test_a_hand_over_to_nobody_or_to_two_is_refused_and_keeps_the_note(signed_in):
    specimen, shelf, browser = SpecimenFactory.create(), PlaceFactory.create(), signed_in("technician")
    url = f"/specimens/{specimen.number}/hand-over/"
    for where in ({"place": "", "person": ""}, {"place": str(shelf.pk), "person": str(browser.person.pk)}):
        page = browser.post(url, where | {"note": "Kept note"})
        assert page.status_code == 422
        assert "one of the two, not both" in page.text
        assert 'value="Kept note"' in page.text
    assert browser.post(url, {"place": "", "person": str(browser.person.pk), "note": ""}).status_code == 302
    assert Custody.objects.get().person == browser.person


def test_the_clients_answer_is_recorded_once(signed_in):
    deviation, browser = DeviationFactory.create(), signed_in("counter")
    url = f"/deviations/{deviation.pk}/answer/"
    typed = {"decision": "test anyway", "answered_by": "Aoife Brannigan", "answer": "Go on with eight."}
    refused = browser.post(url, typed | {"decision": ""})
    assert refused.status_code == 422
    assert "Choose what the client decided." in refused.text
    assert "Go on with eight.</textarea>" in refused.text
    number = deviation.item.order_line.order.number
    assert browser.post(url, typed)["Location"] == f"/orders/{number}/"
    late = browser.post(url, typed | {"answer": "No, stop."})
    assert late.status_code == 422
    assert "recorded an answer already" in late.text
    assert "No, stop.</textarea>" in late.text
    assert DeviationAnswer.objects.get().answer == "Go on with eight."


def test_a_photo_is_added_later_or_refused(signed_in):
    item, browser = ItemFactory.create(), signed_in("counter")
    url = f"/items/{item.number}/photos/new/"

    def upload(name: str) -> SimpleUploadedFile:
        return SimpleUploadedFile(name, (PICTURES / name).read_bytes())

    refused = browser.post(url, {"photo": upload("e07_script.svg"), "caption": "Kept caption"})
    assert (refused.status_code, "Kept caption" in refused.text) == (422, True)
    assert browser.post(url, {"photo": upload("e04_exif_orientation_6.jpg"), "caption": "corner"}).status_code == 302
    assert Photo.objects.get().caption == "corner"


def test_each_label_carries_the_digits_in_its_code(signed_in):
    # Read back with zxing-cpp, the same reader a scanner's maker may use; the page is rendered by poppler's pdftoppm.
    import subprocess

    import zxingcpp
    from PIL import Image

    specimen = SpecimenFactory.create()
    number = specimen.order_line.order.number
    browser = signed_in("checker")
    pdf = browser.get(f"/orders/{number}/labels.pdf")
    assert pdf["Content-Type"] == "application/pdf"
    found = []
    for page in ("1", "2"):
        rendered = subprocess.run(  # noqa: S603  (fixed arguments)
            ["pdftoppm", "-r", "203", "-png", "-f", page, "-l", page, "-"],  # noqa: S607  (installed with the tests)
            input=pdf.content,
            capture_output=True,
            check=True,
        )
        found.append([code.text for code in zxingcpp.read_barcodes(Image.open(io.BytesIO(rendered.stdout)))])
    assert found == [[specimen.item.number], [specimen.number]]
    assert browser.get(f"/orders/{number}/labels.pdf?piece=2699990017").status_code == 404
    assert browser.get(f"/orders/{number}/labels.pdf?receipt=abc").status_code == 404


def test_a_label_never_prints_a_box_for_a_missing_letter():
    from specimens.queries.pieces import LabelPiece
    from specimens.rendering.labels import _label

    item = ItemFactory.create(description="塑料外壳", order_line=OrderLineFactory.create())
    label = _label(LabelPiece(item.number, item, None))
    assert label.number_digits == item.number
    assert label.lines[1] == "(name: see the screen)"
    assert label.lines[2] == "PC, white"


WRITING = (
    "/orders/new/", "/orders/{order}/receive/", "/orders/{order}/lines/new/", "/orders/{order}/lines/1/withdraw/",
    "/clients/new/", "/clients/{client}/edit/", "/clients/{client}/contacts/new/", "/contacts/{contact}/edit/",
    "/items/{item}/hand-over/", "/items/{item}/photos/new/", "/deviations/{deviation}/answer/",
)  # fmt: skip
READING = ("/counter/", "/clients/", "/clients/{client}/", "/orders/{order}/", "/items/{item}/")


@pytest.mark.parametrize("role", ["counter", "lead", "technician", "checker", "signatory", "quality", "administrator"])
def test_everybody_reads_and_only_the_counters_people_write(signed_in, role):
    deviation, browser = DeviationFactory.create(), signed_in(role)
    order = deviation.item.order_line.order
    names = {
        "order": order.number, "client": order.client_id, "contact": order.contact_id,
        "item": deviation.item.number, "deviation": deviation.pk,
    }  # fmt: skip
    reading = {path: browser.get(path.format(**names)).status_code for path in READING}
    assert reading == dict.fromkeys(READING, 200)
    writing = {path: browser.get(path.format(**names)).status_code for path in WRITING}
    assert writing == dict.fromkeys(WRITING, 200 if role in ("counter", "lead", "technician") else 403)
    review = browser.get(f"/orders/{order.number}/review/").status_code
    assert review == (200 if role == "lead" else 403)
