"""The words and the drawn levels of a line for a class of bars: what was missed, what is reached, set by set."""

from collections.abc import Sequence
from decimal import Decimal

from trials.domain.criteria import capitalised
from trials.domain.flame_book import Findings, Line
from trials.domain.flame_sets import FIRST, SECOND, Bar, ClassLimits, SetFinding, SetState
from trials.domain.line_result import LevelResult


def set_words(line: Line, found: Findings) -> list[str]:
    """What the deciding set of each conditioning came to, as parts of a sentence."""
    return [f"{line.set_name(plan, one.set_name)}: {one.deciding.why}" for plan, one in found.plans.items()]


def lower_classes(line: Line, limits: ClassLimits) -> list[ClassLimits]:
    """The other classes that can still be reached where one is missed, best first."""
    ladder = list(line.family.ladder)
    below = ladder[ladder.index(limits) + 1 :] if limits in ladder else ladder
    return [*below, *(one for one in line.family.beside if one != limits)]


def missed_reasons(line: Line, missed: Sequence[Findings]) -> list[str]:
    """A sentence for each class that was searched and missed."""
    reasons = []
    for found in missed:
        plan, finding = found.failing
        reasons.append(f"Not {found.limits.label}: {line.set_name(plan, finding.set_name)}: {finding.deciding.why}.")
    return reasons


def reached_words(line: Line, limits: ClassLimits, plan: str) -> list[str]:
    """The best lower class that is reached already, by all bars or by those of one conditioning; none, no words."""
    for lower in lower_classes(line, limits):
        found = line.findings(lower)
        if found.state == "passed":
            return [f"{lower.label} is reached already."]
        if found.plans[plan].state == "passed":
            return [f"{lower.label} is reached already by the {line.set_name(plan, FIRST)}."]
    return []


def plan_class_reasons(line: Line) -> list[str]:
    """The class that each conditioning reaches by itself, where there are several; the worse one counts."""
    if len(line.family.plans) == 1:
        return []
    words = [f"{word} {_plan_class(line, key)}" for key, word in line.family.plans]
    return [f"By conditioning: {', '.join(words)}; the worse one is the material's."]


def _plan_class(line: Line, plan: str) -> str:
    better = ""
    for limits in line.family.ladder:
        state = line.findings(limits).plans[plan].state
        if state == "passed":
            return limits.label + better
        if state == "open":
            better = " or better"
    return f"no {line.family.name} class"


def line_flags(line: Line, found: Findings | None) -> list[str]:
    """For a lead: bars that shrank, totals with a time missing, a bad bar beside a total inside the window."""
    flags = []
    if found is not None:
        flags += [
            f"{capitalised(line.set_name(plan, FIRST))}: a bad bar, and a total inside the window for a second set."
            for plan, finding in found.plans.items()
            if finding.first.doubly
        ]
    for plan, own in line.bars.items():
        size = line.family.rule.size
        for which, bars in ((FIRST, own[:size]), (SECOND, line.second_bars.get(plan, ()))):
            flags += [
                f"Total of the {line.set_name(plan, which)} incomplete: specimen {bar.specimen}, {bar.incomplete}."
                for bar in bars
                if bar.incomplete
            ]
    if line.shrunk:
        names = ", ".join(line.shrunk)
        flags.append(f"Shrank away without igniting: {names}. If all bars do, {line.family.shrinks}.")
    return flags


def unbound_flags(line: Line, found: Findings) -> list[str]:
    """A flag for each bar of a second set, run for a higher class, that does not meet the class given."""
    label = found.limits.label
    return [
        f"Specimen {bar.specimen} of the {line.set_name(plan, SECOND)} does not meet {label}; that set was run for a "
        f"higher class and does not bind {label}, but a lead should look at it."
        for plan, bars in line.second_bars.items()
        if found.plans[plan].second is None
        for bar in bars
        if label not in bar.meets
    ]


def levels_of(line: Line, found: Findings) -> tuple[LevelResult, ...]:
    """The sets as levels to be drawn, each as it stands for one class."""
    severity = None if line.ordered is None else line.ordered.severity
    levels = []
    for plan, finding in found.plans.items():
        bars = line.bars[plan][: line.family.rule.size]
        levels.append(_level(severity, line.set_name(plan, FIRST), finding.first, bars, found.limits))
        seconds = line.second_bars.get(plan, ())
        if finding.second is not None:
            levels.append(_level(severity, line.set_name(plan, SECOND), finding.second, seconds, found.limits))
        elif seconds:
            states: SetState = "passed" if all(found.limits.label in bar.meets for bar in seconds) else "failed"
            names = tuple(bar.specimen for bar in seconds)
            note = f"run for a higher class; does not bind {found.limits.label}"
            levels.append(LevelResult(severity, line.set_name(plan, SECOND), states, names, note))
    return tuple(levels)


def _level(
    severity: Decimal | None, text: str, finding: SetFinding, bars: Sequence[Bar], limits: ClassLimits
) -> LevelResult:
    decides = "; a second set decides" if finding.second else ""
    note = f"{limits.label}: {finding.why}{decides}"
    return LevelResult(severity, text, finding.state, tuple(bar.specimen for bar in bars), note)
