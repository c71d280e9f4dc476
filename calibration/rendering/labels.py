"""Labels of 50 x 25 mm: a PDF whose page is the label, with a Data Matrix of the number made of whole printer dots."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from html import escape
from typing import cast

from labsite.ledger.paper import FONT_FAMILY, FONT_FOLDER, pdf_from_html

PAGE_MM = (50.0, 25.0)
DOTS_PER_MM = 8
"""A printer of 203 dpi: 8 dots in a millimetre, so that lengths in eighths of a millimetre are whole dots."""
CODE_EDGE_MM = 10.5
"""The square the code fills with its quiet zone. Ten and twelve modules (instrument, piece) give 7 and 6 dots each."""
SMALLEST_MODULE_DOTS = 3

# Printers blacken every dot an area touches: black stays this share of a module inside its dots, or it would gain one.
_SHY = 0.01
_MARGIN_MM = 1.5
_BESIDE_MM = _MARGIN_MM + CODE_EDGE_MM + 1.0
_FOOT_TOP_MM = 13.25
_LARGEST_MM = {"headline": 6.5, "beside": 3.25, "below": 2.75}
_SMALLEST_MM = 1.6

_SHEET = f"""
@page {{ size: {PAGE_MM[0]:g}mm {PAGE_MM[1]:g}mm; margin: 0 }}
html {{ font-family: {FONT_FAMILY}; color: #000 }}
body {{ margin: 0 }}
section {{ position: relative; width: {PAGE_MM[0]:g}mm; height: {PAGE_MM[1]:g}mm; overflow: hidden }}
section + section {{ break-before: page }}
svg, p {{ position: absolute; margin: 0; display: block }}
p {{ white-space: pre; overflow: hidden }}
b {{ font-weight: 700 }}
i {{ position: absolute; left: {_MARGIN_MM:g}mm; right: {_MARGIN_MM:g}mm; top: 12.5mm; height: .25mm }}
i {{ background: #000 }}
"""


@dataclass(frozen=True, slots=True)
class Label:
    """What one label says: the number in the code, a large headline, and lines; the first stands under the headline."""

    number_digits: str
    headline: str
    lines: tuple[str, ...]


def label_pdf(labels: Sequence[Label]) -> bytes:
    """One page of 50 x 25 mm per label. Text too long shrinks and at last ends in “…”; the code never shrinks.

    Raises ValueError when there is no label, or a number does not fit the code's square in modules of three dots.
    """
    if not labels:
        raise ValueError("there is no label to print")
    sections = "".join(_section(label) for label in labels)
    return pdf_from_html(f'<html lang="en"><title>Labels</title><body>{sections}</body></html>', css=_SHEET)


def _section(label: Label) -> str:
    beside_width = PAGE_MM[0] - _BESIDE_MM - _MARGIN_MM
    beside, below = label.lines[:1], label.lines[1:]
    parts = [
        _code(label.number_digits),
        _text(label.headline, x=_BESIDE_MM, y=_MARGIN_MM, width=beside_width, height=6.75, role="headline"),
        *(_text(line, x=_BESIDE_MM, y=8.25, width=beside_width, height=3.75, role="beside") for line in beside),
    ]
    if below:
        pitch = min(3.5, (PAGE_MM[1] - _FOOT_TOP_MM - 1.0) / len(below))
        width = PAGE_MM[0] - 2 * _MARGIN_MM
        parts.append("<i></i>")
        parts.extend(
            _text(line, x=_MARGIN_MM, y=_FOOT_TOP_MM + index * pitch, width=width, height=pitch, role="below")
            for index, line in enumerate(below)
        )
    return f"<section>{''.join(parts)}</section>"


def _code(digits: str) -> str:
    """The Data Matrix as runs of black modules, each a whole number of dots wide, one module of quiet zone around."""
    rows = _modules(digits)
    across = len(rows[0]) + 2
    dots = int(CODE_EDGE_MM * DOTS_PER_MM) // across
    if dots < SMALLEST_MODULE_DOTS:
        raise ValueError(f"{digits} needs {across} modules; they do not fit {CODE_EDGE_MM} mm at whole dots")
    edge = across * dots / DOTS_PER_MM
    path = "".join(
        f"M{start + 1 + _SHY:g} {y + 1 + _SHY:g}h{length - 2 * _SHY:g}v{1 - 2 * _SHY:g}h-{length - 2 * _SHY:g}z"
        for y, row in enumerate(rows)
        for start, length in _runs(row)
    )
    return (
        f'<svg style="left: {_MARGIN_MM:g}mm; top: {_MARGIN_MM:g}mm; width: {edge:g}mm; height: {edge:g}mm" '
        f'viewBox="0 0 {across} {across}" shape-rendering="crispEdges"><path fill="#000" d="{path}"/></svg>'
    )


def _modules(digits: str) -> list[list[bool]]:
    import zxingcpp

    barcode = zxingcpp.create_barcode(digits, zxingcpp.BarcodeFormat.DataMatrix)
    pixels = cast("list[list[int]]", memoryview(barcode.to_image(scale=1, add_quiet_zones=False)).tolist())
    return [[pixel == 0 for pixel in row] for row in pixels]


def _runs(row: list[bool]) -> list[tuple[int, int]]:
    """Start and length of each run of black modules."""
    starts = [x for x, black in enumerate(row) if black and (x == 0 or not row[x - 1])]
    ends = [x for x, black in enumerate(row, 1) if black and (x == len(row) or not row[x])]
    return [(start, end - start) for start, end in zip(starts, ends, strict=True)]


def _text(words: str, *, x: float, y: float, width: float, height: float, role: str) -> str:
    bold = role == "headline"
    shown = " ".join(words.split())
    size = min(_LARGEST_MM[role], height / 1.2, width / max(_width_em(shown, bold=bold), 0.01))
    if size < _SMALLEST_MM:
        size = _SMALLEST_MM
        while _width_em(f"{shown}…", bold=bold) * size > width:
            shown = shown[:-1].rstrip()
        shown = f"{shown}…"
    content = f"<b>{escape(shown)}</b>" if bold else escape(shown)
    return (
        f'<p style="left: {x:g}mm; top: {y:g}mm; width: {width + 0.5:g}mm; height: {height:g}mm; '
        f'font-size: {size:.3f}mm; line-height: {height:g}mm">{content}</p>'
    )


def _width_em(words: str, *, bold: bool) -> float:
    """Width in multiples of the font size; a character the shipped font lacks counts as a full square."""
    widths = _advances("NotoSans-Bold.ttf" if bold else "NotoSans-Regular.ttf")
    return 1.01 * sum(widths.get(ord(character), 1.0) for character in words)


@cache
def _advances(file_name: str) -> dict[int, float]:
    from fontTools.ttLib import TTFont

    with TTFont(FONT_FOLDER / file_name, lazy=True) as font:
        per_em, metrics = font["head"].unitsPerEm, font["hmtx"]
        return {character: metrics[glyph][0] / per_em for character, glyph in font.getBestCmap().items()}
