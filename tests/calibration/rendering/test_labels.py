"""Labels: what comes out of the printer is read back, as a picture and as text."""

import subprocess
from datetime import date
from io import BytesIO
from pathlib import Path

import pikepdf
import pytest
import zxingcpp
from PIL import Image

from calibration.rendering.instrument_label import instrument_label
from calibration.rendering.labels import Label, label_pdf

INSTRUMENT = Label("000013", "TC-07", ("00001-3", "Calibrated on 14 May 2026", "Due on 14 May 2027"))
PIECE = Label("2604140031", "26-0414-003-1", ("Polyamide 66, 30 % glass", "3.0 mm", "Glow wire 850 °C"))
HOSTILE = Label("2604140031", "<b>&amp;</b>", ("W" * 300, "<script>alert(1)</script>", "日本語" * 40, "x", "y"))


def pictures(pdf: bytes, folder: Path, dpi: float, *options: str) -> list[Image.Image]:
    """The pages as a printer of `dpi` dots per inch would get them (poppler), top down."""
    run = ["pdftoppm", "-r", str(dpi), "-gray", *options, "-", str(folder / f"page-{dpi}")]
    subprocess.run(run, input=pdf, check=True)  # noqa: S603  (a fixed program, our own bytes)
    return [Image.open(BytesIO(page.read_bytes())) for page in sorted(folder.glob(f"page-{dpi}-*.pgm"))]


def text(pdf: bytes) -> list[list[str]]:
    """The lines of each page (poppler)."""
    found = subprocess.run(["pdftotext", "-layout", "-", "-"], input=pdf, capture_output=True, check=True)  # noqa: S607
    pages = found.stdout.decode().split("\f")[:-1]
    return [[line.strip() for line in page.splitlines() if line.strip()] for page in pages]


@pytest.mark.parametrize("dpi", [203, 300])
def test_each_page_carries_its_number_as_a_data_matrix(tmp_path: Path, dpi: int):
    read = [zxingcpp.read_barcodes(page) for page in pictures(label_pdf([INSTRUMENT, PIECE, HOSTILE]), tmp_path, dpi)]
    assert [[(code.format, code.text) for code in codes] for codes in read] == [
        [(zxingcpp.BarcodeFormat.DataMatrix, label.number_digits)] for label in (INSTRUMENT, PIECE, HOSTILE)
    ]


def test_a_page_is_the_label():
    with pikepdf.open(BytesIO(label_pdf([INSTRUMENT, PIECE]))) as pdf:
        boxes = [[float(edge) for edge in page.mediabox] for page in pdf.pages]
    # 50 x 25 mm in points of 1/72 inch
    assert (
        boxes
        == [[pytest.approx(0), pytest.approx(0), pytest.approx(141.732, abs=0.01), pytest.approx(70.866, abs=0.01)]] * 2
    )


def test_the_plain_text_says_the_number_with_its_check_digit():
    assert text(label_pdf([INSTRUMENT, PIECE])) == [
        ["TC-07", "00001-3", "Calibrated on 14 May 2026", "Due on 14 May 2027"],
        ["26-0414-003-1", "Polyamide 66, 30 % glass", "3.0 mm", "Glow wire 850 °C"],
    ]


@pytest.mark.parametrize(("label", "dots", "modules"), [(INSTRUMENT, 7, 10), (PIECE, 6, 12)])
def test_modules_are_whole_dots_of_a_203_dpi_printer(tmp_path: Path, label: Label, dots: int, modules: int):
    # At exactly 8 dots a millimetre, dots black or white as on a thermal printer: each module is one plain square.
    (page,) = pictures(label_pdf([label]), tmp_path, 203.2, "-aaVector", "no")
    edge = 12 + dots  # the margin of 1.5 mm, then one module of quiet zone
    code = page.crop((edge, edge, edge + dots * modules, edge + dots * modules))
    squares = [(x * dots, y * dots, (x + 1) * dots, (y + 1) * dots) for x in range(modules) for y in range(modules)]
    shades = [{value for _, value in code.crop(square).getcolors() or []} for square in squares]
    assert all(shade in ({0}, {255}) for shade in shades)
    column = [code.getpixel((dots // 2, y * dots + dots // 2)) for y in range(modules)]
    top = [code.getpixel((x * dots + dots // 2, dots // 2)) for x in range(modules)]
    # ISO/IEC 16022: the left edge is solid, the upper edge alternates.
    assert column == [0] * modules
    assert top == [0, 255] * (modules // 2)


def test_long_and_hostile_text_shrinks_and_ends_with_dots_and_is_text():
    (lines,) = text(label_pdf([HOSTILE]))
    assert lines[0] == "<b>&amp;</b>"
    assert lines[1].startswith("WWWW")
    assert lines[1].endswith("…")
    assert lines[2] == "<script>alert(1)</script>"


def test_no_text_leaves_the_label(tmp_path: Path):
    (page,) = pictures(label_pdf([HOSTILE]), tmp_path, 203)
    strip = page.crop((page.width - 8, 0, page.width, page.height))  # the last millimetre
    assert strip.getextrema() == (255, 255)


def test_without_a_label_or_with_a_number_too_long_nothing_is_printed():
    with pytest.raises(ValueError, match="no label"):
        label_pdf([])
    with pytest.raises(ValueError, match="do not fit"):
        label_pdf([Label("7" * 200, "x", ())])


@pytest.mark.parametrize(
    ("usable", "restriction", "lines"),
    [
        (True, "", ["TC-07", "00001-3", "Calibrated on 31 Jan 2026", "Due on 28 Feb 2026"]),
        (
            True,
            "only up to 960 °C",
            ["TC-07", "00001-3", "Calibrated on 31 Jan 2026", "Due on 28 Feb 2026", "only up to 960 °C"],
        ),
        (
            False,
            "only up to 960 °C",
            ["TC-07", "00001-3", "Not to be used", "Its calibration of 31 Jan 2026 was rejected: low"],
        ),
    ],
)
def test_an_instruments_label_says_due_and_restriction_or_that_it_must_not_be_used(
    usable: bool, restriction: str, lines: list[str]
):
    pdf = instrument_label(
        number="000013", code="TC-07", usable=usable, clause="its calibration of 31 Jan 2026 was rejected: low",
        calibrated_on=date(2026, 1, 31), due_on=date(2026, 2, 28), restriction=restriction,
    )  # fmt: skip
    assert text(pdf) == [lines]


def test_the_same_label_gives_the_same_bytes():
    assert label_pdf([PIECE]) == label_pdf([PIECE])
