"""What a test method says about itself: parameters, set-up, observations, instruments, and its judge."""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from functools import cached_property
from typing import Literal, cast

from trials.domain.criteria import Certainty, Criterion, Value, digits, with_unit
from trials.domain.line_result import Doubt, FurtherRule, LineResult, LineRule, LineTrial, SeveralRule
from trials.domain.records import TrialRecord
from trials.domain.verdicts import Verdict

type FieldKind = Literal["number", "choice", "yes-no", "text"]
type ValueKind = Literal["none", "number", "choice", "yes-no", "text"]


@dataclass(frozen=True)
class Parameter:
    """One figure of an edition: data with its source, never a constant inside a judge.

    A limit is either `value` with `tolerance`, or `low` and/or `high`; all limits are inclusive. A parameter with
    neither is a plain value: a count, a switch, or the answer a yes-no field must have.
    """

    key: str
    title: str
    value: Value
    unit: str = ""
    low: Decimal | None = None
    high: Decimal | None = None
    tolerance: Decimal | None = None
    source: str = ""
    certainty: Certainty = "common practice"
    note: str = ""
    choices: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        if self.tolerance is not None and (self.low is not None or self.high is not None):
            raise ValueError(f"{self.key}: a limit is a tolerance or a range, not both.")
        if self.tolerance is not None and not isinstance(self.value, Decimal):
            raise ValueError(f"{self.key}: a tolerance needs a number as its value.")
        if self.choices and self.value not in self.choices:
            raise ValueError(f"{self.key}: {self.value!r} is none of {', '.join(self.choices)}.")

    @cached_property
    def bounds(self) -> tuple[Decimal | None, Decimal | None]:
        """Lowest and highest value allowed, both inclusive; None where that side is open."""
        if self.tolerance is not None and isinstance(self.value, Decimal):
            return self.value - self.tolerance, self.value + self.tolerance
        return self.low, self.high

    def admits(self, found: Decimal) -> bool:
        """Whether an unrounded value lies within the limit."""
        low, high = self.bounds
        return (low is None or found >= low) and (high is None or found <= high)

    @cached_property
    def limit_text(self) -> str:
        """The limit, or the plain value, in words for screen and paper."""
        if self.tolerance is not None and isinstance(self.value, Decimal):
            return f"{digits(self.value)} ± {with_unit(self.tolerance, self.unit)}"
        if self.low is not None and self.low == self.high:
            return with_unit(self.low, self.unit)
        if self.low is not None and self.high is not None:
            return f"{digits(self.low)} to {with_unit(self.high, self.unit)}"
        if self.low is not None:
            return f"at least {with_unit(self.low, self.unit)}"
        if self.high is not None:
            return f"at most {with_unit(self.high, self.unit)}"
        if isinstance(self.value, bool):
            return "yes" if self.value else "no"
        return with_unit(self.value, self.unit) if isinstance(self.value, Decimal) else (self.value or "not set")


@dataclass(frozen=True)
class SetupField:
    """One thing the bench form asks before contact.

    `parameter` names the parameter that limits it ("" = recorded only). `required`: without it nothing is judged.
    `enforced`: outside its limit the trial is invalid; else a warning. `stays_with_rig`: worth offering again from
    the last trial on the same rig. `digit` opens the field on the bench, `prompt` is its help in a few words.
    """

    key: str
    title: str
    kind: FieldKind
    unit: str = ""
    resolution: Decimal | None = None
    required: bool = False
    enforced: bool = True
    parameter: str = ""
    choices: tuple[str, ...] = ()
    instrument_role: str = ""
    stays_with_rig: bool = False
    digit: str = ""
    prompt: str = ""


@dataclass(frozen=True)
class ObservationKind:
    """One kind of observation row: `title` is the event as its bench key names it.

    `timed` kinds need a moment on the bench clock; `ends` names the kind that a row of this kind ends;
    `when` says whether it is used while the trial runs, afterwards, or both; `repeats` whether several may stand.
    """

    key: str
    title: str
    symbol: str
    value_kind: ValueKind = "none"
    value_optional: bool = False
    unit: str = ""
    resolution: Decimal | None = None
    choices: tuple[str, ...] = ()
    timed: bool = True
    repeats: bool = True
    ends: str = ""
    when: Literal["running", "after", "both"] = "running"
    digit: str = ""
    prompt: str = ""


@dataclass(frozen=True)
class InstrumentNeed:
    """An instrument the rig must carry, by role and kind, with the accuracy asked for in words and its source."""

    role: str
    kind: str
    accuracy: str
    source: str
    certainty: Certainty
    required: bool = True


@dataclass(frozen=True)
class ConditioningNeed:
    """Conditioning before the trial: atmosphere, and the keys of the parameters for the hours and the window after."""

    atmosphere: str
    hours: str
    use_within_hours: str
    enforced: bool
    use_within_enforced: bool


