"""Time from left to right: where instants stand, days and hours in the laboratory's zone, room for labels."""

from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import UTC, datetime, time, timedelta
from zoneinfo import ZoneInfo

from labsite.ledger.svg import TimeAxis
from specimens.rendering.climate_ink import LABEL_PERCENT, Ink

_DAY_STEPS = (1, 2, 7, 14, 28, 56, 112, 364)
_HOUR_STEPS = (1, 2, 3, 6, 12)
_TINY_PERCENT = LABEL_PERCENT * 11 / 12


@dataclass(frozen=True, slots=True)
class WallAxis:
    """A window of time on instants, so that a day with a clock change is an hour shorter or longer."""

    from_at: datetime
    until_at: datetime
    zone: ZoneInfo

    def x(self, at: datetime) -> float:
        """Percent from the left; instants outside are held at the edge."""
        # two moments in one zone would be subtracted as wall clocks, so all of them are brought to UTC first
        return TimeAxis(self.from_at.astimezone(UTC), self.until_at.astimezone(UTC)).x(at.astimezone(UTC))

    @property
    def days(self) -> float:
        """Length of the window in days of 24 h."""
        return (self.until_at - self.from_at) / timedelta(days=1)

    def midnights(self) -> Iterator[datetime]:
        """Beginnings of days inside the window, as instants."""
        day = self.from_at.astimezone(self.zone).date()
        while True:
            day += timedelta(days=1)
            at = datetime.combine(day, time.min, tzinfo=self.zone).astimezone(UTC)
            if at >= self.until_at:
                return
            yield at

    def hours(self, step: int) -> Iterator[datetime]:
        """Clock hours inside the window that `step` divides, midnights left out; hours the clock skips are left out."""
        day = self.from_at.astimezone(self.zone).date()
        while datetime.combine(day, time.min, tzinfo=self.zone) < self.until_at:
            for hour in range(step, 24, step):
                wall = datetime.combine(day, time(hour), tzinfo=self.zone)
                at = wall.astimezone(UTC)
                if at.astimezone(self.zone).hour == hour and self.from_at < at < self.until_at:
                    yield at
            day += timedelta(days=1)

    def day_step(self) -> int:
        """Every how many days a label has room."""
        room = 100 / (11 * LABEL_PERCENT * 1.15)
        return next((step for step in _DAY_STEPS if self.days / step <= room), _DAY_STEPS[-1])

    def hour_step(self) -> int | None:
        """Clock hours that get a tick; None where they would stand too close."""
        return next((step for step in _HOUR_STEPS if self.days * 24 / step <= 40), None)


@dataclass(slots=True)
class LabelRows:
    """Rows above a strip where labels stand; two labels that would touch go on two rows, or one is left out."""

    rows: dict[float, list[tuple[float, float]]] = field(default_factory=dict)

    def take(self, y: float, left: float, right: float) -> None:
        """Reserve a place."""
        self.rows.setdefault(y, []).append((left, right))

    def free(self, y: float, left: float, right: float) -> bool:
        """Whether nothing stands there and the label lies inside the drawing."""
        return left >= 0 and right <= 100 and all(right < a or left > b for a, b in self.rows.get(y, []))

    def place(self, words: str, x1: float, x2: float, levels: tuple[float, ...]) -> tuple[float, float, str] | None:
        """Where a label beside x1..x2 may stand: (x, y, anchor class); reserved. None when there is no room."""
        width = len(words) * LABEL_PERCENT + 1.2
        for y in levels:
            for left, x, anchor in ((x1 - width, x1 - 0.7, "end"), (x2, x2 + 0.7, "")):
                if self.free(y, left, left + width):
                    self.take(y, left, left + width)
                    return x, y, anchor
        return None


def axis_marks(ink: Ink, axis: WallAxis, *, top: float) -> str:
    """The time axis: days with their names, hours where there is room."""
    parts, taken = [], LabelRows()
    step = axis.day_step()
    for at in axis.midnights():
        local = at.astimezone(axis.zone)
        x = axis.x(at)
        named = local.toordinal() % step == 0
        parts.append(ink.line("axis", x, top, x, top + (7 if named else 4)))
        words = f"{local:%a} {local.day} {local:%b}"
        right = x + len(words) * _TINY_PERCENT + 1
        if named and taken.free(top, x, right):
            taken.take(top, x, right)
            parts.append(ink.text(words, x, top + 19, "tiny strong", dx=5))
    hours = axis.hour_step()
    for at in axis.hours(hours) if hours else ():
        x, words = axis.x(at), f"{at.astimezone(axis.zone):%H:%M}"
        half = len(words) * _TINY_PERCENT / 2 + 0.5
        parts.append(ink.line("axis", x, top, x, top + 4))
        # not every hour beside long days, but always noon; on short windows whatever has room
        if (axis.days <= 1.5 or at.astimezone(axis.zone).hour == 12) and taken.free(top, x - half, x + half):
            taken.take(top, x - half, x + half)
            parts.append(ink.text(words, x, top + 19, "tiny mid"))
    return "".join(parts)


def day_lines(ink: Ink, axis: WallAxis, *, top: float, height: float) -> str:
    """The day grid through a strip."""
    step = axis.day_step()
    xs = (axis.x(at) for at in axis.midnights() if at.astimezone(axis.zone).toordinal() % step == 0)
    return "".join(ink.line("grid", x, top, x, top + height) for x in xs)
