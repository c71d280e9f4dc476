"""The bars of an order line, by conditioning and set, and how they stand for each class."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from trials.domain.criteria import digits
from trials.domain.flame_classes import Family, bar_of
from trials.domain.flame_sets import Bar, ClassLimits, PlanFinding, SetState, plan_finding
from trials.domain.line_result import Doubt, LineTrial
from trials.domain.methods.base import MethodEdition

VALID = ("pass", "fail")
SHRANK = "shrank"
"""Key of the criterion on the trial itself that a bar breaks which shrank away without igniting."""


@dataclass(frozen=True)
class Findings:
    """How the bars of every conditioning stand for one class, by the key of the conditioning, in the family's order."""

    limits: ClassLimits
    plans: Mapping[str, PlanFinding]

    @property
    def state(self) -> SetState:
        """The worse of the conditionings: one that fails fails the class, and all must pass."""
        states = {finding.state for finding in self.plans.values()}
        return "failed" if "failed" in states else ("open" if "open" in states else "passed")

    @property
    def asked(self) -> tuple[str, PlanFinding]:
        """The conditioning to test next: first sets before second ones, so that no second set is burnt in vain."""
        waiting = [(key, finding) for key, finding in self.plans.items() if finding.state == "open"]
        return min(waiting, key=lambda one: one[1].second is not None)

    @property
    def failing(self) -> tuple[str, PlanFinding]:
        """The first conditioning that fails the class."""
        return next((key, finding) for key, finding in self.plans.items() if finding.state == "failed")


@dataclass(frozen=True)
class Line:
    """The trials of a line in order, and their valid bars by conditioning, in the order tested.

    `ordered` is the class ordered, None where the best one is searched; `repeated` are further valid trials of bars
    already tested.
    """

    edition: MethodEdition
    family: Family
    ordered: ClassLimits | None
    run: Sequence[LineTrial]
    bars: Mapping[str, tuple[Bar, ...]]
    repeated: tuple[Bar, ...]
    flags: tuple[str, ...]

    @property
    def classes(self) -> tuple[ClassLimits, ...]:
        """The classes that can call for a second set: the one ordered, or all that are searched, best first."""
        return self.family.ladder if self.ordered is None else (self.ordered,)

    def findings(self, limits: ClassLimits) -> Findings:
        """How the line stands for one class."""
        rule = self.family.rule
        return Findings(limits, {key: plan_finding(rule, limits, self.bars[key]) for key, _ in self.family.plans})

    def second_called(self, plan: str) -> bool:
        """Whether a second set was called for in one conditioning."""
        return any(self.findings(limits).plans[plan].second is not None for limits in self.classes)

    @property
    def second_bars(self) -> dict[str, tuple[Bar, ...]]:
        """The bars of the second set of each conditioning that one was called for in."""
        size = self.family.rule.size
        return {key: own[size : 2 * size] for key, own in self.bars.items() if self.second_called(key)}

    @property
    def extra_bars(self) -> tuple[Bar, ...]:
        """The bars beyond the sets that were called for, and further trials of bars already tested."""
        size, seconds = self.family.rule.size, self.second_bars
        beyond = [bar for key, own in self.bars.items() for bar in own[size * (2 if key in seconds else 1) :]]
        return (*beyond, *self.repeated)

    @property
    def shrunk(self) -> tuple[str, ...]:
        """The bars that shrank away from the flame without igniting."""
        return tuple(
            trial.specimen
            for trial in self.run
            if any(one.key == SHRANK and one.holds is False for one in trial.verdict.setup_criteria)
        )

    @property
    def nominal_mm(self) -> tuple[Decimal, ...]:
        """The nominal thicknesses of the valid bars, in the order tested, each once."""
        known = (t.verdict.quantity("nominal").value for t in self.run if t.verdict.outcome in VALID)
        return tuple(dict.fromkeys(one for one in known if one is not None))

    def written(self, label: str) -> str:
        """A class as the trade writes it, with the thickness: "V-0 at 1.5 mm"."""
        return f"{label} at {digits(self.nominal_mm[0])} mm" if self.nominal_mm else label

    def set_name(self, plan: str, which: str) -> str:
        """The name of a set inside a sentence: "first set, room"."""
        word = dict(self.family.plans)[plan]
        return f"{which}, {word}" if word else which


def line_of(
    edition: MethodEdition,
    family: Family,
    ordered: ClassLimits | None,
    trials: Iterable[LineTrial],
    doubts: Sequence[Doubt],
) -> Line:
    """Return the trials of a line sorted into bars; what does not count is flagged, never dropped in silence."""
    run = sorted(trials, key=lambda t: (t.sequence, t.specimen))
    bars: dict[str, list[Bar]] = {key: [] for key, _ in family.plans}
    repeated: list[Bar] = []
    seen: set[str] = set()
    flags: list[str] = []
    for trial in run:
        if trial.verdict.outcome not in VALID:
            continue
        if trial.plan not in bars:
            flags.append(f"Specimen {trial.specimen} does not count: how it was conditioned is not recorded.")
        elif trial.specimen in seen:
            repeated.append(bar_of(family, trial))
            flags.append(f"Specimen {trial.specimen} was tested more than once; its first valid trial counts.")
        else:
            seen.add(trial.specimen)
            bars[trial.plan].append(bar_of(family, trial))
    flags += [
        f"The doubt about specimen {d.specimen} calls for nothing: second sets have their own rule." for d in doubts
    ]
    own = {key: tuple(of_plan) for key, of_plan in bars.items()}
    return Line(edition, family, ordered, run, own, tuple(repeated), tuple(flags))
