"""The result of an order line from the verdicts of its specimens: doubt, further specimens, holds."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, fields, is_dataclass, replace
from decimal import Decimal
from typing import Any, Literal

from trials.domain.criteria import digits
from trials.domain.verdicts import Verdict

type LineState = Literal["not started", "more specimens needed", "passed", "failed", "determined", "hold"]
"""How a line stands; an index or a class that is searched for ends "determined", whatever it came to."""
type FurtherRule = Literal["in doubt", "after a fail", "none"]
type SeveralRule = Literal["all must pass", "first decides"]


@dataclass(frozen=True)
class LineTrial:
    """One judged trial of the line; `sequence` is the order in which the trials were begun.

    `severity` is the level it was run at and `plan` the way of conditioning, where the edition knows several;
    `further_point` says that it was made at another place of a specimen already tested.
    """

    specimen: str
    verdict: Verdict
    sequence: int
    severity: Decimal | None = None
    plan: str = ""
    further_point: bool = False


@dataclass(frozen=True)
class Asked:
    """What an order line asks for: a level (None = what the edition's open order says) and a number of specimens.

    `start` is the level agreed to begin a search at, None where the planner chooses.
    """

    severity: Decimal | None
    specimens: int = 1
    start: Decimal | None = None


@dataclass(frozen=True)
class NextStep:
    """What is to be tested next: so many specimens at a level, conditioned as `plan` says, and why.

    `setup` are set-up values the rule calls for with it, by field key, as texts.
    """

    severity: Decimal | None
    specimens: int
    reason: str
    plan: str = ""
    setup: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True)
class LevelResult:
    """How one level of a search, or one set of specimens, stands; `text` names it, `specimens` were tested at it."""

    severity: Decimal | None
    text: str
    state: Literal["passed", "failed", "open"]
    specimens: tuple[str, ...]
    note: str = ""


@dataclass(frozen=True)
class Doubt:
    """A technician's doubt about one specimen, with its reason, and whether it came before the verdict."""

    specimen: str
    reason: str
    before_verdict: bool


@dataclass(frozen=True)
class LineRule:
    """How many specimens the edition asks for and when it asks for more; whether one beyond that fails holds a line."""

    specimens_needed: int
    further: int
    further_rule: FurtherRule
    several_ordered: SeveralRule
    extra_holds: bool = True


@dataclass(frozen=True)
class LineResult:
    """The state of a line, the answer as a sentence first.

    `needed` counts the specimens still to be tested; `counted`, `further`, `extra` and `set_aside` name specimens:
    those the rule called for first, those it called for in doubt, those beyond, and trials that never count.
    `result` is the result as the trade writes it ("GWFI: 850/3.0"), `levels` what was found level by level, `next`
    what is tested next; None when nothing is.
    """

    state: LineState
    sentence: str
    reasons: tuple[str, ...] = ()
    needed: int = 0
    counted: tuple[str, ...] = ()
    further: tuple[str, ...] = ()
    extra: tuple[str, ...] = ()
    set_aside: tuple[str, ...] = ()
    flags: tuple[str, ...] = ()
    result: str = ""
    levels: tuple[LevelResult, ...] = ()
    next: NextStep | None = None


def line_to_json(result: LineResult) -> dict[str, Any]:
    """Return a line result as plain JSON values; numbers of a level are texts that keep their digits."""
    return {one.name: _plain(getattr(result, one.name)) for one in fields(result)}


def _plain(value: object) -> Any:
    if isinstance(value, Decimal):
        return digits(value)
    if isinstance(value, tuple):
        return [_plain(one) for one in value]
    if is_dataclass(value):
        return {one.name: _plain(getattr(value, one.name)) for one in fields(value)}
    return value


def refusal_of_doubt(doubt: Doubt, verdict: Verdict | None) -> str | None:
    """Return why a doubt cannot stand: no reason, after the verdict, over a plain fail; None when it can."""
    if not doubt.reason.strip():
        return f"The doubt about specimen {doubt.specimen} gives no reason."
    if not doubt.before_verdict:
        return f"The doubt about specimen {doubt.specimen} was recorded after its verdict."
    if verdict is not None and verdict.outcome == "fail":
        return f"Specimen {doubt.specimen} plainly fails ({_because(verdict)}); a doubt cannot cover that."
    return None


def line_result(
    rule: LineRule, severity: str, trials: Iterable[LineTrial], doubts: Sequence[Doubt] = (), ordered: int = 1
) -> LineResult:
    """Return the result of one order line; `severity` is a text such as "850 °C", `ordered` a specimen count >= 1.

    Invalid and unjudged trials never count and ask for another specimen. The first valid trials fill the ordered
    number, the next ones the further specimens that a doubt (or, by the other rule, a fail) calls for; any beyond
    change nothing, but one that fails holds the line for a lead's review. A specimen tested at several places passes
    when all its valid places pass. Independent of the order of `trials`. Raises ValueError when `ordered` is below 1.
    """
    if ordered < 1:
        raise ValueError(f"At least one specimen is ordered, not {ordered}.")
    asked = max(ordered, rule.specimens_needed) if rule.several_ordered == "all must pass" else rule.specimens_needed
    run = sorted(trials, key=lambda t: (t.sequence, t.specimen))
    if not run:
        return LineResult("not started", f"Not started: {_count(asked)} to be tested at {severity}.", needed=asked)
    valid, repeated, places = _valid_specimens(run)
    first, rest = valid[:asked], valid[asked:]
    honoured, flags = _sorted_doubts(rule, doubts, run, {t.specimen for t in first})
    failing_first = [t for t in first if t.verdict.outcome == "fail"]
    wanted = rule.further * len(failing_first if rule.further_rule == "after a fail" else honoured)
    further, extra = rest[:wanted], [*rest[wanted:], *repeated]
    doubted_again = [t for t in further if _doubt_about(t, doubts)]
    shares = _Shares(run, first, further, extra, flags, places)
    failing = [t for t in further if t.verdict.outcome == "fail"]
    if rule.further_rule != "after a fail" or not rule.further:
        failing = [*failing_first, *failing]
    if failing:
        why = [f"Specimen {t.specimen} failed: {_because(t.verdict)}." for t in failing]
        word = failing[0].verdict.word if all(t.verdict.conditional for t in failing) else "Failed"
        return shares.result("failed", f"{word} at {severity}: {_head(failing)}.", why)
    if doubted_again:
        flags.append(f"Doubt again about specimen {doubted_again[0].specimen}: a lead should look at it.")
        name = doubted_again[0].specimen
        return shares.result("failed", f"Failed at {severity}: the further specimen {name} is in doubt again.", [])
    missing = asked - len(first) + wanted - len(further)
    if missing:
        head, why = _missing(missing, asked, first, honoured, failing_first)
        return shares.result("more specimens needed", head, why, missing)
    bad_extra = [t for t in extra if t.verdict.outcome == "fail"]
    if bad_extra and rule.extra_holds:
        why = [f"Specimen {t.specimen} failed: {_because(t.verdict)}." for t in bad_extra]
        name = bad_extra[0].specimen
        head = f"On hold at {severity}: specimen {name}, beyond those asked for, failed; a lead decides."
        return shares.result("hold", head, why)
    passing = [t.verdict for t in (*first, *further) if t.verdict.outcome == "pass"]
    word = next((verdict.word for verdict in passing if verdict.conditional), "Passed")
    return shares.result("passed", f"{word} at {severity}: {_passed(first, further)}.", [])


@dataclass(frozen=True)
class _Shares:
    """Which trial plays which part, for the answer."""

    run: Sequence[LineTrial]
    first: Sequence[LineTrial]
    further: Sequence[LineTrial]
    extra: Sequence[LineTrial]
    flags: list[str]
    places: Sequence[str]

    def result(self, state: LineState, sentence: str, reasons: Sequence[str], needed: int = 0) -> LineResult:
        aside = [t for t in self.run if t.verdict.outcome in ("invalid", "not judged")]
        never = [f"Specimen {t.specimen} does not count: {t.verdict.sentence}" for t in aside]
        return LineResult(
            state=state,
            sentence=sentence,
            reasons=(*reasons, *self.places, *never),
            needed=needed,
            counted=tuple(t.specimen for t in self.first),
            further=tuple(t.specimen for t in self.further),
            extra=tuple(t.specimen for t in self.extra),
            set_aside=tuple(t.specimen for t in aside),
            flags=tuple(self.flags),
        )


def _valid_specimens(run: Sequence[LineTrial]) -> tuple[list[LineTrial], list[LineTrial], list[str]]:
    """Return one trial for each specimen, repeated trials of a specimen, and a sentence for each with several places.

    Of several places of a specimen the first one that failed stands for it, else the first; a trial that is neither
    the first valid one nor at a further place is a repeated one.
    """
    places: dict[str, list[LineTrial]] = {}
    repeated: list[LineTrial] = []
    for trial in run:
        if trial.verdict.outcome in ("pass", "fail"):
            own = places.setdefault(trial.specimen, [])
            (own if trial.further_point or all(t.further_point for t in own) else repeated).append(trial)
    valid = []
    for own in places.values():
        deciding = next((t for t in own if t.verdict.outcome == "fail"), own[0])
        valid.append(replace(deciding, sequence=own[0].sequence))
    counts = {name: (len(own), sum(t.verdict.outcome == "fail" for t in own)) for name, own in places.items()}
    words = [
        f"Specimen {name} was tested at {count} places, {f'{failed} of them failed' if failed else 'all passed'}."
        for name, (count, failed) in counts.items()
        if count > 1
    ]
    return valid, repeated, words


def _sorted_doubts(
    rule: LineRule, doubts: Sequence[Doubt], run: Sequence[LineTrial], first: set[str]
) -> tuple[list[Doubt], list[str]]:
    """Return the doubts that call for further specimens, and a flag for each that does not count."""
    honoured: list[Doubt] = []
    flags: list[str] = []
    for doubt in sorted(doubts, key=lambda d: (d.specimen, d.reason, d.before_verdict)):
        about = [t for t in run if t.specimen == doubt.specimen]
        if not about:
            flags.append(f"The doubt about specimen {doubt.specimen} does not count: it has no trial in this line.")
            continue
        refusals = [refusal for t in about if (refusal := refusal_of_doubt(doubt, t.verdict))]
        if refusals:
            flags.append(f"The doubt does not count. {refusals[0]}")
        elif rule.further_rule != "in doubt":
            flags.append(f"The doubt about specimen {doubt.specimen} calls for nothing under this laboratory's rule.")
        elif doubt.specimen in first and all(doubt.specimen != h.specimen for h in honoured):
            honoured.append(doubt)
    return honoured, flags


def _doubt_about(trial: LineTrial, doubts: Sequence[Doubt]) -> bool:
    return any(d.specimen == trial.specimen and refusal_of_doubt(d, trial.verdict) is None for d in doubts)


def _because(verdict: Verdict) -> str:
    """The sentence of a verdict without its first words and full stop."""
    return verdict.sentence.partition(": ")[2].rstrip(".")


def _head(failing: Sequence[LineTrial]) -> str:
    if len(failing) == 1:
        return f"specimen {failing[0].specimen}, {_because(failing[0].verdict)}"
    return f"{len(failing)} specimens failed ({', '.join(t.specimen for t in failing)})"


def _count(number: int) -> str:
    return f"{number} specimen" if number == 1 else f"{number} specimens"


def _missing(
    missing: int, asked: int, first: Sequence[LineTrial], honoured: Sequence[Doubt], failing: Sequence[LineTrial]
) -> tuple[str, list[str]]:
    head = f"{missing} more {'specimen' if missing == 1 else 'specimens'} to be tested."
    why = [f"Specimen {d.specimen} is in doubt: {d.reason.strip().rstrip('.')}." for d in honoured]
    why += [f"Specimen {t.specimen} failed: {_because(t.verdict)}; further specimens decide." for t in failing]
    if len(first) < asked:
        why.insert(0, f"{len(first)} of {_count(asked)} tested with a verdict.")
    return head, why


def _passed(first: Sequence[LineTrial], further: Sequence[LineTrial]) -> str:
    if further:
        return f"{_count(len(further))} tested further, all passed"
    if len(first) == 1:
        return f"specimen {first[0].specimen}, {_because(first[0].verdict)}"
    return f"all {len(first)} specimens passed"
