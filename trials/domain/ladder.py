"""A search level by level, as its drawing shows it: what was tried, and where the answer could still lie before it."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Literal

from trials.domain.line_result import LevelResult, LineResult, NextStep
from trials.domain.methods.base import MethodEdition

type Mark = Literal["pass", "fail", "open"]


@dataclass(frozen=True)
class Rung:
    """One level tried: its value and name, how it ended, a mark for each specimen in the order tested, and words.

    `run` tells runs at one level apart ("50 drops"); where the answer lies is told by runs of one kind only. `low` and
    `high` are the levels between which the answer could lie before it was tried: the highest pass below the lowest
    fail, and that fail; None where that side was open.
    """

    value: Decimal
    text: str
    state: Literal["passed", "failed", "open"]
    marks: tuple[Mark, ...]
    words: str
    run: str
    low: Decimal | None
    high: Decimal | None

    @property
    def short(self) -> str:
        """The words where there is little room: the marks themselves say passed or failed."""
        return "failed" if self.state == "failed" else f"{self.marks.count('pass')} of {len(self.marks)}"


@dataclass(frozen=True)
class Ladder:
    """A whole search. `grid` are the levels of the edition, lowest first, with their names.

    `low` and `high` are where the answer can lie now; `following` is the level that comes next, with its name, and
    `result` the answer once there is one.
    """

    grid: tuple[tuple[Decimal, str], ...]
    rungs: tuple[Rung, ...]
    low: Decimal | None
    high: Decimal | None
    following: tuple[Decimal, str] | None
    specimens_next: int
    result: str

    @property
    def words(self) -> str:
        """The search in words, for readers who do not see the drawing."""
        told = [f"{rung.text}: {rung.words}" for rung in self.rungs]
        tried = "; ".join(told) if told else "nothing tested yet"
        ends = f" {self.following[1]} is next." if self.following is not None else ""
        return f"Search by levels. {tried}.{ends}{f' Result: {self.result}.' if self.result else ''}"


def ladder_of(
    edition: MethodEdition, ordered: Decimal | None, result: LineResult, outcomes: Mapping[str, str]
) -> Ladder | None:
    """Return the search of an order line to be drawn; None where its levels are not searched through.

    `outcomes` gives for a specimen, named as in `result`, what its trial came to. The levels stand in the order in
    which they were first tried, which is the order of `outcomes`.
    """
    levels = [level for level in result.levels if level.severity is not None and level.specimens]
    if ordered is not None or not edition.open_start or len(levels) < len(result.levels):
        return None
    grid = [(level.value, edition.severity_text(level.value)) for level in edition.severities]
    return ladder(levels, result.next, grid, outcomes, result.result)


def ladder(
    levels: Sequence[LevelResult],
    following: NextStep | None,
    grid: Sequence[tuple[Decimal, str]],
    outcomes: Mapping[str, str],
    result: str = "",
) -> Ladder:
    """Return a search from its levels; `grid` are (level, name), in any order, `outcomes` as for `ladder_of`."""
    names = dict(grid)
    places = {specimen: place for place, specimen in enumerate(outcomes)}
    tried = sorted(levels, key=lambda level: min((places.get(one, len(places)) for one in level.specimens), default=0))
    rungs: list[Rung] = []
    for level in tried:
        value = level.severity
        if value is None:
            raise ValueError(f"{level.text} is no level of a search.")
        run = level.text.removeprefix(names.get(value, "")).lstrip(", ")
        low, high = _bounds(rungs, run)
        marks = tuple(_mark(outcomes.get(one, "")) for one in level.specimens)
        rungs.append(Rung(value, level.text, level.state, marks, _words(level.state, marks), run, low, high))
    low, high = _bounds(rungs, rungs[-1].run if rungs else "")
    known = None if following is None or following.severity is None else following.severity
    return Ladder(
        grid=tuple(sorted(grid)),
        rungs=tuple(rungs),
        low=low,
        high=high,
        following=None if known is None else (known, names.get(known, str(known))),
        specimens_next=0 if following is None else following.specimens,
        result=result,
    )


def _bounds(rungs: Sequence[Rung], run: str) -> tuple[Decimal | None, Decimal | None]:
    """The highest pass below the lowest fail, and that fail, among runs of one kind."""
    same = [rung for rung in rungs if rung.run == run]
    high = min((rung.value for rung in same if rung.state == "failed"), default=None)
    low = max((r.value for r in same if r.state == "passed" and (high is None or r.value < high)), default=None)
    return low, high


def _mark(outcome: str) -> Mark:
    if outcome == "pass":
        return "pass"
    return "fail" if outcome == "fail" else "open"


def _words(state: str, marks: Sequence[Mark]) -> str:
    passed, failed = marks.count("pass"), marks.count("fail")
    if state == "failed":
        return f"{failed} of {len(marks)} failed" if failed else "failed"
    if state == "passed":
        return f"{passed} of {len(marks)} passed"
    return f"{passed} of {len(marks)} passed so far"
