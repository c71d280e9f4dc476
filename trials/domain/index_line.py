"""The result of an order line on a glow-wire index: the search level by level, or the proof at one level."""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field
from decimal import Decimal

from trials.domain.criteria import digits, mid_sentence, with_unit
from trials.domain.index_search import LevelCount, SearchRule, SearchState, search_state, start_flag
from trials.domain.line_result import (
    Asked,
    Doubt,
    LevelResult,
    LineResult,
    LineState,
    LineTrial,
    NextStep,
)
from trials.domain.methods.base import MethodEdition

COUNTS_BELOW, HOLDS = "does not count", "holds the line"
"""What a pass above the lowest fail does: the highest pass below that fail counts, or a lead decides."""

THICKNESS = "nominal_mm"
"""The quantity of a verdict, and the set-up field, that carries the nominal thickness as typed."""


@dataclass(frozen=True)
class IndexName:
    """How an index is called and written: `name` ("GWFI"), and the figure a highest passed level stands for.

    `figure(grid, level)` returns its text; `below` is what is written when even the lowest level fails.
    """

    name: str
    figure: Callable[[Sequence[Decimal], Decimal], str]
    below: Callable[[Sequence[Decimal]], str]


def judge_index_line(
    index: IndexName, edition: MethodEdition, asked: Asked, trials: Sequence[LineTrial], doubts: Sequence[Doubt]
) -> LineResult:
    """Return the result of a line: the index of a search, or the proof where a level is ordered, and what comes next.

    Invalid and unjudged trials never count and ask for another specimen; every other one counts. Every plate is new: a
    specimen tested again counts once, by its first valid trial, and holds the line when it then fails. Independent of
    the order of `trials`.
    """
    rule = search_rule(edition)
    parts = _sorted_trials(trials, doubts)
    if len(parts.thicknesses) > 1:
        both = ", ".join(f"{one} mm" for one in parts.thicknesses)
        return parts.result("hold", f"On hold: specimens of different thickness stand in one line ({both}).")
    bad_again = [t for t in parts.again if t.verdict.outcome == "fail"]
    if bad_again:
        name = bad_again[0].specimen
        return parts.result("hold", f"On hold: specimen {name} failed when it was tested again; a lead decides.")
    levels = _levels(rule, parts.valid)
    if asked.severity is not None:
        return _proof(index, rule, asked, parts, levels)
    start, start_flags = _start(edition, rule, asked.start, parts)
    state = search_state(rule, levels, start)
    flags = (*start_flags, *state.flags)
    if state.flags and edition.parameter("turned_round").value == HOLDS:
        first = state.flags[0].partition(":")[0]
        sentence = f"On hold: {mid_sentence(first)}; a lead decides."
        return parts.result("hold", sentence, flags=flags, levels=levels, rule=rule)
    if state.move is not None:
        following = NextStep(state.move.level, state.move.specimens, state.move.reason)
        return parts.result(*_under_way(following, parts), next_step=following, flags=flags, levels=levels, rule=rule)
    written = _written(index, rule, state, parts.thickness)
    sentence = f"{written}: {_because(rule, state)}."
    return parts.result("determined", sentence, flags=flags, result=written, levels=levels, rule=rule)


def search_rule(edition: MethodEdition) -> SearchRule:
    """Return the search that an edition's parameters and levels state."""
    coarse = tuple(sorted(one.value for one in edition.severities if _is_coarse(one.value)))
    fine = edition.parameter("fine_step").value is True
    grid = tuple(sorted(one.value for one in edition.severities)) if fine else coarse
    return SearchRule(
        grid=grid,
        coarse=coarse,
        start=_nearest(coarse, edition.number("start_c")),
        needed=edition.specimens_needed,
        first_fail_ends=edition.parameter("first_fail_ends").value is True,
    )


def _is_coarse(level: Decimal) -> bool:
    """Whether a level stands on the standard's table: every 50 °C, and 960 °C."""
    return level % 50 == 0 or level == 960


def _nearest(levels: Iterable[Decimal], wanted: Decimal) -> Decimal:
    """The level nearest to one wanted, with its digits; the lower of two that are equally near."""
    return min(levels, key=lambda level: (abs(level - wanted), level))


def _start(
    edition: MethodEdition, rule: SearchRule, agreed: Decimal | None, parts: "_Parts"
) -> tuple[Decimal | None, tuple[str, ...]]:
    """The level agreed to begin at, and what is to be said about where the search began or is to begin.

    A temperature that is no level at all gives way to the nearest one of the table.
    """
    start, flags = agreed, []
    if agreed is not None and edition.severity(agreed) is None:
        start = _nearest(rule.coarse, agreed)
        at = with_unit(start, "°C")
        flags.append(f"{with_unit(agreed, '°C')} is no level of {edition.short_standard}; the search starts at {at}.")
    flags.append(start_flag(rule, parts.valid[0].severity if parts.valid else start))
    return start, tuple(filter(None, flags))


