"""The evidence thread on paper: received, conditioned, tested, checked, issued, with times, people and gaps."""

from collections.abc import Sequence
from textwrap import wrap

from reports.rendering.print_marks import EDGE, WIDTH, columns, drawing, knot, line, text
from trials.queries.life import Stage

_LEFT, _LINE, _TITLE, _WHEN, _FIRST, _STEP = 4.0, 24.0, 40.0, 50.0, 59.5, 8.8
_MOST_LINES = 4


def thread_drawing(stages: Sequence[Stage], *, title: str) -> str:
    """The thread; durations stand on the line, time that did not count is left open between two strokes."""
    step = (WIDTH - _LEFT) / max(1, len(stages))
    xs = [_LEFT + position * step for position in range(len(stages))]
    parts: list[str] = []
    for position in range(1, len(stages)):
        parts += _way(stages[position], xs[position - 1], xs[position])
    lowest = _WHEN
    for stage, x in zip(stages, xs, strict=True):
        marks, y = _knot(stage, x, columns(step - 6, 7))
        parts += marks
        lowest = max(lowest, y)
    return drawing("".join(parts), height=lowest + 5, title=title)


def _way(stage: Stage, x1: float, x2: float) -> list[str]:
    marks: list[str] = []
    width, reached = (3.2 if stage.busy else 1.1), 0.0
    for start, end in (*stage.gaps, (1.0, 1.0)):
        if start > reached:
            marks.append(line(x1 + reached * (x2 - x1), _LINE, x1 + start * (x2 - x1), _LINE, width=width))
        if end > start:
            edges = [x1 + share * (x2 - x1) for share in (start, end)]
            marks += [line(x, _LINE - 5, x, _LINE + 5) for x in edges]
            marks.append(line(edges[0], _LINE, edges[1], _LINE, width=0.6, colour=EDGE, dashes="1 2"))
        reached = max(reached, end)
    for row, words in enumerate(stage.before):
        marks.append(text(words, x1 + 7, _LINE - 7 - 7.5 * (len(stage.before) - 1 - row), size=6.4))
    return marks


def _knot(stage: Stage, x: float, width: int) -> tuple[list[str], float]:
    when = "" if stage.at is None else f"{stage.at.day} {stage.at:%b %H:%M}"
    marks = [knot(x, _LINE), text(stage.title, x - 3.4, _TITLE, size=8, bold=True), text(when, x - 3.4, _WHEN)]
    lines = [piece for words in (stage.who, stage.with_words) for piece in wrap(words, width)]
    if len(lines) > _MOST_LINES:
        lines = [*lines[: _MOST_LINES - 1], f"{lines[_MOST_LINES - 1][: width - 1]}…"]
    y = _WHEN
    for row, words in enumerate(lines):
        y = _FIRST + row * _STEP
        marks.append(text(words, x - 3.4, y))
    return marks, y
