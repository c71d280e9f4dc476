"""The result of an order line for a class of bars: second sets, the worse conditioning, the best class reached."""

from collections.abc import Sequence

from trials.domain.class_words import (
    levels_of,
    line_flags,
    lower_classes,
    missed_reasons,
    plan_class_reasons,
    reached_words,
    set_words,
    unbound_flags,
)
from trials.domain.criteria import capitalised, digits
from trials.domain.flame_book import VALID, Findings, Line, line_of
from trials.domain.flame_classes import Family
from trials.domain.flame_sets import SECOND
from trials.domain.line_result import Asked, Doubt, LineResult, LineState, LineTrial, NextStep
from trials.domain.methods.base import MethodEdition


def judge_classes(
    edition: MethodEdition, family: Family, asked: Asked, trials: Sequence[LineTrial], doubts: Sequence[Doubt]
) -> LineResult:
    """Return the result of an order line: proof of the class ordered, or the best class its bars reach.

    The class of the material is the worse one of its conditionings. A second set for a higher class is asked for
    before a lower class is given, and does not bind the lower one. Independent of the order of `trials`; ValueError
    when fewer than one specimen is ordered.
    """
    if asked.specimens < 1:
        raise ValueError(f"At least one specimen is ordered, not {asked.specimens}.")
    ordered = None if asked.severity is None else family.called(asked.severity)
    line = line_of(edition, family, ordered, trials, doubts)
    if len(line.nominal_mm) > 1:
        texts = " and ".join(digits(one) for one in sorted(line.nominal_mm))
        why = f"bars of {texts} mm are mixed in one line, and a class belongs to one thickness"
        return _answer(line, None, "hold", f"On hold: {why}; a lead decides.")
    if len(line.shrunk) >= family.rule.size and not any(line.bars.values()):
        why = f"all {len(line.shrunk)} bars shrank away without igniting; {family.shrinks}"
        return _answer(line, None, "hold", f"On hold: {why}. A lead decides.")
    return _best(line) if ordered is None else _proof(line, line.findings(ordered))


def _proof(line: Line, found: Findings) -> LineResult:
    if found.state == "open":
        return _more(line, found, [])
    if found.state == "passed":
        return _given(line, found, [])
    plan, finding = found.failing
    label = found.limits.label
    others = [one.label for one in lower_classes(line, found.limits) if line.findings(one).state == "passed"]
    reasons = [f"Reached by the same bars: {', '.join(others)}."] if others else []
    word = _failed_word(line, finding.deciding.bad)
    why = f"{line.set_name(plan, finding.set_name)}: {finding.deciding.why}"
    return _answer(line, found, "failed", f"{word} at {label}: {why}.", reasons)


def _best(line: Line) -> LineResult:
    missed: list[Findings] = []
    for limits in line.family.ladder:
        found = line.findings(limits)
        if found.state == "open":
            return _more(line, found, missed)
        if found.state == "passed":
            return _given(line, found, missed)
        missed.append(found)
    last = missed[-1]
    plan, finding = last.failing
    written = line.written(f"no {line.family.name} class")
    why = f"{line.set_name(plan, finding.set_name)}: {finding.deciding.why}"
    return _answer(line, last, "determined", f"{capitalised(written)}: {why}.", missed_reasons(line, missed),
                   result=written)  # fmt: skip


def _more(line: Line, found: Findings, missed: Sequence[Findings]) -> LineResult:
    plan, finding = found.asked
    missing, name = finding.deciding.missing, line.set_name(plan, finding.set_name)
    if finding.second is None:
        reason = f"A set is {line.family.rule.size} bars; {finding.deciding.why}.{_waiting_words(line, found)}"
    else:
        reason = f"A second set decides on {found.limits.label}: {finding.first.why}."
    why = [reason, *reached_words(line, found.limits, plan)]
    step = NextStep(None if line.ordered is None else line.ordered.severity, missing, " ".join(why), plan)
    word = "specimen" if missing == 1 else "specimens"
    if not line.run:
        sought = "for the best class" if line.ordered is None else f"at {line.ordered.label}"
        sentence = f"Not started: {missing} {word} to be tested {sought}, {name}."
        return _answer(line, found, "not started", sentence, step=step)
    sought = f" for {found.limits.label}" if finding.second is not None else ""
    sentence = f"{missing} more {word} to be tested{sought}: {name}."
    return _answer(line, found, "more specimens needed", sentence, [*why, *missed_reasons(line, missed)], step)