@dataclass(frozen=True)
class _Parts:
    """The trials of a line sorted by what they count for."""

    run: tuple[LineTrial, ...]
    valid: tuple[LineTrial, ...]
    flags: tuple[str, ...]
    thicknesses: tuple[str, ...] = field(default=())
    again: tuple[LineTrial, ...] = ()

    @property
    def thickness(self) -> str:
        """The nominal thickness as typed; "?" while none is recorded."""
        return self.thicknesses[0] if self.thicknesses else "?"

    def result(
        self,
        state: LineState,
        sentence: str,
        *,
        reasons: Iterable[str] = (),
        next_step: NextStep | None = None,
        flags: Iterable[str] = (),
        result: str = "",
        levels: dict[Decimal, LevelCount] | None = None,
        rule: SearchRule | None = None,
    ) -> LineResult:
        aside = [t for t in self.run if t.verdict.outcome in ("invalid", "not judged")]
        failing = [f"Specimen {t.specimen}: {t.verdict.sentence}" for t in self.valid if t.verdict.outcome == "fail"]
        never = [f"Specimen {t.specimen} does not count: {t.verdict.sentence}" for t in aside]
        shown = () if levels is None or rule is None else _level_results(rule, levels, self.valid)
        return LineResult(
            state=state,
            sentence=sentence,
            reasons=(*reasons, *failing, *never),
            needed=0 if next_step is None else next_step.specimens,
            counted=tuple(t.specimen for t in self.valid),
            extra=tuple(t.specimen for t in self.again),
            set_aside=tuple(t.specimen for t in aside),
            flags=(*self.flags, *flags),
            result=result,
            levels=shown,
            next=next_step,
        )


def _sorted_trials(trials: Iterable[LineTrial], doubts: Sequence[Doubt]) -> _Parts:
    run = tuple(sorted(trials, key=lambda t: (t.sequence, t.specimen)))
    first: dict[str, LineTrial] = {}
    again: list[LineTrial] = []
    for trial in run:
        counts = trial.verdict.outcome in ("pass", "fail") and trial.severity is not None
        if counts and first.setdefault(trial.specimen, trial) is not trial:
            again.append(trial)
    valid = tuple(first.values())
    typed = dict.fromkeys(t.verdict.quantity(THICKNESS).text for t in valid)
    same = {Decimal(text): text for text in reversed(typed) if _is_number(text)}
    flags = [
        f"Specimen {name} was tested again; every plate is new, so only its first trial with a verdict counts."
        for name in dict.fromkeys(t.specimen for t in again)
    ]
    flags += (
        f"The doubt about specimen {doubt.specimen} calls for nothing: every specimen of a level counts."
        for doubt in sorted(doubts, key=lambda one: (one.specimen, one.reason))
    )
    return _Parts(run, valid, tuple(flags), tuple(same[value] for value in sorted(same)), tuple(again))


def _is_number(text: str) -> bool:
    return text.replace(".", "", 1).isdigit()


def _levels(rule: SearchRule, valid: Iterable[LineTrial]) -> dict[Decimal, LevelCount]:
    levels: dict[Decimal, LevelCount] = {}
    for trial in valid:
        level = trial.severity or Decimal(0)
        before = levels.get(level, LevelCount())
        passed = trial.verdict.outcome == "pass"
        levels[level] = LevelCount(before.passed + passed, before.failed + (not passed))
    return levels


def _level_results(
    rule: SearchRule, levels: dict[Decimal, LevelCount], valid: Sequence[LineTrial]
) -> tuple[LevelResult, ...]:
    return tuple(
        LevelResult(
            level,
            with_unit(level, "°C"),
            tested.state(rule),
            tuple(t.specimen for t in valid if t.severity == level),
            f"{tested.passed} of {rule.needed} passed" if not tested.failed else f"{tested.failed} failed",
        )
        for level, tested in sorted(levels.items())
    )


def _under_way(following: NextStep, parts: _Parts) -> tuple[LineState, str]:
    count = f"{following.specimens} specimen{'' if following.specimens == 1 else 's'}"
    what = f"{count} to be tested at {with_unit(following.severity or Decimal(0), '°C')}"
    if not parts.run:
        return "not started", f"Not started: {what}."
    return "more specimens needed", f"Next: {what}. {following.reason}"


def _written(index: IndexName, rule: SearchRule, state: SearchState, thickness: str) -> str:
    if state.low is None:
        return f"{index.name} not established, {index.below(rule.grid)}"
    return f"{index.name}: {index.figure(rule.grid, state.low)}/{thickness}"


def _because(rule: SearchRule, state: SearchState) -> str:
    if state.low is None:
        return f"{with_unit(rule.grid[0], '°C')}, the lowest level, failed"
    passed = f"all {rule.needed} passed at {with_unit(state.low, '°C')}"
    if state.high is None:
        return f"{passed}, the highest level"
    return f"{passed}, and {with_unit(state.high, '°C')} failed"


def _proof(
    index: IndexName, rule: SearchRule, asked: Asked, parts: _Parts, levels: dict[Decimal, LevelCount]
) -> LineResult:
    """All specimens asked for at the level ordered must pass; what was tested at other levels is flagged."""
    level = asked.severity or Decimal(0)
    wanted = max(rule.needed, asked.specimens)
    own = SearchRule(rule.grid, rule.coarse, rule.start, wanted, rule.first_fail_ends)
    tested, at = levels.get(level, LevelCount()), with_unit(level, "°C")
    others = sorted({digits(t.severity) for t in parts.valid if t.severity is not None and t.severity != level})
    flags = [f"Tested at {one} °C too, which this line did not ask for." for one in others]
    state = tested.state(own)
    if state == "failed":
        count = f"{tested.failed} specimen{'' if tested.failed == 1 else 's'}"
        return parts.result("failed", f"Failed at {at}: {count} failed.", flags=flags, levels=levels, rule=own)
    if state == "passed":
        least = "" if level == rule.grid[-1] else "≥ "
        written = f"{index.name}: {least}{index.figure(rule.grid, level)}/{parts.thickness}"
        sentence = f"Passed at {at}: all {tested.passed} specimens passed."
        return parts.result("passed", sentence, flags=flags, result=written, levels=levels, rule=own)
    following = NextStep(level, tested.missing(own), f"All of {wanted} must pass at the level ordered.")
    word, sentence = _under_way(following, parts)
    return parts.result(word, sentence, next_step=following, flags=flags, levels=levels, rule=own)
