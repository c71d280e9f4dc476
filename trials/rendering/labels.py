"""Labels in a drawing that do not run into each other, decided for the narrowest page the drawing is made for."""

from collections.abc import Sequence
from dataclasses import dataclass, field

from labsite.ledger.svg import CHARACTER_WIDTH_PX, text

_LINE_PX = 13


@dataclass(slots=True)
class Labels:
    """Places labels one after the other; `width_px` is the drawing's width where it is narrowest."""

    width_px: float
    placed: list[tuple[float, float, float]] = field(default_factory=list)

    def keep_free(self, x: float, y: float, width_px: float) -> None:
        """Take a stretch at the height `y`, from `x` percent on, so that no label goes there."""
        left = x / 100 * self.width_px
        self.placed.append((left, left + width_px, y))

    def place(
        self,
        words: str,
        x: float,
        ys: Sequence[float],
        css: str = "halo",
        *,
        anchors: str = "start end",
        dx: float = 6,
        must: bool = True,
    ) -> str:
        """The label at `x` percent on the first of the heights `ys` where it fits, on either side of its place.

        Where it fits nowhere it stands at the last height, on the side with more room, or is left out (`must` False).
        """
        sides = anchors.split()
        for y in ys:
            for side in sides:
                left, right = self._span(words, x, side, dx)
                if left >= 0 and right <= self.width_px and self._free(left, right, y):
                    return self._put(words, x, y, side, css, dx)
        if not must:
            return ""
        side = "end" if x > 50 and "end" in sides else sides[0]
        return self._put(words, x, ys[-1], side, css, dx)

    def _put(self, words: str, x: float, y: float, side: str, css: str, dx: float) -> str:
        left, right = self._span(words, x, side, dx)
        self.placed.append((left, right, y))
        shift = {"start": dx, "end": -dx, "mid": 0}[side]
        return text(words, x, y, css if side == "start" else f"{css} {side}", dx=shift)

    def _span(self, words: str, x: float, side: str, dx: float) -> tuple[float, float]:
        length, at = len(words) * CHARACTER_WIDTH_PX, x / 100 * self.width_px
        if side == "mid":
            return at - length / 2, at + length / 2
        return (at + dx, at + dx + length) if side == "start" else (at - dx - length, at - dx)

    def _free(self, left: float, right: float, y: float) -> bool:
        return all(
            abs(y - other_y) >= _LINE_PX or right + 4 <= other_left or left >= other_right + 4
            for other_left, other_right, other_y in self.placed
        )