@dataclass(frozen=True)
class Severity:
    """A level that can be ordered; levels a product standard must ask for are offered as such."""

    value: Decimal
    unit: str
    offered_as: Literal["standard", "by product standard"]

    @property
    def text(self) -> str:
        """Level and unit, for instance "850 °C"."""
        return with_unit(self.value, self.unit)


@dataclass(frozen=True)
class DecisionRule:
    """A rule by which a figure is set against its limit, agreed at contract review."""

    key: str
    title: str
    note: str


@dataclass(frozen=True)
class QuantityKind:
    """A column of the certificate's table: one figure that the method's verdicts carry."""

    key: str
    title: str
    symbol: str
    unit: str


@dataclass(frozen=True)
class MethodEdition:
    """One edition of one method, complete: forms, gates, tables and help are generated from it."""

    key: str
    slug: str
    edition: str
    title: str
    short_title: str
    standard: str
    apparatus: str
    short_standard: str
    rule_version: int
    rig_kind: str
    parameters: tuple[Parameter, ...]
    severities: tuple[Severity, ...]
    conditioning: ConditioningNeed
    instruments: tuple[InstrumentNeed, ...]
    setup_fields: tuple[SetupField, ...]
    observation_kinds: tuple[ObservationKind, ...]
    quantities: tuple[QuantityKind, ...]
    decision_rules: tuple[DecisionRule, ...]
    cautions: tuple[str, ...]
    trial_judge: Callable[["MethodEdition", TrialRecord], Verdict]
    start_judge: Callable[["MethodEdition", TrialRecord], tuple[Criterion, ...]]
    line_judge: Callable[["MethodEdition", Decimal, Sequence[LineTrial], Sequence[Doubt], int], LineResult]

    def judge(self, record: TrialRecord) -> Verdict:
        """Return the verdict on one trial; RecordError for a record that does not fit this edition."""
        return self.trial_judge(self, record)

    def start_criteria(self, record: TrialRecord) -> tuple[Criterion, ...]:
        """Return all that must hold before contact, for a record whose readings are in s relative to the moment."""
        return self.start_judge(self, record)

    def judge_line(
        self, severity: Decimal, trials: Sequence[LineTrial], doubts: Sequence[Doubt] = (), ordered: int = 1
    ) -> LineResult:
        """Return the result of an order line from its judged trials."""
        return self.line_judge(self, severity, trials, doubts, ordered)

    def parameter(self, key: str) -> Parameter:
        """Return the parameter called `key`; KeyError if the edition has none."""
        return self._parameters_by_key[key]

    def number(self, key: str) -> Decimal:
        """Return the value of a numeric parameter, else its only bound; TypeError if it has neither."""
        parameter = self.parameter(key)
        low, high = parameter.bounds
        value = parameter.value if parameter.value is not None else (high if low is None else low)
        if not isinstance(value, Decimal):
            raise TypeError(f"{key} is not a number in {self.key}")
        return value

    def severity(self, value: Decimal) -> Severity | None:
        """Return the level equal to `value`, or None when the edition does not offer it."""
        return next((severity for severity in self.severities if severity.value == value), None)

    @property
    def specimens_needed(self) -> int:
        """Specimens the edition asks for when nothing else is ordered."""
        return int(self.number("specimens_needed"))

    @property
    def further_in_doubt(self) -> int:
        """Further specimens when the technician is in doubt."""
        return int(self.number("further_specimens"))

    def revised(self, *changed: Parameter) -> "MethodEdition":
        """Return the edition with some parameters changed, as a laboratory's own revision; KeyError if unknown."""
        return replace(self, parameters=replaced(self.parameters, *changed))

    @cached_property
    def _parameters_by_key(self) -> Mapping[str, Parameter]:
        return {parameter.key: parameter for parameter in self.parameters}

    @cached_property
    def parameter_texts(self) -> Mapping[str, str]:
        """Every parameter's limit or value in words, for the record of a verdict."""
        return {parameter.key: parameter.limit_text for parameter in self.parameters}


def line_rule(edition: MethodEdition) -> LineRule:
    """Return the line rule that an edition's parameters state."""
    return LineRule(
        specimens_needed=edition.specimens_needed,
        further=edition.further_in_doubt,
        further_rule=cast("FurtherRule", edition.parameter("further_rule").value),
        several_ordered=cast("SeveralRule", edition.parameter("several_ordered").value),
    )


def replaced(parameters: Iterable[Parameter], *changed: Parameter) -> tuple[Parameter, ...]:
    """Return parameters with some replaced by key, for an edition that differs from another; KeyError if unknown."""
    new = {parameter.key: parameter for parameter in changed}
    old = tuple(parameters)
    unknown = set(new) - {parameter.key for parameter in old}
    if unknown:
        raise KeyError(", ".join(sorted(unknown)))
    return tuple(new.get(parameter.key, parameter) for parameter in old)
