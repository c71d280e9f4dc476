"""The few marks every drawing is made of, as escaped SVG text; x in percent, y in pixels."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta
from html import escape

CHARACTER_WIDTH_PX = 6.2
"""About what one character of a 12 px label takes."""


@dataclass(frozen=True, slots=True)
class TimeAxis:
    """Maps instants to percent of the drawing's width."""

    start: datetime
    end: datetime
    left_percent: float = 0.0
    right_percent: float = 100.0

    def x(self, at: datetime) -> float:
        """Percent from the left; instants outside are held at the edge."""
        whole = (self.end - self.start).total_seconds() or 1.0
        share = min(1.0, max(0.0, (at - self.start).total_seconds() / whole))
        return self.left_percent + share * (self.right_percent - self.left_percent)

    def midnights(self) -> Iterable[datetime]:
        """The starts of days within the axis, in the zone of its start."""
        step = self.start.replace(hour=0, minute=0, second=0, microsecond=0) + timedelta(days=1)
        while step < self.end:
            yield step
            step = (step + timedelta(days=1)).replace(hour=0)


def line(css: str, x1: float, y1: float, x2: float, y2: float) -> str:
    """A straight line."""
    return f'<line class="{css}" x1="{x1:.2f}%" x2="{x2:.2f}%" y1="{y1:g}" y2="{y2:g}"/>'


def rect(css: str, x1: float, y: float, x2: float, height: float) -> str:
    """A rectangle from x1 to x2."""
    return f'<rect class="{css}" x="{x1:.2f}%" width="{max(0.0, x2 - x1):.2f}%" y="{y:g}" height="{height:g}"/>'


def circle(css: str, x: float, y: float, radius: float = 5) -> str:
    """A knot on a line."""
    return f'<circle class="{css}" cx="{x:.2f}%" cy="{y:g}" r="{radius:g}"/>'


def text(words: str, x: float, y: float, css: str = "", *, dx: float = 0) -> str:
    """A label; give “mid” or “end” in `css` to anchor it there."""
    shift = f' dx="{dx:g}"' if dx else ""
    return f'<text x="{x:.2f}%" y="{y:g}" class="{css}"{shift}>{escape(words)}</text>'


def plot(body: str, *, height: float, label: str) -> str:
    """A whole drawing, as wide as its place, with its result in words."""
    return f'<svg class="plot" height="{height:g}" role="img" aria-label="{escape(label, quote=True)}">{body}</svg>'


def trace(points: Iterable[tuple[float, float]], *, height: float) -> str:
    """A measured line: points as (percent, pixel); stretches with the page without getting thicker."""
    coordinates = " ".join(f"{x * 10:.1f},{y:.1f}" for x, y in points)
    return (
        f'<svg x="0" y="0" width="100%" height="{height:g}" viewBox="0 0 1000 {height:g}" preserveAspectRatio="none">'
        f'<polyline class="trace" points="{coordinates}"/></svg>'
    )
