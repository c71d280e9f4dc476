"""What happened in a trial, as a section through the rig along time: flame, specimen and what acts, drips, layer."""

from collections.abc import Sequence
from decimal import Decimal

from labsite.ledger.svg import circle, line, plot, rect, text
from trials.domain.course import Application, Course, burning_word
from trials.domain.criteria import digits
from trials.domain.timeline import BurnEvent
from trials.rendering.labels import Labels

LEFT_PERCENT, RIGHT_PERCENT = 8.5, 98.0
NARROW_PX = 740
HEIGHT = 292
_TOP, _FLAME_TOP, _SPECIMEN, _LAYER, _BOTTOM = 16, 54, 150, 254, 262
_TICKS = (5, 10, 20, 30, 60, 120, 300, 600, 1800, 3600)


def course_svg(course: Course, latest_s: Decimal | None, *, severity: str, layer: str, label: str) -> str:
    """The drawing as SVG; times in s from the start, `latest_s` is the last moment for flames and glow, if known.

    `severity` and `layer` are words for what acts and for the layer, `label` says the result. Empty without a start.
    """
    if course.seen.contacts == 0:
        return ""
    return _Course(course, latest_s, severity, layer).drawn(label)


class _Course:
    """One drawing in the making."""

    def __init__(self, course: Course, latest_s: Decimal | None, severity: str, layer: str) -> None:
        self.course, self.seen, self.latest_s = course, course.seen, latest_s
        self.severity, self.layer = severity, layer
        self.labels = Labels(NARROW_PX)
        self.marks: list[str] = []
        moments = [t for _, t, _ in course.seen.findings if t is not None]
        last = max([Decimal(10), *moments, *([] if latest_s is None else [latest_s])])
        self.last_s = float(last) * 1.02

    def drawn(self, label: str) -> str:
        """The whole drawing."""
        for part in (self._field, self._axis, self._flames, self._applications, self._others, self._drips, self._layer):
            part()
        words_last = sorted(self.marks, key=lambda mark: mark.startswith("<text"))
        return plot("".join(words_last), height=HEIGHT, label=label)

    def x(self, seconds: Decimal | float) -> float:
        """Percent from the left of a moment."""
        share = min(1.0, max(0.0, float(seconds) / self.last_s))
        return LEFT_PERCENT + share * (RIGHT_PERCENT - LEFT_PERCENT)

    def _axis(self) -> None:
        step = next((one for one in _TICKS if self.last_s / one <= 9), _TICKS[-1])
        tick = 0
        while tick <= self.last_s:
            x = self.x(tick)
            self.marks += [line("grid", x, _TOP, x, _BOTTOM), text(f"{tick} s", x, 288, "mid")]
            tick += step
        self.marks.append(line("axis", 0, _SPECIMEN, 100, _SPECIMEN))
        self.marks.append(text("specimen", 0, _SPECIMEN + 22))
        self.labels.keep_free(0, _SPECIMEN + 22, 56)

    def _field(self) -> None:
        start, latest = self.seen.application_s, self.latest_s
        if start is None or latest is None or latest <= start:
            return
        x1, x2 = self.x(start), self.x(latest)
        self.marks += [
            rect("field", x1, _TOP, x2, _BOTTOM - _TOP - 4),
            line("limit", x1, _TOP, x1, _BOTTOM - 4),
            line("limit", x2, _TOP, x2, _BOTTOM - 4),
            self.labels.place("flames and glow must end in here", x1, (28,), anchors="start"),
            self.labels.place(f"latest {digits(latest)} s", x2, (28, 42), anchors="end start"),
        ]

    def _flames(self) -> None:
        highest = max((float(height) for _, height in self.seen.heights), default=0.0)
        for event in self.seen.events:
            start_s, end_s = event.start_s or Decimal(0), event.end_s
            x1, x2 = self.x(start_s), 100.0 if end_s is None else self.x(end_s)
            if event.kind == "glow":
                self.marks.append(line("knotline thin", x1, _SPECIMEN - 5, x2, _SPECIMEN - 5))
            else:
                self._flame_area(event, x1, x2, highest)
            self._ends(event, x1, x2)

    def _flame_area(self, event: BurnEvent, x1: float, x2: float, highest: float) -> None:
        """Straight lines between recorded heights; a low bar while burning where no height was recorded."""
        inside = [
            (t, float(height))
            for t, height in self.seen.heights
            if t is not None and (event.start_s or 0) <= t and (event.end_s is None or t <= event.end_s)
        ]
        if not inside or highest <= 0:
            self.marks.append(rect("flame", x1, _SPECIMEN - 16, x2, 12))
            return
        base = _SPECIMEN - 4
        scale = (base - _FLAME_TOP) / highest
        corners = [(x1, float(base)), *[(self.x(t), base - h * scale) for t, h in inside], (x2, float(base))]
        points = " ".join(f"{x * 10:.1f},{y:.1f}" for x, y in corners)
        self.marks.append(
            f'<svg x="0" y="0" width="100%" height="{HEIGHT}" viewBox="0 0 1000 {HEIGHT}" preserveAspectRatio="none">'
            f'<polygon class="flame" points="{points}" vector-effect="non-scaling-stroke"/></svg>'
        )
        for (_, height), (x, y) in zip(inside, corners[1:-1], strict=True):
            self.marks.append(circle("ring", x, y, 3))
            if height == highest:
                self.marks.append(self.labels.place(f"{height:g} mm", x, (y - 8, y + 16), anchors="mid start end"))

    def _ends(self, event: BurnEvent, x1: float, x2: float) -> None:
        name = burning_word(event)
        levels = (_SPECIMEN - 14, _SPECIMEN - 28, _SPECIMEN - 42, _SPECIMEN - 56)
        if event.start_s is not None:
            word = "ignites" if event.kind == "bright" else f"{name} from"
            self.marks += [
                circle("dot", x1, _SPECIMEN - 4, 4),
                self.labels.place(f"{word} {digits(event.start_s)} s", x1, levels, "strong halo", anchors="end start"),
            ]
        if event.end_s is None:
            self.marks.append(self.labels.place(f"{name}: end not recorded", 97, levels, "strong halo", anchors="end"))
            return
        word = f"{name} put out by hand" if event.put_out else f"{name} out"
        self.marks += [
            circle("ring" if event.put_out else "dot", x2, _SPECIMEN - 4, 4),
            self.labels.place(f"{word} {digits(event.end_s)} s", x2, levels, "strong halo"),
        ]

    def _applications(self) -> None:
        levels = (_SPECIMEN + 22, _SPECIMEN + 36)
        for number, one in enumerate(self.course.applications):
            x1 = self.x(one.start_s)
            x2 = 100.0 if one.end_s is None else self.x(one.end_s)
            self.marks += [line("wire", x1, _SPECIMEN, x2, _SPECIMEN), line("knotline", x1, 140, x1, 160)]
            if one.end_s is not None:
                words = f"{one.end_title} {digits(one.end_s)} s"
                self.marks.append(self.labels.place(words, x2, levels, "strong halo", anchors="start end"))
            words = f"{one.start_title} {digits(one.start_s)} s" if number else self._first_words(one)
            self.marks.append(self.labels.place(words, x1, levels, anchors="start end", must=number == 0))

    def _first_words(self, first: Application) -> str:
        return ", ".join(word for word in (self.course.begins, self.severity) if word)

    def _others(self) -> None:
        for title, t in self.course.others:
            x = self.x(t)
            levels = (_SPECIMEN + 36, _SPECIMEN + 50, _SPECIMEN + 64)
            self.marks += [
                line("knotline", x, _SPECIMEN - 8, x, _SPECIMEN + 8),
                self.labels.place(f"{title} {digits(t)} s", x, levels),
            ]

    def _drips(self) -> None:
        for moment in self.seen.drips_s:
            x = self.x(moment)
            self.marks += [line("grid", x, _SPECIMEN + 6, x, _LAYER - 12), _drop(x, _LAYER - 26)]
        if self.seen.drips_s:
            words = _drip_words(self.seen.drips_s)
            levels = (_SPECIMEN + 52, _SPECIMEN + 66)
            self.marks.append(self.labels.place(words, self.x(self.seen.drips_s[0]), levels, anchors="end start"))

    def _layer(self) -> None:
        if not self.course.layer_name:
            return
        self.marks += [
            line("knotline thin", 0, _LAYER, 100, _LAYER),
            text(f"{self.course.layer_name} below", 0, _LAYER - 8),
            text(self.layer, 0, _LAYER + 16),
        ]
        self.labels.keep_free(0, _LAYER - 8, 78)
        caught_s = self.seen.layer_ignites_s
        if caught_s is None:
            return
        out_s = max(self.seen.layer_out_s, default=None)
        x1, x2 = self.x(caught_s), 100.0 if out_s is None else self.x(out_s)
        end = ", end not recorded" if out_s is None else f", out {digits(out_s)} s"
        words = f"{self.course.layer_name} caught {digits(caught_s)} s{end}"
        self.marks += [
            rect("hatched", x1, _LAYER - 7, x2, 11),
            rect("solid", x1, _LAYER - 2, x2, 5),
            self.labels.place(words, min(x2, 60.0), (_LAYER - 10, _LAYER - 24), "strong halo"),
        ]


def _drop(x: float, y: float) -> str:
    shape = '<path class="dot" d="M0 0C4 6 4 9 0 11C-4 9 -4 6 0 0Z"/>'
    return f'<svg x="{x:.2f}%" y="{y:g}" width="1" height="1" overflow="visible">{shape}</svg>'


def _drip_words(drips: Sequence[Decimal]) -> str:
    if len(drips) == 1:
        return f"drip {digits(drips[0])} s"
    if len(drips) <= 4:
        return f"drips {', '.join(f'{digits(one)} s' for one in drips)}"
    return f"{len(drips)} drips, {digits(drips[0])} s to {digits(drips[-1])} s"
