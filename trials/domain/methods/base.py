"""A method edition, complete: what it states, and the rules by which it judges a trial and an order line."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from functools import cached_property, lru_cache, partial
from typing import Any, Concatenate, Final, cast

from calibration.domain.decisions import DecisionRule
from trials.domain.criteria import Criterion, Value, with_unit
from trials.domain.line_result import Asked, Doubt, FurtherRule, LineResult, LineRule, LineTrial, SeveralRule
from trials.domain.records import TrialRecord
from trials.domain.statements import (
    Beat,
    ConditioningNeed,
    DecidedLimit,
    IndexSearch,
    InstrumentNeed,
    ObservationKind,
    Parameter,
    QuantityKind,
    SetupField,
    Severity,
    SteadyNeed,
    Step,
    replaced,
)
from trials.domain.verdicts import Verdict

MOST_REMEMBERED: Final = 4096
"""How many answers of one rule an edition keeps."""


@dataclass(frozen=True)
class MethodEdition:
    """One edition of one method: forms, gates, tables and help are generated from it.

    `open_severity` says in a few words what an order without a level asks for ("Index search", "Best class"); empty
    where a level must be ordered. `open_start`: such an order may name the level it starts at and a level believed;
    `search` then plans it for the fewest specimens, where the edition's search can be planned.
    `heat_source` and `layer_name` name what acts and what lies below, for drawings and sentences; `burns` says that
    the course of flames and glow over time is worth drawing. `decided_limits` are those of its figures that the
    order's decision rule judges. `point_field` is the set-up field that says where on a specimen a trial was made;
    only where one is named may a specimen be tested again at another place.
    """

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
    conditionings: tuple[ConditioningNeed, ...]
    instruments: tuple[InstrumentNeed, ...]
    setup_fields: tuple[SetupField, ...]
    observation_kinds: tuple[ObservationKind, ...]
    steps: tuple[Step, ...]
    quantities: tuple[QuantityKind, ...]
    decision_rules: tuple[DecisionRule, ...]
    cautions: tuple[str, ...]
    trial_judge: Callable[["MethodEdition", TrialRecord], Verdict]
    start_judge: Callable[["MethodEdition", TrialRecord], tuple[Criterion, ...]]
    line_judge: Callable[["MethodEdition", Asked, Sequence[LineTrial], Sequence[Doubt]], LineResult]
    severity_title: str = "Severity"
    open_severity: str = ""
    open_start: bool = False
    search: IndexSearch | None = None
    steady: SteadyNeed | None = None
    beat: Beat | None = None
    heat_source: str = "wire"
    layer_name: str = "layer"
    burns: bool = True
    decided_limits: tuple[DecidedLimit, ...] = ()
    point_field: str = ""

    def judge(self, record: TrialRecord) -> Verdict:
        """Return the verdict on one trial; RecordError for a record that does not fit this edition."""
        return self.trial_judge(self, record)

    def start_criteria(self, record: TrialRecord) -> tuple[Criterion, ...]:
        """Return all that must hold before the start, for a record whose readings are in s relative to the moment."""
        return self.start_judge(self, record)

    def judge_line(self, asked: Asked, trials: Sequence[LineTrial], doubts: Sequence[Doubt] = ()) -> LineResult:
        """Return the result of an order line, and what is to be tested next, from its judged trials."""
        return self.line_judge(self, asked, trials, doubts)

    def parameter(self, key: str) -> Parameter:
        """Return the parameter called `key`; KeyError if the edition has none."""
        return self._parameters_by_key[key]

    def has_parameter(self, key: str) -> bool:
        """Return whether the edition has a parameter called `key`."""
        return key in self._parameters_by_key

    def number(self, key: str) -> Decimal:
        """Return the value of a numeric parameter, else its only bound; TypeError if it has neither."""
        value = self._numbers_by_key[key]
        if not isinstance(value, Decimal):
            raise TypeError(f"{key} is not a number in {self.key}")
        return value

    def severity(self, value: Decimal) -> Severity | None:
        """Return the level equal to `value`, or None when the edition does not offer it."""
        return next((severity for severity in self.severities if severity.value == value), None)

    def severity_text(self, value: Decimal | None) -> str:
        """Return a level with its unit or its label, digits as given; what an order without a level asks for."""
        if value is None:
            return self.open_severity
        known = self.severity(value)
        return known.label if known is not None and known.label else with_unit(value, self.severity_unit)

    @property
    def severity_unit(self) -> str:
        """The unit of the levels; empty for classes."""
        return self.severities[0].unit

    @property
    def conditioning(self) -> ConditioningNeed:
        """The first way of conditioning."""
        return self.conditionings[0]

    def conditioning_called(self, key: str) -> ConditioningNeed:
        """Return the way of conditioning called `key`; the first for "" and for a name the edition does not have."""
        return next((need for need in self.conditionings if need.key == key), self.conditionings[0])

    @property
    def further_points(self) -> bool:
        """Whether one specimen may be tested at several places."""
        return bool(self.point_field)

    @property
    def specimens_needed(self) -> int:
        """Specimens the edition asks for when nothing else is ordered."""
        return int(self.number("specimens_needed"))

    def revised(self, *changed: Parameter) -> "MethodEdition":
        """Return the edition with some parameters changed, as a laboratory's own revision; KeyError if unknown."""
        return replace(self, parameters=replaced(self.parameters, *changed))

    def remembered[**P, R](self, rule: Callable[Concatenate["MethodEdition", P], R]) -> Callable[P, R]:
        """Return a pure `rule` of this edition that keeps its latest answers, for what is asked trial after trial.

        Arguments are hashable. Numbers that are equal are not the same text (7.0 and 7.00): where digits matter, the
        text is an argument too.
        """
        if rule not in self._memory:
            self._memory[rule] = lru_cache(maxsize=MOST_REMEMBERED)(partial(rule, self))
        return cast("Callable[P, R]", self._memory[rule])

    @cached_property
    def _memory(self) -> dict[Callable[..., Any], Callable[..., Any]]:
        return {}

    @cached_property
    def fields_by_key(self) -> Mapping[str, SetupField]:
        """The set-up fields by key."""
        return {field.key: field for field in self.setup_fields}

    @cached_property
    def kinds_by_key(self) -> Mapping[str, ObservationKind]:
        """The kinds of observation by key."""
        return {kind.key: kind for kind in self.observation_kinds}

    @cached_property
    def _parameters_by_key(self) -> Mapping[str, Parameter]:
        return {parameter.key: parameter for parameter in self.parameters}

    @cached_property
    def _numbers_by_key(self) -> Mapping[str, Value]:
        return {parameter.key: _number(parameter) for parameter in self.parameters}

    @cached_property
    def parameter_texts(self) -> tuple[tuple[str, str], ...]:
        """Every parameter's limit or value in words, by key in order of the keys, for the record of a verdict."""
        return tuple(sorted((parameter.key, parameter.limit_text) for parameter in self.parameters))


def _number(parameter: Parameter) -> Value:
    """A parameter's value, else its only bound."""
    low, high = parameter.bounds
    return parameter.value if parameter.value is not None else (high if low is None else low)


def line_rule(edition: MethodEdition) -> LineRule:
    """Return the line rule that an edition's parameters state."""
    return LineRule(
        specimens_needed=edition.specimens_needed,
        further=int(edition.number("further_specimens")),
        further_rule=cast("FurtherRule", edition.parameter("further_rule").value),
        several_ordered=cast("SeveralRule", edition.parameter("several_ordered").value),
        extra_holds=not edition.has_parameter("failing_extra")
        or edition.parameter("failing_extra").value == "holds the line",
    )
