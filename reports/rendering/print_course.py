"""The course of a trial on paper: a section through the rig along time, or events in a row where nothing burns."""

from collections.abc import Sequence
from decimal import Decimal

from reports.domain.content_trials import EventContent, TrialContent
from reports.rendering.print_events import events_drawing
from reports.rendering.print_marks import EDGE, INK, RULE, WIDTH, Labels, drawing, knot, line, rect, text
from trials.domain.course import Course, burning_word, course_of
from trials.domain.criteria import digits
from trials.domain.methods.base import MethodEdition
from trials.domain.records import Observation
from trials.domain.timeline import BurnEvent

_LEFT, _RIGHT = 52.0, WIDTH - 4
_TOP, _FLAME_TOP, _SPECIMEN, _LAYER, _BOTTOM, _HEIGHT = 6.0, 28.0, 74.0, 118.0, 126.0, 138.0
_CHARACTER = 4.4
"""About how wide a bold character is; words that would not fit beside the end of a flame stand above it."""
_TICKS = (5, 10, 20, 30, 60, 120, 300, 600, 1800, 3600)


def course_drawing(trial: TrialContent, edition: MethodEdition) -> str:
    """The drawing of one trial from the events that stand; empty where there was no start."""
    course = course_of(edition, [_observation(event) for event in trial.events])
    if course.seen.contacts == 0:
        return ""
    if not course.burns:
        return events_drawing(course)
    latest = next((quantity.text for quantity in trial.quantities if quantity.key == "latest"), "")
    latest_s = Decimal(latest) if latest.replace(".", "", 1).isdigit() else None
    return _Course(course, latest_s).drawn(course.words)


def _observation(event: EventContent) -> Observation:
    value = Decimal(event.value) if event.kind == "flame_height" and event.value else event.value or None
    return Observation(event.row, event.kind, Decimal(event.t_s) if event.t_s else None, value)


