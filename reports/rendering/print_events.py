"""What happened in a trial along time, on paper, where nothing is expected to burn."""

from decimal import Decimal

from reports.rendering.print_marks import EDGE, WIDTH, Labels, drawing, knot, line, text
from trials.domain.course import Course, named_moments
from trials.domain.criteria import digits

_LEFT, _RIGHT = 4.0, WIDTH - 24
_LINE, _AXIS, _HEIGHT = 52.0, 66.0, 78.0
_TICKS = (5, 10, 20, 30, 60, 120, 300, 600, 1200, 1800, 3600)
_LONG_S = 600
_ABOVE = 9.0
"""Room for the highest line of words; what is above it is left away."""


def events_drawing(course: Course) -> str:
    """The drawing: what acted as a thick line, every recorded moment as a knot with its words."""
    named = named_moments(course)
    last_s = float(max([Decimal(20), *(moment for moment, _ in named)])) * 1.02
    labels = Labels()

    def x(seconds: Decimal | float) -> float:
        return _LEFT + min(1.0, max(0.0, float(seconds) / last_s)) * (_RIGHT - _LEFT)

    marks = [line(_LEFT, _LINE, _RIGHT, _LINE, width=0.8, colour=EDGE)]
    step = next((one for one in _TICKS if last_s / one <= 9), _TICKS[-1])
    for tick in range(0, int(last_s) + 1, step):
        words = f"{tick // 60} min" if last_s >= _LONG_S else f"{tick} s"
        marks += [
            line(x(tick), _AXIS - 4, x(tick), _AXIS, width=0.6, colour=EDGE),
            text(words, max(x(tick), 12.0), _AXIS + 9, anchor="middle"),
        ]
    for one in course.applications:
        marks.append(line(x(one.start_s), _LINE, x(last_s if one.end_s is None else one.end_s), _LINE, width=3.4))
    levels = tuple(_LINE - 8 - 9 * level for level in range(5))
    for moment, words in named:
        marks.append(knot(x(moment), _LINE, 2))
        marks.append(labels.place(f"{words} {digits(moment)} s", x(moment) - 4, levels))
    top = min((y for _, _, y in labels.placed), default=_LINE) - _ABOVE
    body = f'<g transform="translate(0 {-top:g})">{"".join(marks)}</g>'
    return drawing(body, height=_HEIGHT - top, title=course.words)
