"""The marks of drawings on paper: lengths in points, colours as attributes, because no stylesheet reaches them."""

from dataclasses import dataclass, field
from html import escape

WIDTH = 510.0
"""Width of the text on an A4 page with margins of 15 mm."""
INK, SOFT, RULE, EDGE, FIELD = "#161c19", "#4b544f", "#c4cbc3", "#7d867f", "#e3eae1"
_FONT = "Lab Sans, Lab Math, Lab Marks"
_CHARACTER = 0.56
"""About what a character takes, as a share of its size."""


def line(x1: float, y1: float, x2: float, y2: float, *, width: float = 1, colour: str = INK, dashes: str = "") -> str:
    """A straight line."""
    dashed = f' stroke-dasharray="{dashes}"' if dashes else ""
    way = f"M{x1:.1f} {y1:.1f}L{x2:.1f} {y2:.1f}"
    return f'<path d="{way}" stroke="{colour}" stroke-width="{width:g}"{dashed} fill="none"/>'


def rect(x1: float, y: float, x2: float, height: float, *, colour: str = FIELD) -> str:
    """A filled rectangle."""
    return f'<rect x="{x1:.1f}" y="{y:.1f}" width="{max(0.0, x2 - x1):.1f}" height="{height:.1f}" fill="{colour}"/>'


def knot(x: float, y: float, radius: float = 3.4, *, hollow: bool = False) -> str:
    """A knot on a line; hollow where something is not known to have ended by itself."""
    fill = "#ffffff" if hollow else INK
    return f'<circle cx="{x:.1f}" cy="{y:.1f}" r="{radius:g}" fill="{fill}" stroke="{INK}" stroke-width="1"/>'


def text(words: str, x: float, y: float, *, size: float = 7, bold: bool = False, anchor: str = "start") -> str:
    """A label."""
    colour, weight = (INK, 700) if bold else (SOFT, 400)
    return (
        f'<text x="{x:.1f}" y="{y:.1f}" font-size="{size:g}" font-weight="{weight}" text-anchor="{anchor}" '
        f'fill="{colour}" font-family="{_FONT}">{escape(words)}</text>'
    )


def drawing(body: str, *, height: float, title: str) -> str:
    """A whole drawing with its result in words, which readers of the tagged file hear."""
    return (
        f'<svg class="drawing" viewBox="0 0 {WIDTH:g} {height:g}" width="{WIDTH:g}pt" height="{height:g}pt" role="img">'
        f"<title>{escape(title)}</title>{body}</svg>"
    )


def columns(width: float, size: float) -> int:
    """How many characters of `size` fit into `width`."""
    return max(6, int(width / (size * _CHARACTER)))


@dataclass(slots=True)
class Labels:
    """Places labels so that they do not run into each other."""

    size: float = 7
    placed: list[tuple[float, float, float]] = field(default_factory=list)

    def place(
        self, words: str, x: float, ys: tuple[float, ...], *, sides: str = "start end", bold: bool = False
    ) -> str:
        """The label beside `x` on the first of the heights where it fits; else on the last, where there is room."""
        length = len(words) * self.size * _CHARACTER * (1.08 if bold else 1)
        choices = [(y, side) for y in ys for side in sides.split()]
        spans = {
            "start": (x + 4, x + 4 + length),
            "end": (x - 4 - length, x - 4),
            "middle": (x - length / 2, x + length / 2),
        }
        last = (ys[-1], "end" if x > WIDTH / 2 and "end" in sides else sides.split(maxsplit=1)[0])
        y, side = next((one for one in choices if self._fits(*spans[one[1]], one[0])), last)
        left, right = spans[side]
        self.placed.append((left, right, y))
        at = {"start": left, "end": right, "middle": x}[side]
        return text(words, at, y, size=self.size, bold=bold, anchor=side)

    def _fits(self, left: float, right: float, y: float) -> bool:
        clear = all(abs(y - other) >= 8 or right + 3 <= start or left >= end + 3 for start, end, other in self.placed)
        return left >= 0 and right <= WIDTH and clear
