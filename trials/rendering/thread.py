"""The evidence thread: one horizontal line of a thing's life, stages at equal distance, durations on the line."""

from collections.abc import Sequence
from textwrap import wrap

from labsite.ledger.svg import CHARACTER_WIDTH_PX, circle, line, plot, text
from trials.domain.blocking import moment_text
from trials.queries.life import Stage

LEFT_PERCENT = 1.2
NARROW_PX = 740
"""Width of the drawing on the narrowest page it is made for."""
LINE_Y = 46
_TITLE_Y, _WHEN_Y, _FIRST_Y, _STEP = 70, 87, 103, 15
_MOST_LINES = 6


def thread_svg(stages: Sequence[Stage], *, label: str) -> str:
    """The thread as SVG; `label` says the result in words. A stage to come is an open knot on a dotted line."""
    step = (100 - LEFT_PERCENT) / max(1, len(stages))
    columns = max(8, int(NARROW_PX * step / 100 / CHARACTER_WIDTH_PX) - 2)
    xs = [LEFT_PERCENT + position * step for position in range(len(stages))]
    parts: list[str] = []
    lowest = float(_WHEN_Y)
    for position, stage in enumerate(stages):
        if position:
            parts += _way(stages[position - 1], stage, xs[position - 1], xs[position], columns)
    for stage, x in zip(stages, xs, strict=True):
        marks, y = _knot(stage, x, columns)
        parts += marks
        lowest = max(lowest, y)
    return plot("".join(parts), height=lowest + 8, label=label)


def _way(before: Stage, stage: Stage, x1: float, x2: float, columns: int) -> list[str]:
    """The line that leads to a stage with what is written on it; time that did not count is left open."""
    if stage.at is None and not (stage.busy and before.at is not None):
        marks = [line("axis thin", x1, LINE_Y, x2, LINE_Y)]
    elif stage.at is None:
        marks = [line("axis thin", x1, LINE_Y, x2, LINE_Y), line("busy", x1, LINE_Y, (x1 + x2) / 2, LINE_Y)]
    elif stage.busy:
        marks = _stay(stage, x1, x2)
    else:
        marks = [line("knotline", x1, LINE_Y, x2, LINE_Y)]
    words = [piece for one in stage.before for piece in wrap(one, columns)[:1]][:2]
    for row, one in enumerate(words):
        marks.append(text(one, x1, LINE_Y - 8 - 13 * (len(words) - 1 - row), "tiny", dx=16))
    return marks


def _stay(stage: Stage, x1: float, x2: float) -> list[str]:
    marks: list[str] = []
    reached = 0.0
    for start, end in (*stage.gaps, (1.0, 1.0)):
        if start > reached:
            marks.append(line("busy", x1 + reached * (x2 - x1), LINE_Y, x1 + start * (x2 - x1), LINE_Y))
        if end > start:
            edges = [x1 + share * (x2 - x1) for share in (start, end)]
            marks += [line("knotline", x, LINE_Y - 6, x, LINE_Y + 6) for x in edges]
            marks.append(line("axis thin", edges[0], LINE_Y, edges[1], LINE_Y))
        reached = max(reached, end)
    return marks


def _knot(stage: Stage, x: float, columns: int) -> tuple[list[str], float]:
    """A stage's knot and its lines of text; returns the lowest y as well."""
    done = stage.at is not None
    marks = [circle("dot" if done else "ring", x, LINE_Y, 6), text(stage.title, x, _TITLE_Y, "strong big", dx=-5)]
    lines = [piece for words in (stage.who, stage.with_words) if words for piece in wrap(words, columns)]
    if len(lines) > _MOST_LINES:
        lines = [*lines[: _MOST_LINES - 1], f"{lines[_MOST_LINES - 1][: columns - 1]}…"]
    marks.append(text("still to come" if stage.at is None else moment_text(stage.at), x, _WHEN_Y, dx=-5))
    y = float(_WHEN_Y)
    for row, words in enumerate(lines):
        y = _FIRST_Y + row * _STEP
        marks.append(text(words, x, y, dx=-5))
    return marks, y
