"""The finished file: every item a to p of ISO/IEC 17025:2017, 7.8.2.1, the same bytes, a sound structure."""

import io
import json
import re
import subprocess
from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal
from pathlib import Path

import pikepdf
import pytest
import zxingcpp
from PIL import Image

from labsite.ledger.pictures import shown_picture
from reports.domain.content import AmendmentContent
from reports.domain.content_json import content_bytes, content_from_json
from reports.queries.kept_pictures import LostPictureError, certificate_pictures
from reports.rendering.pdf import certificate_pdf
from specimens.actions.receipts import PhotoIn, add_photo
from tests.factories.ledger import NOON
from tests.factories.reports import (
    BURNS,
    LAYER_CATCHES,
    NO_FLAME,
    a_photo,
    certificate_scene,
    check_now,
    deviation,
    file_of,
    issued,
)
from trials.actions.observations import correct_observation
from trials.models import Observation


def full_certificate():
    """One passed and one failed specimen, a deviation tested anyway, a correction, photos, typed digits."""
    scene = certificate_scene(BURNS, LAYER_CATCHES, check=False)
    order, specimen = scene.order, scene.bench.specimens[0]
    order.purchase_order = "0047-B"
    order.save()
    specimen.thickness_mm, specimen.surface = Decimal("3.0"), "moulded side"
    specimen.save()
    deviation(scene, answer="Please test them as they are.")
    photo = PhotoIn("items.png", a_photo((40, 80, 120)), shown_picture(a_photo((40, 80, 120)), name="items.png"))
    add_photo(by=scene.bench.lead, at=NOON - timedelta(days=4), item=scene.item, photo=photo)
    row = Observation.objects.get(trial=scene.trials[1], kind="flame_out")
    correct_observation(
        by=scene.bench.technician,
        at=NOON + timedelta(hours=1),
        observation=row,
        t_s=Decimal("43.0"),
        value="bright",
        strike=False,
        reason="pressed late, read off the video.",
    )
    check_now(scene)
    return issued(scene)


def text_of(content: bytes, folder: Path) -> str:
    """The text in reading order, line breaks as spaces."""
    file = folder / "certificate.pdf"
    file.write_bytes(content)
    run = subprocess.run(["pdftotext", str(file), "-"], check=True, capture_output=True, text=True)  # noqa: S603, S607
    return " ".join(run.stdout.split())


def feet_of(file: Path) -> list[str]:
    """The last line of each page: its number on every part (7.8.2.1 d)."""
    command = ["pdftotext", "-layout", str(file), "-"]
    pages = subprocess.run(command, check=True, capture_output=True, text=True).stdout.split("\f")[:-1]  # noqa: S603
    return [" ".join(page.rstrip().rpartition("\n")[2].split()) for page in pages]


