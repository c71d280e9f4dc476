"""Two ways to put the same marks down: fluid on a page, or in points with colours as attributes for print."""

from collections.abc import Iterable, Sequence
from html import escape
from typing import Protocol

from labsite.ledger import svg
from labsite.ledger.paper import FONT_FAMILY

Run = Sequence[tuple[float, float]]
"""Points of an unbroken measured line: percent from the left, px from the top."""

LABEL_PERCENT = 0.88
"""Width of one character of a 12 px label in percent of the narrowest drawing: 6.2 px of 760, or 4.5 pt of 510."""
PRINT_WIDTH_PT = 510.0
PRINT_SCALE = 0.72
"""Points for each px of the screen's drawing."""


class Ink(Protocol):
    """Marks with x in percent and y in px of the screen's drawing."""

    def line(self, css: str, x1: float, y1: float, x2: float, y2: float) -> str:
        """A straight line."""

    def rect(self, css: str, x1: float, y: float, x2: float, height: float, title: str = "") -> str:
        """A rectangle, with words for who points at it."""

    def circle(self, css: str, x: float, y: float, radius: float) -> str:
        """A dot."""

    def text(self, words: str, x: float, y: float, css: str = "", *, dx: float = 0) -> str:
        """A label."""

    def traces(self, runs: Iterable[Run], *, top: float, height: float) -> str:
        """Measured lines inside a strip; what leaves the strip is cut at its edge."""

    def whole(self, body: str, *, height: float, label: str) -> str:
        """The drawing."""


class ScreenInk:
    """As wide as its place; colours come from the stylesheet."""

    def line(self, css: str, x1: float, y1: float, x2: float, y2: float) -> str:
        return svg.line(css, x1, y1, x2, y2)

    def rect(self, css: str, x1: float, y: float, x2: float, height: float, title: str = "") -> str:
        plain = svg.rect(css, x1, y, x2, height)
        return plain if not title else f"{plain.removesuffix('/>')}><title>{escape(title)}</title></rect>"

    def circle(self, css: str, x: float, y: float, radius: float) -> str:
        return svg.circle(css, x, y, radius)

    def text(self, words: str, x: float, y: float, css: str = "", *, dx: float = 0) -> str:
        return svg.text(words, x, y, f"{css} halo".strip(), dx=dx)

    def traces(self, runs: Iterable[Run], *, top: float, height: float) -> str:
        moves = " ".join(_path([(x * 10, y - top) for x, y in run]) for run in runs)
        return (
            f'<svg x="0" y="{top:g}" width="100%" height="{height:g}" viewBox="0 0 1000 {height:g}" '
            f'preserveAspectRatio="none"><path class="trace" d="{moves}"/></svg>'
        )

    def whole(self, body: str, *, height: float, label: str) -> str:
        return svg.plot(body, height=height, label=label)


_PAINT = {
    "field": 'fill="#dfe8dd"',
    "paper": 'fill="#ffffff"',
    "solid": 'fill="#1a201d"',
    "dot": 'fill="#1a201d"',
    "fieldline": 'stroke="#6f8271" stroke-width="0.6"',
    "grid": 'stroke="#cbd2ca" stroke-width="0.5"',
    "axis": 'stroke="#7d867f" stroke-width="0.6"',
    "knotline": 'stroke="#1a201d" stroke-width="1.1"',
}
_HATCH = 'stroke="#7b847d" stroke-width="0.6" fill="none"'
_HATCH_STEP_PT = 4.2


class PrintInk:
    """Points in a viewBox. The PDF engine applies no stylesheet inside a drawing, so every shape carries its paint."""

    def line(self, css: str, x1: float, y1: float, x2: float, y2: float) -> str:
        kinds = css.split()
        dashes = ' stroke-dasharray="1.2 2.6"' if "thin" in kinds else ""
        return f'<line x1="{_pt_x(x1)}" y1="{_pt_y(y1)}" x2="{_pt_x(x2)}" y2="{_pt_y(y2)}" {_PAINT[kinds[0]]}{dashes}/>'

    def rect(self, css: str, x1: float, y: float, x2: float, height: float, title: str = "") -> str:
        if css == "hatched":
            return _hatching(
                x1 / 100 * PRINT_WIDTH_PT, y * PRINT_SCALE, x2 / 100 * PRINT_WIDTH_PT, height * PRINT_SCALE
            )
        return (
            f'<rect x="{_pt_x(x1)}" y="{_pt_y(y)}" width="{_pt_x(max(0.0, x2 - x1))}" height="{_pt_y(height)}" '
            f"{_PAINT[css]}/>"
        )

    def circle(self, css: str, x: float, y: float, radius: float) -> str:
        return f'<circle cx="{_pt_x(x)}" cy="{_pt_y(y)}" r="{_pt_y(radius)}" {_PAINT[css]}/>'

    def text(self, words: str, x: float, y: float, css: str = "", *, dx: float = 0) -> str:
        kinds = css.split()
        size = 11 if "tiny" in kinds else 12
        anchor = "end" if "end" in kinds else "middle" if "mid" in kinds else "start"
        paint = 'fill="#1a201d" font-weight="700"' if "strong" in kinds else 'fill="#4b544f"'
        left = x / 100 * PRINT_WIDTH_PT + dx * PRINT_SCALE
        return (
            f'<text x="{left:.2f}" y="{_pt_y(y)}" text-anchor="{anchor}" font-size="{_pt_y(size)}" '
            f'font-family="{FONT_FAMILY}" {paint}>{escape(words)}</text>'
        )

    def traces(self, runs: Iterable[Run], *, top: float, height: float) -> str:
        low, high = top * PRINT_SCALE, (top + height) * PRINT_SCALE
        moves = " ".join(
            _path([(x / 100 * PRINT_WIDTH_PT, min(high, max(low, y * PRINT_SCALE))) for x, y in run]) for run in runs
        )
        return f'<path d="{moves}" fill="none" stroke="#1a201d" stroke-width="0.9" stroke-linejoin="round"/>'

    def whole(self, body: str, *, height: float, label: str) -> str:
        tall = height * PRINT_SCALE
        return (
            f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {PRINT_WIDTH_PT:g} {tall:.1f}" '
            f'width="{PRINT_WIDTH_PT:g}pt" height="{tall:.1f}pt" role="img"><title>{escape(label)}</title>{body}</svg>'
        )


def _pt_x(percent: float) -> str:
    return f"{percent / 100 * PRINT_WIDTH_PT:.2f}"


def _pt_y(pixels: float) -> str:
    return f"{pixels * PRINT_SCALE:.2f}"


def _path(points: Sequence[tuple[float, float]]) -> str:
    if len(points) == 1:  # a reading on its own: a line of no length would not be seen
        x, y = points[0]
        return f"M{x - 0.6:.1f},{y:.1f} {x + 0.6:.1f},{y:.1f}"
    return "M" + " ".join(f"{x:.1f},{y:.1f}" for x, y in points)


def _hatching(left: float, top: float, right: float, height: float) -> str:
    """Lines at 45 degrees cut at the rectangle: the engine knows patterns, but not reliably at this size."""
    moves = []
    offset = _HATCH_STEP_PT / 2
    width = right - left
    while offset < width + height:
        begin_x, begin_y = max(0.0, offset - height), min(height, offset)
        end_x, end_y = min(width, offset), max(0.0, offset - width)
        moves.append(f"M{left + begin_x:.1f},{top + begin_y:.1f} {left + end_x:.1f},{top + end_y:.1f}")
        offset += _HATCH_STEP_PT
    return f'<path d="{" ".join(moves)}" {_HATCH}/>'
