"""Tracking runs by voltage and number of drops: who survived, who failed, and how each level stands."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Literal

from trials.domain.criteria import with_unit
from trials.domain.line_result import LevelResult, LineTrial
from trials.domain.methods.base import MethodEdition

type LevelState = Literal["passed", "failed", "barred", "open"]
"""How a level stands; barred = an air arc came again there, so that nothing can be told at that voltage."""

ONE_IN_TEN = "one in ten counts as passed"


@dataclass(frozen=True)
class LevelRule:
    """How many specimens a level needs, whether one failure in twice as many is allowed, arcs before it is left."""

    needed: int
    one_in_ten: bool
    arc_repeats: int
    later_survives: bool


@dataclass(frozen=True)
class Level:
    """One voltage with one number of drops: specimens by what they did, in the order of their trials.

    `asked` are those that were run with this very number of drops; others count by what they survived.
    """

    survived: tuple[str, ...] = ()
    failed: tuple[str, ...] = ()
    arcs: tuple[str, ...] = ()
    asked: tuple[str, ...] = ()

    def state(self, rule: LevelRule) -> LevelState:
        """Return how the level stands; what is known of failures and survivors goes before an arc."""
        if len(self.failed) > (1 if rule.one_in_ten else 0):
            return "failed"
        if self.missing(rule) <= 0:
            return "passed"
        return "barred" if len(self.arcs) > rule.arc_repeats else "open"

    def missing(self, rule: LevelRule) -> int:
        """Return how many more must survive; after one allowed failure as many new ones as the level began with."""
        wanted = 2 * rule.needed - 1 if rule.one_in_ten and self.failed else rule.needed
        return wanted - len(self.survived)


EMPTY = Level()


@dataclass(frozen=True)
class Book:
    """All levels of a line, by voltage in V and number of drops, read by one rule."""

    rule: LevelRule
    levels: Mapping[tuple[Decimal, int], Level]

    def level(self, voltage_v: Decimal, drops: int) -> Level:
        """Return what was found at a voltage with a number of drops."""
        return self.levels.get((voltage_v, drops), EMPTY)

    def state(self, voltage_v: Decimal, drops: int) -> LevelState:
        """Return how a voltage stands with a number of drops."""
        return self.level(voltage_v, drops).state(self.rule)


def level_rule(edition: MethodEdition) -> LevelRule:
    """Return the rule on levels that an edition's parameters state."""
    return LevelRule(
        needed=edition.specimens_needed,
        one_in_ten=edition.parameter("failure_rule").value == ONE_IN_TEN,
        arc_repeats=int(edition.number("air_arc_repeats")),
        later_survives=edition.parameter("later_failure_survives").value is True,
    )


def book_of(edition: MethodEdition, trials: Iterable[LineTrial], needed: int | None = None) -> Book:
    """Return the levels that judged trials add up to, whatever their order.

    A trial tells about every number of drops: a failure after drop N + 1 has survived N, a failure at drop N fails
    every run of N and more. `needed` is the number of specimens a level needs where it is not the edition's.
    Raises ValueError for a valid trial that does not say with how many drops it was run.
    """
    rule = level_rule(edition)
    rule = rule if needed is None else LevelRule(needed, rule.one_in_ten, rule.arc_repeats, rule.later_survives)
    counts = (int(edition.number("proof_drops")), int(edition.number("lower_drops")))
    found: dict[tuple[Decimal, int], dict[str, list[str]]] = {}
    for trial in sorted(trials, key=lambda t: (t.sequence, t.specimen)):
        if trial.severity is None:
            continue
        asked = drops_of(trial, "drops_asked")
        for drops in counts:
            said = found.setdefault((trial.severity, drops), {"survived": [], "failed": [], "arcs": [], "asked": []})
            share = _share(trial, drops, asked, rule)
            if share:
                said[share].append(trial.specimen)
            if drops == asked and share:
                said["asked"].append(trial.specimen)
    levels = {key: Level(**{name: tuple(names) for name, names in said.items()}) for key, said in found.items()}
    return Book(rule, levels)


def drops_of(trial: LineTrial, quantity: str) -> int | None:
    """Return a figure of a trial that counts drops; None where it is not known."""
    value = trial.verdict.quantity(quantity).value
    return None if value is None else int(value)


def spoiled_by(trial: LineTrial, key: str) -> bool:
    """Return whether the criterion called `key`, and nothing else, makes the trial invalid."""
    broken = [c.key for c in trial.verdict.setup_criteria if c.decides and c.holds is False]
    return trial.verdict.outcome == "invalid" and broken == [key]


def level_results(book: Book, unit: str) -> tuple[LevelResult, ...]:
    """Return the levels at which runs were made, by voltage, then by number of drops, for the drawing."""
    return tuple(
        LevelResult(
            voltage_v,
            f"{with_unit(voltage_v, unit)}, {drops} drops",
            "open" if (state := level.state(book.rule)) == "barred" else state,
            level.asked,
            _note(drops, level, state, book.rule),
        )
        for (voltage_v, drops), level in sorted(book.levels.items(), key=lambda one: one[0])
        if level.asked
    )


def _note(drops: int, level: Level, state: LevelState, rule: LevelRule) -> str:
    if state == "barred":
        return f"{drops} drops, air arc"
    return f"{drops} drops, {len(level.survived)} of {rule.needed}" if state == "open" else f"{drops} drops"


def named(specimens: Sequence[str]) -> str:
    """Return specimens in words: "specimen 03", "specimens 03 and 04"."""
    each = list(dict.fromkeys(specimens))
    if len(each) == 1:
        return f"specimen {each[0]}"
    return f"specimens {', '.join(each[:-1])} and {each[-1]}"


def _share(trial: LineTrial, drops: int, asked: int | None, rule: LevelRule) -> str:
    """What a trial says about a run of so many drops: "survived", "failed", "arcs", or nothing."""
    if spoiled_by(trial, "air_arc"):
        return "arcs" if drops == asked else ""
    if trial.verdict.outcome not in ("pass", "fail"):
        return ""
    if asked is None:
        raise ValueError(f"specimen {trial.specimen}: with how many drops it was run is not known")
    if trial.verdict.outcome == "pass" and drops <= asked:
        return "survived"
    failed_at, survived = drops_of(trial, "failed_at"), drops_of(trial, "survived")
    if trial.verdict.outcome == "fail" and drops >= asked:
        return "failed"
    if survived is not None and survived >= drops and (rule.later_survives or trial.verdict.outcome == "pass"):
        return "survived"
    if failed_at is not None and failed_at <= drops:
        return "failed"
    return ""
