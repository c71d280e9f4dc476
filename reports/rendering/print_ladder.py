"""A search by levels on paper: levels upwards, steps to the right, a pale field where the answer could still lie."""

from decimal import Decimal
from itertools import pairwise

from reports.rendering.print_marks import EDGE, INK, RULE, WIDTH, Labels, drawing, knot, line, rect, text
from trials.domain.ladder import Ladder, Mark, Rung

_LEFT, _RIGHT = 52.0, WIDTH - 4
_TOP, _BOTTOM, _STEPS, _HEIGHT = 14.0, 154.0, 167.0, 169.0
_APART = 9.0


def ladder_drawing(search: Ladder) -> str:
    """The drawing of a search; empty where nothing was tried or the grid has fewer than two levels."""
    return _Drawing(search).drawn() if search.rungs and len(search.grid) > 1 else ""


class _Drawing:
    """One drawing in the making; lengths in points."""

    def __init__(self, search: Ladder) -> None:
        self.search, self.labels = search, Labels()
        self.column = (_RIGHT - _LEFT) / len(search.rungs)
        self.lowest, self.highest = float(search.grid[0][0]), float(search.grid[-1][0])

    def drawn(self) -> str:
        """The whole drawing: fields first, then lines, marks and labels."""
        rungs = self.search.rungs
        for number, rung in enumerate(rungs):
            half = len(rung.marks) * _APART / 2
            self.labels.placed.append((self.middle(number) - half, self.middle(number) + half, self.y(rung.value) + 3))
        fields = [self._field(number, rung) for number, rung in enumerate(rungs)]
        marks = [self._rung(number, rung) for number, rung in enumerate(rungs)]
        body = [*fields, *self._grid(), *self._ways(), *marks, self._result()]
        return drawing("".join(body), height=_HEIGHT, title=self.search.words)

    def y(self, value: Decimal) -> float:
        """Points from the top of a level."""
        return _BOTTOM - (float(value) - self.lowest) / (self.highest - self.lowest) * (_BOTTOM - _TOP)

    def middle(self, number: int) -> float:
        """Points from the left of the middle of a step."""
        return _LEFT + (number + 0.5) * self.column

    def _field(self, number: int, rung: Rung) -> str:
        upper = _TOP - 4 if rung.high is None else self.y(rung.high)
        lower = _BOTTOM + 4 if rung.low is None else self.y(rung.low)
        left = _LEFT + number * self.column
        return rect(left, upper, left + self.column, max(0.0, lower - upper))

    def _grid(self) -> list[str]:
        """A line for each level; names of those tried first, the others where there is room."""
        tried = {rung.value for rung in self.search.rungs}
        placed: list[float] = []
        marks = [line(_LEFT, self.y(v), _RIGHT, self.y(v), width=0.5, colour=RULE) for v, _ in self.search.grid]
        for value, name in sorted(self.search.grid, key=lambda one: (one[0] not in tried, one[0] % 50 != 0)):
            y = self.y(value)
            if all(abs(y - other) >= 6.9 for other in placed):
                placed.append(y)
                marks.append(text(name, 0, y + 2.5, bold=value in tried))
        return marks

    def _ways(self) -> list[str]:
        """Lines from each level to the next one tried."""
        ways = []
        for (one, before), (other, after) in pairwise(enumerate(self.search.rungs)):
            edge = [len(rung.marks) * _APART / 2 + 2 for rung in (before, after)]
            x1, x2 = self.middle(one) + edge[0], self.middle(other) - edge[1]
            if x2 > x1:
                ways.append(line(x1, self.y(before.value), x2, self.y(after.value), width=1, colour=EDGE))
        return ways

    def _rung(self, number: int, rung: Rung) -> str:
        x, y = self.middle(number), self.y(rung.value)
        first = x - (len(rung.marks) - 1) * _APART / 2
        shapes = "".join(_shape(mark, first + place * _APART, y) for place, mark in enumerate(rung.marks))
        failed = rung.state == "failed"
        words = rung.words if len(rung.words) * 4 <= self.column else rung.short
        levels = (y - 7, y - 16, y + 12, y + 21)
        return (
            shapes
            + self.labels.place(words, x, levels, sides="middle", bold=failed)
            + (self.labels.place(rung.run, x, levels[2:], sides="middle") if rung.run else "")
            + text(f"step {number + 1}", x, _STEPS, anchor="middle")
        )

    def _result(self) -> str:
        return text(self.search.result, _RIGHT, 9, bold=True, anchor="end") if self.search.result else ""


def _shape(mark: Mark, x: float, y: float) -> str:
    """A dot for a specimen that passed, a cross for one that failed, a ring for one that does not decide."""
    if mark == "fail":
        way = f"M{x - 3:.1f} {y - 3:.1f}l6 6M{x - 3:.1f} {y + 3:.1f}l6 -6"
        return f'<path d="{way}" stroke="{INK}" stroke-width="1.4" fill="none"/>'
    return knot(x, y, 3.2, hollow=mark != "pass")