class _Course:
    """One drawing in the making; times are s from contact."""

    def __init__(self, course: Course, latest_s: Decimal | None) -> None:
        self.course, self.seen, self.latest_s, self.labels = course, course.seen, latest_s, Labels()
        moments = [t for _, t, _ in self.seen.findings if t is not None]
        self.last_s = float(max([Decimal(10), *moments, *([] if latest_s is None else [latest_s])])) * 1.03
        self.marks: list[str] = []
        lowered = 0.0 if latest_s is not None or self.seen.heights else 28.0 if self.seen.events else 46.0
        self.top = _TOP + lowered

    def drawn(self, title: str) -> str:
        """The whole drawing."""
        for part in (self._field, self._axis, self._flames, self._applications, self._drips, self._layer, self._others):
            part()
        above = self.top - _TOP
        body = "".join(self.marks)
        body = f'<g transform="translate(0 {-above:g})">{body}</g>' if above else body
        return drawing(body, height=_HEIGHT - above, title=title)

    def x(self, seconds: Decimal | float) -> float:
        """Points from the left of a moment."""
        return _LEFT + min(1.0, max(0.0, float(seconds) / self.last_s)) * (_RIGHT - _LEFT)

    def _field(self) -> None:
        start, latest = self.seen.application_s, self.latest_s
        if start is None or latest is None or latest <= start:
            return
        x1, x2 = self.x(start), self.x(latest)
        self.marks += [rect(x1, _TOP, x2, _BOTTOM - _TOP)]
        self.marks += [line(x, _TOP, x, _BOTTOM, width=0.9, dashes="4 2.5") for x in (x1, x2)]
        self.marks.append(self.labels.place("flames and glow must end in here", x1, (14.0,), sides="start"))
        self.marks.append(self.labels.place(f"latest {digits(latest)} s", x2, (14.0, 23.0), sides="end start"))

    def _axis(self) -> None:
        step = next((one for one in _TICKS if self.last_s / one <= 9), _TICKS[-1])
        for tick in range(0, int(self.last_s) + 1, step):
            x = self.x(tick)
            self.marks.append(line(x, self.top, x, _BOTTOM, width=0.5, colour=RULE))
            self.marks.append(text(f"{tick} s", x, _HEIGHT - 2, anchor="middle"))
        self.marks.append(line(_LEFT - 8, _SPECIMEN, WIDTH, _SPECIMEN, width=0.8, colour=EDGE))
        self.marks.append(text("specimen", 0, _SPECIMEN + 2))
        if self.course.layer_name:
            self.marks.append(line(_LEFT - 8, _LAYER, WIDTH, _LAYER, dashes="1 3"))
            self.marks.append(text(self.course.layer_name, 0, _LAYER + 2))

    def _flames(self) -> None:
        highest = max((float(height) for _, height in self.seen.heights), default=0.0)
        for event in self.seen.events:
            ends_at = _RIGHT if event.end_s is None else self.x(event.end_s)
            self.labels.placed.append((self.x(event.start_s or 0), ends_at, _SPECIMEN - 7))
        for event in self.seen.events:
            x1 = self.x(event.start_s or 0)
            x2 = _RIGHT if event.end_s is None else self.x(event.end_s)
            if event.kind == "glow":
                self.marks.append(line(x1, _SPECIMEN - 3, x2, _SPECIMEN - 3, width=1.6, dashes="1.5 3"))
            else:
                self._flame(event, x1, x2, highest)
            self._ends(event, x1, x2)

    def _flame(self, event: BurnEvent, x1: float, x2: float, highest: float) -> None:
        """Straight lines between recorded heights; a low bar while burning where no height was recorded."""
        base = _SPECIMEN - 2.5
        inside = [
            (t, float(height))
            for t, height in self.seen.heights
            if t is not None and (event.start_s or 0) <= t and (event.end_s is None or t <= event.end_s)
        ]
        points = [(x1, base), *[(self.x(t), base - h * (base - _FLAME_TOP) / highest) for t, h in inside], (x2, base)]
        if not inside:
            points = [(x1, base), (x1, base - 9), (x2, base - 9), (x2, base)]
        corners = " ".join(f"{x:.1f},{y:.1f}" for x, y in points)
        self.marks.append(
            f'<polygon points="{corners}" fill="{INK}" fill-opacity=".14" stroke="{INK}" stroke-linejoin="round"/>'
        )
        for (_, height), (x, y) in zip(inside, points[1:-1], strict=False):
            if height == highest:
                self.marks.append(self.labels.place(f"{height:g} mm", x, (y - 4, y + 9), sides="middle start end"))

    def _ends(self, event: BurnEvent, x1: float, x2: float) -> None:
        levels = (_SPECIMEN - 7, _SPECIMEN - 16, _SPECIMEN - 25, _SPECIMEN - 34)
        name = burning_word(event)
        if event.start_s is not None:
            word = "ignites" if event.kind == "bright" else f"{name} from"
            words = f"{word} {digits(event.start_s)} s"
            self.marks.append(knot(x1, _SPECIMEN - 2.5, 2))
            self.marks.append(self.labels.place(words, x1, levels, sides="end start", bold=True))
        out = f"{name} put out by hand" if event.put_out else f"{name} out"
        words = f"{name}: end not recorded" if event.end_s is None else f"{out} {digits(event.end_s)} s"
        self.marks.append(knot(x2, _SPECIMEN - 2.5, 2, hollow=event.put_out or event.end_s is None))
        fits = x2 + len(words) * _CHARACTER <= WIDTH
        self.marks.append(self.labels.place(words, x2, levels if fits else levels[1:], bold=True))

    def _applications(self) -> None:
        levels = (_SPECIMEN + 10, _SPECIMEN + 19)
        for number, one in enumerate(self.course.applications):
            x1, x2 = self.x(one.start_s), _RIGHT if one.end_s is None else self.x(one.end_s)
            self.marks.append(line(x1, _SPECIMEN, x2, _SPECIMEN, width=3.4))
            if one.end_s is not None:
                self.marks.append(self.labels.place(f"{one.end_title} {digits(one.end_s)} s", x2, levels, bold=True))
            words = f"{one.start_title} {digits(one.start_s)} s" if number else self.course.begins
            self.marks.append(self.labels.place(words, x1 - 2, levels, sides="start end"))

    def _drips(self) -> None:
        for moment in self.seen.drips_s:
            x, y = self.x(moment), _LAYER - 17
            self.marks.append(f'<path d="M{x:.1f} {y:g}c3 4.5 3 7 0 8.4c-3 -1.4 -3 -3.9 0 -8.4z" fill="{INK}"/>')
        if self.seen.drips_s:
            levels = (_SPECIMEN + 28, _SPECIMEN + 19)
            self.marks.append(
                self.labels.place(_drips(self.seen.drips_s), self.x(self.seen.drips_s[0]), levels, sides="end start")
            )

    def _layer(self) -> None:
        caught_s = self.seen.layer_ignites_s
        if caught_s is None:
            return
        out_s = max(self.seen.layer_out_s, default=None)
        x1, x2 = self.x(caught_s), _RIGHT if out_s is None else self.x(out_s)
        end = "end not recorded" if out_s is None else f"out {digits(out_s)} s"
        words = f"{self.course.layer_name} caught {digits(caught_s)} s, {end}"
        self.marks.append(line(x1, _LAYER, x2, _LAYER, width=4))
        self.marks.append(self.labels.place(words, x2, (_LAYER - 4, _LAYER - 13, _LAYER - 22), bold=True))

    def _others(self) -> None:
        levels = (_SPECIMEN + 19, _SPECIMEN + 28)
        for title, t in self.course.others:
            x = self.x(t)
            self.marks.append(line(x, _SPECIMEN - 5, x, _SPECIMEN + 5, width=1.4))
            self.marks.append(self.labels.place(f"{title} {digits(t)} s", x, levels))


def _drips(moments: Sequence[Decimal]) -> str:
    if len(moments) <= 4:
        return f"drip{'s' if len(moments) > 1 else ''} {', '.join(digits(one) for one in moments)} s"
    return f"{len(moments)} drips, {digits(moments[0])} to {digits(moments[-1])} s"