ITEMS = [
    ("a", "Certificate of test 26-0001-C1"),
    ("b", "Testbench Laboratory Probe Lane 1, 00000 Nowhere"),
    ("c", "Tested 10 March 2026 at Fire room, Testbench Laboratory, Probe Lane 1, 00000 Nowhere"),
    ("d end", "End of certificate 26-0001-C1"),
    ("e", "Client Example Plugs, Sample Street 1. Contact: Carla Contact"),
    ("f", "Glow-wire test on end products, IEC 60695-2-11:2021, apparatus IEC 60695-2-10:2021"),
    ("g", "Plug insert. Material UP-GF20 (stated by the client), colour grey."),
    ("g number", "Item 26-0001-001-7"),
    ("g condition", "condition on arrival: sound. Specimens tested: 26-0001-002-5, 26-0001-003-3."),
    ("h", "Received on 5 March 2026: 2 counted"),
    ("i", "Tested on 10 March 2026, 12:01 by Tess Technician on rig GW-1."),
    ("j", "Issued 10 March 2026"),
    ("k", "The laboratory took no samples: the results apply to the items as received."),
    ("l", "The results relate only to the items tested. They are not by themselves a measure of fire hazard in use."),
    ("l whole", "This certificate may be reproduced only in full"),
    (
        "m answer",
        "Failed at 850 °C. Specimen 26-0001-003-3, the layer caught at 22.4 s, after the second drip",
    ),
    ("m figures", "26-0001-002-5 6.4 s not caught 38.6 s no glow 60.2 s passed"),
    ("m digits", "Thickness 3.0 mm, measured here. Surface: moulded side."),
    ("m set-up", "Force 0.96 N 0.95 ± 0.10 N met: measured with FG-02"),
    ("m conditioning", "Room: 15 to 35 °C, 45 to 75 % RH in C-"),
    ("m hours", "30 h 00 min in band"),
    ("m instrument", "TM-01 00013-9 timer of the tests timer 9 Jan 2026 9 Jan 2027 Example Calibrations"),
    ("m rule", "Inherent in the standard. Agreed with Carla Contact on 5 March 2026; contract reviewed by Lena Lead."),
    ("m statement", "The statement covers 2 specimens, listed under Result."),
    ("n found", "On arrival, Plug insert: Two pieces show cracks near the hinge. Found on 6 March 2026."),
    ("n answer", "Carla Contact answered for the client on 7 March 2026: Please test them as they are."),
    ("n disclaimer", "affected may be specimens 26-0001-002-5, 26-0001-003-3."),
    ("n correction", "from 43.5 s to 43.0 s, bright: pressed late, read off the video."),
    ("n edition", "The figures of IEC 60695-2-11:2021 used here are not yet confirmed"),
    (
        "o checked",
        "Checked Cora Checker, 10 March 2026, authorised to check IEC 60695-2-11:2021 since",
    ),
    ("o", "Authorised and released Sid Signatory, 10 March 2026"),
    ("p", "All results were obtained by this laboratory; none comes from an external provider."),
    ("drawing", "ignites 6.4 s"),
]


def test_the_file_holds_every_item_and_is_sound(db, tmp_path):
    certificate = full_certificate()
    drawn = bytes(file_of(certificate).content)
    text = text_of(drawn, tmp_path)
    assert [letter for letter, words in ITEMS if words not in text] == []
    assert text.endswith("End of certificate 26-0001-C1 Certificate 26-0001-C1 Page 4 of 4")
    assert feet_of(tmp_path / "certificate.pdf") == [f"Certificate 26-0001-C1 Page {page} of 4" for page in range(1, 5)]
    subprocess.run(["qpdf", "--check", str(tmp_path / "certificate.pdf")], check=True, capture_output=True)  # noqa: S603, S607
    with pikepdf.open(io.BytesIO(drawn)) as pdf:
        assert (len(pdf.pages), str(pdf.Root.Lang), bool(pdf.Root.MarkInfo.Marked)) == (4, "en", True)
        width, height = (float(one) for one in pdf.pages[0].mediabox[2:])
        assert (round(width), round(height)) == (595, 842)
        assert fonts_of(pdf) == {"Lab-Sans", "Lab-Sans-Bold"}
        assert figures_without_words(pdf) == []
        attached = pdf.attachments["26-0001-C1.json"].get_file().read_bytes()
        assert pdf.open_metadata().get("pdfaid:part") == "3"
    assert (json.loads(attached), attached) == (certificate.content, content_bytes(certificate.content))
    again = content_from_json(certificate.content)
    assert certificate_pdf(again, certificate_pictures(again)) == drawn


def fonts_of(pdf: pikepdf.Pdf) -> set[str]:
    """Names of the fonts, without the mark of a subset; each is embedded."""
    names = set()
    for item in pdf.objects:
        if isinstance(item, pikepdf.Dictionary) and item.get("/Type") == "/FontDescriptor":
            assert "/FontFile2" in item or "/FontFile3" in item
            names.add(str(item.FontName).lstrip("/").partition("+")[2] or str(item.FontName).lstrip("/"))
    return names


def figures_without_words(pdf: pikepdf.Pdf) -> list[str]:
    """Tagged figures that a screen reader could not read out."""
    figures = [item for item in pdf.objects if isinstance(item, pikepdf.Dictionary) and item.get("/S") == "/Figure"]
    assert len(figures) > 8
    return [str(figure.keys()) for figure in figures if not str(figure.get("/Alt", ""))]


