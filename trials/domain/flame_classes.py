"""Classes of bars: which classes a bar meets by itself, and the verdict on it, against one class or for the best."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from trials.domain.criteria import Criterion, mid_sentence
from trials.domain.flame_sets import Bar, ClassLimits, SetRule
from trials.domain.line_result import LineTrial
from trials.domain.methods.base import MethodEdition
from trials.domain.records import TrialRecord
from trials.domain.statements import QuantityKind, Severity
from trials.domain.verdicts import Quantity, outcome_of

NONE, UNKNOWN = "none", "not known"

CLASS_QUANTITIES: tuple[QuantityKind, ...] = (
    QuantityKind("class", "Best class of this bar", "", "", table=True),
    QuantityKind("meets", "Classes this bar meets", "", ""),
)
"""Figures that carry a bar's classes from its verdict to the order line."""


@dataclass(frozen=True)
class Family:
    """Classes of one method. `ladder` are those an open order is searched for, best first; `beside` the others.

    `plans` are the ways of conditioning, each with a set of its own: key, and word in sentences. `shrinks` says what
    is to be done with material whose bars shrink away.
    """

    name: str
    ladder: tuple[ClassLimits, ...]
    rule: SetRule
    beside: tuple[ClassLimits, ...] = ()
    plans: tuple[tuple[str, str], ...] = (("", ""),)
    shrinks: str = ""

    def called(self, severity: Decimal) -> ClassLimits:
        """Return the class whose level is `severity`; KeyError if the family has none."""
        for limits in (*self.ladder, *self.beside):
            if limits.severity == severity:
                return limits
        raise KeyError(severity)


@dataclass(frozen=True)
class Classed:
    """The criteria that a verdict on one bar shows, the level it names, and the bar's classes as figures."""

    severity_text: str
    criteria: tuple[Criterion, ...]
    quantities: tuple[Quantity, ...]


def class_severities(*levels: tuple[int, str]) -> tuple[Severity, ...]:
    """Return classes as levels, each with the number it is kept by and its name."""
    return tuple(Severity(Decimal(value), "", label=label) for value, label in levels)


def classed(
    edition: MethodEdition,
    record: TrialRecord,
    setup_criteria: Sequence[Criterion],
    judged: Mapping[Decimal, tuple[Criterion, ...]],
    searched: Sequence[Decimal],
) -> Classed:
    """Return what the verdict on one bar is made of; `judged` are the criteria of each class by its level.

    Against an ordered class its own criteria decide. Without one the best class that is not known to be missed is
    shown, `searched` being the classes to choose from, best first: met, it is the bar's class; where even the last
    one is missed the bar fails.
    """
    met = {level: _met(criteria) for level, criteria in judged.items()}
    best = next((level for level in searched if met[level] is not False), None)
    shown = record.severity if record.severity is not None else (searched[-1] if best is None else best)
    named = edition.severity_text(shown)
    if record.severity is None and outcome_of(setup_criteria, judged[shown]) in ("invalid", "not judged"):
        named = mid_sentence(edition.open_severity)
    known = UNKNOWN if best is not None and met[best] is None else edition.severity_text(best)
    texts = {
        "class": NONE if best is None else known,
        "meets": ", ".join(edition.severity_text(level) for level in judged if met[level] is True) or NONE,
    }
    kinds = [kind for kind in edition.quantities if kind.key in texts]
    quantities = tuple(Quantity(k.key, k.title, k.symbol, k.unit, None, texts[k.key]) for k in kinds)
    return Classed(named, judged[shown], quantities)


def bar_of(family: Family, trial: LineTrial) -> Bar:
    """Return what the sets look at of a valid trial: its classes, and its whole seconds t1 + t2 where it has any.

    A verdict that says no more than its outcome is taken at its word for the class it was judged by; ValueError where
    that is not enough: without a class, and where a set has a total.
    """
    figures = {quantity.key: quantity for quantity in trial.verdict.quantities}
    met = figures["meets"].text
    best = figures["class"].text
    labels = {limits.label: limits for limits in (*family.ladder, *family.beside)}
    if met != NONE and not labels.keys() >= set(met.split(", ")):
        if trial.severity is None or any(limits.total_s is not None for limits in labels.values()):
            raise ValueError(f"specimen {trial.specimen}: its figures and the classes it meets are not known")
        word = family.called(trial.severity).label
        return Bar(trial.specimen, frozenset({word} if trial.verdict.outcome == "pass" else ()))
    times = [figures[key] for key in ("t1", "t2") if key in figures]
    missing = [f"{one.symbol} {one.text}" for one in times if one.value is None or one.text.startswith("at least")]
    if trial.verdict.outcome == "fail" and trial.severity is not None:
        known_as = trial.verdict.sentence.partition(": ")[2].rstrip(".")
    else:
        known_as = f"no {family.name} class" if best == NONE else f"{best} at best"
    return Bar(
        specimen=trial.specimen,
        meets=frozenset() if met == NONE else frozenset(met.split(", ")),
        known_as=known_as,
        share_s=sum((one.value for one in times if one.value is not None), Decimal(0)),
        incomplete=" and ".join(missing),
    )


def _met(criteria: Sequence[Criterion]) -> bool | None:
    """Whether all hold; what is broken breaks, whatever is unknown beside it."""
    found = [one.holds for one in criteria if one.enforced]
    if False in found:
        return False
    return None if None in found else True
