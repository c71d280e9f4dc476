"""What happened in a trial along time, where nothing is expected to burn: what acted as a line, events as knots."""

from decimal import Decimal

from labsite.ledger.svg import circle, line, plot, text
from trials.domain.course import Course, named_moments
from trials.domain.criteria import digits
from trials.rendering.labels import Labels

LEFT_PERCENT, RIGHT_PERCENT = 2.0, 96.0
NARROW_PX = 740
HEIGHT, LINE_Y, AXIS_Y = 150, 92, 124
_TICKS = (5, 10, 20, 30, 60, 120, 300, 600, 1200, 1800, 3600)
_LONG_S = 600


def events_svg(course: Course, *, label: str) -> str:
    """The drawing as SVG, `label` says the result; empty without a start."""
    if course.seen.contacts == 0:
        return ""
    moments = [t for _, t, _ in course.seen.findings if t is not None]
    last_s = float(max([Decimal(20), *moments])) * 1.02
    labels = Labels(NARROW_PX)

    def x(seconds: Decimal | float) -> float:
        return LEFT_PERCENT + min(1.0, max(0.0, float(seconds) / last_s)) * (RIGHT_PERCENT - LEFT_PERCENT)

    marks = [line("knotline", x(0), LINE_Y, RIGHT_PERCENT, LINE_Y)]
    step = next((one for one in _TICKS if last_s / one <= 9), _TICKS[-1])
    for tick in range(0, int(last_s) + 1, step):
        marks += [
            line("axis", x(tick), AXIS_Y - 8, x(tick), AXIS_Y - 2),
            text(_tick(tick, last_s), x(tick), 140, "mid"),
        ]
    for one in course.applications:
        marks.append(line("wire", x(one.start_s), LINE_Y, x(last_s if one.end_s is None else one.end_s), LINE_Y))
    levels = tuple(LINE_Y - 14 * level for level in range(1, 6))
    for moment, words in named_moments(course):
        marks.append(circle("dot", x(moment), LINE_Y, 4))
        marks.append(labels.place(f"{words} {digits(moment)} s", x(moment), levels, anchors="start end"))
    return plot("".join(marks), height=HEIGHT, label=label)


def _tick(seconds: int, last_s: float) -> str:
    return f"{seconds // 60} min" if last_s >= _LONG_S else f"{seconds} s"
