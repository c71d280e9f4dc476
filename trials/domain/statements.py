"""The statements a test method is made of: figures, questions, observations, instruments, levels and steps."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from decimal import Decimal
from functools import cached_property
from typing import TYPE_CHECKING, Literal

from trials.domain.criteria import Certainty, Value, digits, with_unit

if TYPE_CHECKING:
    from trials.domain.index_search import SearchRule
    from trials.domain.methods.base import MethodEdition

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
    `offered_from`: where else a value comes from that is worth offering, for the technician to take over.
    `of_apparatus`: its limit is verified before a rig goes into service; None = where the value stays with the rig.
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
    offered_from: Literal["", "item thickness", "foil check", "flame check"] = ""
    of_apparatus: bool | None = None

    @property
    def verified_with_rig(self) -> bool:
        """Whether its limit belongs to the apparatus and not to a specimen, a lot of tissue or a solution."""
        return self.stays_with_rig if self.of_apparatus is None else self.of_apparatus


@dataclass(frozen=True)
class ObservationKind:
    """One kind of observation row: `title` is the event as its bench key names it.

    `timed` kinds need a moment on the bench clock; `ends` names the kind that a row of this kind ends;
    `when` says whether it is used while the trial runs, afterwards, or both; `repeats` whether several may stand.
    `decimals` is the key of the parameter with the most decimal places that its number may have. `instrument_role` is
    what its number is read on, where the correction of that instrument is to be applied.
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
    decimals: str = ""
    when: Literal["running", "after", "both"] = "running"
    digit: str = ""
    instrument_role: str = ""
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
    """One way of conditioning before the trial: atmosphere, and the keys of the parameters for hours and window.

    An edition with several, for instance bars from the room and bars from the oven, names each by `key` and `title`.
    `earlier_atmosphere` and `earlier_hours` state a stage that comes before, for instance the oven before the
    desiccator.
    """

    atmosphere: str
    hours: str
    use_within_hours: str
    enforced: bool
    use_within_enforced: bool
    key: str = ""
    title: str = ""
    earlier_atmosphere: str = ""
    earlier_hours: str = ""


@dataclass(frozen=True)
class Severity:
    """A level that can be ordered; levels a product standard must ask for are offered as such.

    `label` names a level that is no figure, such as a class.
    """

    value: Decimal
    unit: str
    offered_as: Literal["standard", "by product standard"] = "standard"
    label: str = ""

    @property
    def text(self) -> str:
        """Level and unit, for instance "850 °C", or the label."""
        return self.label or with_unit(self.value, self.unit)


@dataclass(frozen=True)
class DecidedLimit:
    """A figure that a decision rule judges, by keys of parameters: its limit, and the laboratory's own uncertainty.

    `quantity` is the figure's own key among the quantities, whose uncertainty budget stands in where no uncertainty is
    stated; empty where there is none.
    """

    parameter: str
    uncertainty: str
    quantity: str = ""


@dataclass(frozen=True)
class QuantityKind:
    """One figure that the method's verdicts carry; `table` makes it a column of the certificate's table of results."""

    key: str
    title: str
    symbol: str
    unit: str
    table: bool = False


@dataclass(frozen=True)
class Step:
    """One act of the technician while a trial runs, offered by the main key in the order of the steps.

    `kind` is the observation it records and `order` the act in words ("Withdraw"). It is due `due_s` (a parameter's
    key, or "severity" where the level itself is that time) after the row of kind `after`, else when it is seen.
    `once_out`: only while nothing burns or glows. `out_within_s` (a parameter's key) is how long after it flames and
    glow may last. `at_once_after` (a kind) makes it due at once when that is seen; after one of `left_out_after` it is
    not done any more. The first step is the start, with key "contact", from which all seconds count; a step other
    than the last that is due a time after another one ends what that one began.
    """

    kind: str
    order: str
    after: str = "contact"
    due_s: str = ""
    once_out: bool = False
    out_within_s: str = ""
    at_once_after: str = ""
    left_out_after: tuple[str, ...] = ()


@dataclass(frozen=True)
class Beat:
    """What comes by itself at regular times from the start and is only counted; `every_s` is a parameter's key.

    `title` names one of it ("Drop"); the first comes at the start. `asked` is the set-up field with how many are to
    come, `last` the kind of the step that records the last of them; both empty where it goes on without an end.
    """

    title: str
    every_s: str
    asked: str = ""
    last: str = ""


@dataclass(frozen=True)
class SteadyNeed:
    """A temperature that is read, and held steady at the level, before the start.

    `title` names what is read ("Tip"). The edition then has the parameters `steady_window_s`, `steady_spread_k` and
    `reading_gap_s`; `tolerance_key` gives, for a level in °C, the key of the parameter with its tolerance in K.
    """

    title: str
    tolerance_key: Callable[["MethodEdition", Decimal], str]


@dataclass(frozen=True)
class IndexSearch:
    """How an edition's search for an index is planned for the fewest specimens.

    `rule` gives its grid and steps; `highest_passed` turns an index, as a data sheet states it, into the level that
    must have been the highest one passed.
    """

    rule: Callable[["MethodEdition"], "SearchRule"]
    highest_passed: Callable[[Decimal], Decimal]


def replaced(parameters: Iterable[Parameter], *changed: Parameter) -> tuple[Parameter, ...]:
    """Return parameters with some replaced by key, for an edition that differs from another; KeyError if unknown."""
    new = {parameter.key: parameter for parameter in changed}
    old = tuple(parameters)
    unknown = set(new) - {parameter.key for parameter in old}
    if unknown:
        raise KeyError(", ".join(sorted(unknown)))
    return tuple(new.get(parameter.key, parameter) for parameter in old)