def test_the_code_on_page_one_is_the_number(db, tmp_path):
    certificate = issued(certificate_scene())
    file = tmp_path / "certificate.pdf"
    file.write_bytes(bytes(file_of(certificate).content))
    subprocess.run(["pdftoppm", "-r", "200", "-l", "1", "-png", str(file), str(tmp_path / "page")], check=True)  # noqa: S603, S607
    (page,) = tmp_path.glob("page*.png")
    with Image.open(page) as picture:
        assert [code.text for code in zxingcpp.read_barcodes(picture)] == ["26-0001-C1"]


def test_an_amendment_says_what_it_replaces_and_what_differs(db, tmp_path):
    content = content_from_json(issued(certificate_scene(), written=False).content)
    amendment = AmendmentContent(
        "26-0001-C1", date(2026, 3, 9), "Typing error of the laboratory.", ("Client, address: “B” was “A”.",), False
    )
    amended = replace(content, number="26-0001-C2", amendment=amendment)
    text = text_of(certificate_pdf(amended, certificate_pictures(amended)), tmp_path)
    assert (
        "Amendment. This certificate replaces 26-0001-C1 of 9 March 2026, which stays readable and is marked as "
        "replaced. Reason: Typing error of the laboratory. No result has changed. Different from 26-0001-C1:"
    ) in text
    assert "Client, address: “B” was “A”." in text


LONG_WORD = "PA66GF30-" + "X" * 150
ADDRESS = "https://example.test" + "/a" * 90
REMARK = "very long remark. " * 450


def test_long_words_wrap_and_long_remarks_go_on_over_pages(db, tmp_path):
    # kinds of words and remarks that public bug reports of PDF makers describe
    scene = certificate_scene()
    deviation(scene, REMARK.strip(), answer=f"See {ADDRESS}")
    item = scene.item
    item.material = LONG_WORD[:120]
    item.save()
    drawn = bytes(file_of(issued(scene)).content)
    text = text_of(drawn, tmp_path)
    assert re.sub(r"Certificate 26-0001-C1 Page \d of \d ", "", text).count("very long remark.") == 450
    assert "X" * 111 in text.replace(" ", "")
    assert text.endswith("End of certificate 26-0001-C1 Certificate 26-0001-C1 Page 5 of 5")
    boxes = subprocess.run(["pdftotext", "-bbox", str(tmp_path / "certificate.pdf"), "-"],  # noqa: S603, S607
                           check=True, capture_output=True, text=True).stdout  # fmt: skip
    rights = [float(part.split('"')[0]) for part in boxes.split('xMax="')[1:]]
    assert max(rights) <= 595 - 15 / 25.4 * 72 + 1


def test_typed_digits_stay_on_paper_and_in_the_data(db, tmp_path):
    # as in public bug reports on trailing zeros: 3.0 is not 3
    typed = ["3.0", "3", "0.75", "1.50"]
    scene = certificate_scene(*[NO_FLAME] * len(typed))
    for specimen, text in zip(scene.bench.specimens, typed, strict=True):
        specimen.thickness_mm = Decimal(text)
        specimen.save()
    certificate = issued(scene)
    printed = text_of(bytes(file_of(certificate).content), tmp_path)
    assert re.findall(r"Thickness (\S+) mm, measured here", printed) == typed
    kept = [trial["specimen"]["thickness"]["text"] for trial in certificate.content["lines"][0]["trials"]]
    assert kept == [f"{text} mm" for text in typed]


def test_a_photo_that_is_not_kept_as_it_was_stops_the_writing(db):
    content = content_from_json(issued(certificate_scene(), written=False).content)
    photo = replace(content.trials[0].photos[0], sha256="0" * 64)
    trial = replace(content.trials[0], photos=(photo,))
    lost = replace(content, lines=(replace(content.lines[0], trials=(trial,)),))
    with pytest.raises(LostPictureError, match="of certificate 26-0001-C1 is not kept as it was"):
        certificate_pictures(lost)


def test_a_draft_says_so_and_carries_no_data(db, tmp_path):
    content = content_from_json(issued(certificate_scene(), written=False).content)
    drawn = certificate_pdf(content, certificate_pictures(content), draft=True)
    assert text_of(drawn, tmp_path).startswith("Draft. Not issued, not a certificate.")
    with pikepdf.open(io.BytesIO(drawn)) as pdf:
        assert list(pdf.attachments) == []
