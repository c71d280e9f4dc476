"""The evidence of many specimens that were tested alike: one table, what is the same for all said once."""

from collections.abc import Sequence
from dataclasses import dataclass

from reports.domain.content import LineContent
from reports.domain.content_items import number_text
from reports.domain.content_trials import CriterionContent, TrialContent

FULL_EVIDENCE = 6
"""Up to so many trials of a line each has its life and its course drawn; of more, those that did not pass."""


@dataclass(frozen=True, slots=True)
class SharedFigure:
    """One figure of several trials, each different value once; `specimens` is empty where it is the same for all."""

    title: str
    found: tuple[tuple[str, tuple[str, ...]], ...]


@dataclass(frozen=True, slots=True)
class SharedEvidence:
    """Trials judged by the same criteria and limits; `rows` are the trials with what was found for each criterion."""

    line: LineContent
    criteria: tuple[CriterionContent, ...]
    rows: tuple[tuple[TrialContent, tuple[str, ...]], ...]
    figures: tuple[SharedFigure, ...]

    @property
    def same(self) -> tuple[SharedFigure, ...]:
        """The figures that are the same for all, which a line of text tells."""
        return tuple(figure for figure in self.figures if len(figure.found) == 1)

    @property
    def varied(self) -> tuple[SharedFigure, ...]:
        """The figures that differ, which need a table."""
        return tuple(figure for figure in self.figures if len(figure.found) > 1)

    @property
    def varied_rows(self) -> tuple[tuple[TrialContent, tuple[str, ...]], ...]:
        """Each trial with its own values of the figures that differ."""
        return tuple(
            (trial, tuple(_value(figure, trial.specimen.number) for figure in self.varied)) for trial, _ in self.rows
        )

    @property
    def level(self) -> str:
        """The level at which all of them were tested, empty where they differ."""
        levels = {trial.severity for trial, _ in self.rows}
        return levels.pop() if len(levels) == 1 else ""

    @property
    def tester(self) -> str:
        """Who tested all of them on which rig; empty where that differs."""
        found = {f"{trial.performed_by} on rig {trial.rig}" for trial, _ in self.rows}
        return found.pop() if len(found) == 1 else ""

    @property
    def pieces(self) -> tuple[str, ...]:
        """Thickness and surface of the specimens, each with the number it belongs to only where they differ."""
        found: dict[str, None] = dict.fromkeys(_piece(trial) for trial, _ in self.rows)
        if len(found) == 1:
            return tuple(found) if "" not in found else ()
        return tuple(f"{number_text(t.specimen.number)} {words}" for t, _ in self.rows if (words := _piece(t)))

    @property
    def rule_versions(self) -> tuple[str, ...]:
        """Under which versions of the rule they were judged."""
        return tuple(dict.fromkeys(trial.rule_version for trial, _ in self.rows))


def is_drawn(line: LineContent, trial: TrialContent) -> bool:
    """Whether the trial has an account of its own, with drawings: in a long line only what did not plainly pass."""
    return len(line.trials) <= FULL_EVIDENCE or trial.outcome != "pass" or bool(trial.doubt) or trial.conditional


def shared_evidence(line: LineContent) -> list[SharedEvidence]:
    """The trials of a line that are not drawn, together where criteria and limits are the same."""
    groups: dict[tuple[tuple[str, str], ...], list[TrialContent]] = {}
    for trial in line.trials:
        if not is_drawn(line, trial):
            groups.setdefault(tuple((one.key, one.limit) for one in trial.criteria), []).append(trial)
    return [_shared(line, trials) for trials in groups.values()]


def _shared(line: LineContent, trials: Sequence[TrialContent]) -> SharedEvidence:
    rows = tuple((trial, tuple(map(_cell, trial.criteria))) for trial in trials)
    titles = {one.key: one.title for trial in trials for one in trial.quantities if not one.table}
    return SharedEvidence(
        line, trials[0].criteria, rows, tuple(_figure(trials, key, title) for key, title in titles.items())
    )


def _piece(trial: TrialContent) -> str:
    piece = trial.specimen
    thickness = f"thickness {piece.thickness.text}, measured here" if piece.thickness.text else ""
    return "; ".join(part for part in (thickness, piece.surface.text) if part)


def _value(figure: SharedFigure, number: str) -> str:
    return next((shown for shown, numbers in figure.found if number in numbers), "")


def _cell(one: CriterionContent) -> str:
    """What was found; that it holds is not said again, all else is."""
    plain = one.holds is True and not one.more
    return " ".join(part for part in (one.found, "" if plain else f"({one.word})", one.why) if part)


def _figure(trials: Sequence[TrialContent], key: str, title: str) -> SharedFigure:
    found: dict[str, list[str]] = {}
    for trial in trials:
        own = trial.quantity(key)
        if own is not None:
            found.setdefault(own.whole, []).append(trial.specimen.number)
    whole = len(found) == 1 and sum(map(len, found.values())) == len(trials)
    return SharedFigure(title, tuple((shown, () if whole else tuple(named)) for shown, named in found.items()))