def _waiting_words(line: Line, found: Findings) -> str:
    """That a second set waits until the first sets are known, so that none is burnt in vain."""
    waiting = [
        line.set_name(plan, SECOND)
        for plan, one in found.plans.items()
        if one.second is not None and one.state == "open"
    ]
    return f" The {waiting[0]}, for {found.limits.label}, waits until this one is known." if waiting else ""


def _given(line: Line, found: Findings, missed: Sequence[Findings]) -> LineResult:
    label = found.limits.label
    written = line.written(label)
    sets = set_words(line, found)
    bad = [bar for bar in line.extra_bars if label not in bar.meets]
    if bad and line.edition.parameter("failing_extra").value == "holds the line":
        why = f"specimen {bad[0].specimen}, beyond those asked for, does not meet it"
        sentence = f"On hold: {written} is reached, but {why}; a lead decides."
        return _answer(line, found, "hold", sentence, [f"{capitalised(one)}." for one in sets], result=written)
    reasons = [f"{capitalised(one)}." for one in sets] + missed_reasons(line, missed)
    flags = unbound_flags(line, found)
    if line.ordered is not None:
        sentence = f"{_passed_word(line)} at {label}: {written}."
        return _answer(line, found, "passed", sentence, reasons, result=written, flags=flags)
    also = [f"{one.label} is met too." for one in line.family.beside if line.findings(one).state == "passed"]
    reasons = [*plan_class_reasons(line), *reasons, *also]
    return _answer(line, found, "determined", f"{written}: {'; '.join(sets)}.", reasons, result=written, flags=flags)


def _passed_word(line: Line) -> str:
    """The first word of a pass: conditional as soon as one bar that counts passed conditionally."""
    extra = {bar.specimen for bar in line.extra_bars}
    words = [t.verdict.word for t in line.run if t.verdict.outcome == "pass" and t.specimen not in extra]
    return next((word for word in words if word != "Passed"), "Passed")


def _failed_word(line: Line, bad: Sequence[str]) -> str:
    """The first word of a failure: conditional where every bar that decides is."""
    verdicts = [t.verdict for t in line.run if t.specimen in bad and t.verdict.outcome == "fail"]
    return verdicts[0].word if verdicts and all(one.conditional for one in verdicts) else "Failed"


def _answer(
    line: Line,
    found: Findings | None,
    state: LineState,
    sentence: str,
    reasons: Sequence[str] = (),
    step: NextStep | None = None,
    result: str = "",
    flags: Sequence[str] = (),
) -> LineResult:
    aside = [t for t in line.run if t.verdict.outcome not in VALID]
    size = line.family.rule.size
    return LineResult(
        state=state,
        sentence=sentence,
        reasons=(*reasons, *(f"Specimen {t.specimen} does not count: {t.verdict.sentence}" for t in aside)),
        needed=0 if step is None else step.specimens,
        counted=tuple(bar.specimen for own in line.bars.values() for bar in own[:size]),
        further=tuple(bar.specimen for bars in line.second_bars.values() for bar in bars),
        extra=tuple(dict.fromkeys(bar.specimen for bar in line.extra_bars)),
        set_aside=tuple(t.specimen for t in aside),
        flags=(*flags, *line_flags(line, found), *line.flags),
        result=result,
        levels=() if found is None else levels_of(line, found),
        next=step,
    )
