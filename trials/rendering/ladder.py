"""A search by levels as SVG: levels upwards, steps to the right, where the answer could still lie as a pale field."""

from decimal import Decimal
from itertools import pairwise

from labsite.ledger.svg import CHARACTER_WIDTH_PX, line, plot, rect, text
from trials.domain.ladder import Ladder, Mark, Rung
from trials.rendering.labels import Labels

NARROW_PX = 560
"""Width of the drawing where it is narrowest: beside the margin of a page 960 px wide."""
HEIGHT, TOP, BOTTOM, STEPS_Y = 372, 26, 332, 360
LEFT_PERCENT, RIGHT_PERCENT = 11.0, 98.0
_APART_PX = 14
_LOOP = '<path class="h-line" d="M-26 6H-5C10 6 14 -12 4 -12S-4 6 10 6H28"/>'


def ladder_svg(search: Ladder) -> str:
    """The drawing; empty where the grid has fewer than two levels."""
    return _Drawing(search).drawn() if len(search.grid) > 1 else ""


class _Drawing:
    """One drawing in the making; columns are steps, the last one is where the answer lies now."""

    def __init__(self, search: Ladder) -> None:
        self.search = search
        self.labels = Labels(NARROW_PX)
        self.steps = len(search.rungs) + (1 if search.following is not None else 0)
        self.column = (RIGHT_PERCENT - LEFT_PERCENT) / (self.steps + 1)
        self.bottom, self.top = float(search.grid[0][0]), float(search.grid[-1][0])

    def drawn(self) -> str:
        """The whole drawing: fields first, then lines, marks and labels."""
        rungs = self.search.rungs
        for number, rung in enumerate(rungs):
            half = self._half(number)
            self.labels.keep_free(self.middle(number) - half, self.y(rung.value) + 4, half * 2 / 100 * NARROW_PX)
        fields = [self._field(number, rung.low, rung.high) for number, rung in enumerate(rungs)]
        if self.search.following is not None:
            fields.append(self._field(len(rungs), self.search.low, self.search.high))
        marks = [self._rung(number, rung) for number, rung in enumerate(rungs)]
        body = [*fields, self._answer_field(), *self._grid(), *self._ways(), *marks, self._next(), self._answer()]
        return plot("".join(body), height=HEIGHT, label=self.search.words)

    def y(self, value: Decimal) -> float:
        """Pixels from the top of a level."""
        return BOTTOM - (float(value) - self.bottom) / (self.top - self.bottom) * (BOTTOM - TOP)

    def left(self, number: int) -> float:
        """Percent from the left where a step begins."""
        return LEFT_PERCENT + number * self.column

    def middle(self, number: int) -> float:
        """Percent from the left of the middle of a step."""
        return self.left(number) + self.column / 2

    def _field(self, number: int, low: Decimal | None, high: Decimal | None, css: str = "field") -> str:
        upper = TOP - 8 if high is None else self.y(high)
        lower = BOTTOM + 8 if low is None else self.y(low)
        return rect(css, self.left(number), upper, self.left(number) + self.column, max(0.0, lower - upper))

    def _answer_field(self) -> str:
        if self.search.result or not self.search.rungs:
            return ""
        return self._field(self.steps, self.search.low, self.search.high, "h-field")

    def _grid(self) -> list[str]:
        """A line for each level; names of those tried first, the others where there is room."""
        tried = {rung.value for rung in self.search.rungs}
        if self.search.following is not None:
            tried.add(self.search.following[0])
        ends = {self.search.grid[0][0], self.search.grid[-1][0]}
        rank = sorted(self.search.grid, key=lambda one: (one[0] not in tried, one[0] not in ends, one[0] % 50 != 0))
        placed: list[float] = []
        marks = [line("grid", LEFT_PERCENT, self.y(value), RIGHT_PERCENT, self.y(value)) for value, _ in rank]
        for value, name in rank:
            y = self.y(value)
            if all(abs(y - other) >= 13 for other in placed):
                placed.append(y)
                marks.append(text(name, 0, y + 4, "strong" if value in tried else ""))
        return marks

    def _ways(self) -> list[str]:
        """Lines from each level to the next one tried; dotted to what is still to come."""
        ends = [(number, rung.value) for number, rung in enumerate(self.search.rungs)]
        if self.search.following is not None:
            ends.append((self.steps - 1, self.search.following[0]))
        marks = []
        for (one, before), (other, after) in pairwise(ends):
            edge = min(self.column * 0.32, self._half(one) + 1)
            todo = other == len(self.search.rungs)
            css = "axis thin" if todo else "knotline"
            marks.append(line(css, self.middle(one) + edge, self.y(before), self.middle(other) - edge, self.y(after)))
        return marks

    def _half(self, number: int) -> float:
        """Half the width of a step's marks, in percent where the drawing is narrowest."""
        return len(self.search.rungs[number].marks) * _APART_PX / 2 / NARROW_PX * 100

    def _rung(self, number: int, rung: Rung) -> str:
        x, y = self.middle(number), self.y(rung.value)
        first = -(len(rung.marks) - 1) * _APART_PX / 2
        shapes = "".join(_shape(mark, first + place * _APART_PX) for place, mark in enumerate(rung.marks))
        css = "halo strong" if rung.state == "failed" else "halo"
        words = rung.words if self._wide(rung.words) else rung.short
        levels = (y - 12, y - 25, y + 21, y + 34)
        return (
            f'<svg x="{x:.2f}%" y="{y:.1f}" width="1" height="1" overflow="visible">{shapes}</svg>'
            + self.labels.place(words, x, levels, css, anchors="mid", dx=0)
            + (self.labels.place(rung.run, x, levels[2:], "halo tiny", anchors="mid", dx=0) if rung.run else "")
            + text(f"step {number + 1}", x, STEPS_Y, "mid tiny")
        )

    def _wide(self, words: str) -> bool:
        """Whether a step is wide enough for these words where the drawing is narrowest."""
        return len(words) * CHARACTER_WIDTH_PX <= self.column / 100 * NARROW_PX + 12

    def _next(self) -> str:
        if self.search.following is None:
            return ""
        value, name = self.search.following
        number = self.steps - 1
        x, y = self.middle(number), self.y(value)
        last = self.search.rungs[-1] if self.search.rungs else None
        goes_on = last is not None and last.value == value and last.state == "open"
        words = f"next: {self.search.specimens_next} more" if goes_on else f"next: {name}"
        levels = (y - 18, y - 31, y + 24, y + 37)
        return (
            f'<svg x="{x:.2f}%" y="{y:.1f}" width="1" height="1" overflow="visible">{_LOOP}</svg>'
            + self.labels.place(words, x, levels, "h-text halo", anchors="mid", dx=0)
            + ("" if goes_on else text(f"step {number + 1}", x, STEPS_Y, "mid tiny"))
        )

    def _answer(self) -> str:
        """At the right: the answer, or between which levels it lies."""
        if self.search.result:
            return self.labels.place(self.search.result, RIGHT_PERCENT, (14, 27), "strong halo", anchors="end", dx=0)
        low, high, names = self.search.low, self.search.high, dict(self.search.grid)
        if low is None and high is None:
            return ""
        if low is None or high is None:
            words = f"below {names[high]}" if high is not None else f"from {names[low or Decimal(0)]} up"
        else:
            words = f"from {names[low]} to below {names[high]}"
        y = (BOTTOM if low is None else self.y(low)) + 16
        levels = (min(y, BOTTOM + 16), 14)
        return self.labels.place(words, RIGHT_PERCENT, levels, "strong halo", anchors="end", dx=0)


def _shape(mark: Mark, dx: float) -> str:
    """A dot for a specimen that passed, a cross for one that failed, an empty ring for one that does not decide."""
    if mark == "fail":
        return f'<path class="cross" d="M{dx - 5:g} -5L{dx + 5:g} 5M{dx - 5:g} 5L{dx + 5:g} -5"/>'
    if mark == "pass":
        return f'<circle class="dot" cx="{dx:g}" cy="0" r="5.5"/>'
    return f'<circle class="ring" cx="{dx:g}" cy="0" r="4.5"/>'
