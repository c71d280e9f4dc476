"""The result of a tracking order: proof at one voltage, or search for the index, written as the trade writes it."""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from trials.domain.criteria import capitalised, digits, with_unit
from trials.domain.line_result import Asked, Doubt, LineResult, LineState, LineTrial, NextStep, refusal_of_doubt
from trials.domain.methods.base import MethodEdition
from trials.domain.tracking_levels import Book, book_of, level_results, named, spoiled_by
from trials.domain.tracking_search import Ask, IndexPlan, IndexState, index_state, run_text
from trials.domain.tracking_words import (
    all_failures,
    arc_flags,
    failure_sentences,
    failure_words,
    group_words,
    hole_flags,
    written_suffix,
)

LOWER_FIRST = "100 drops first"
DOUBT_LOWER = "100 drops, 25 V lower"


@dataclass(frozen=True)
class _Line:
    """What every answer about a line carries."""

    edition: MethodEdition
    trials: Sequence[LineTrial]
    book: Book
    flags: list[str]

    def result(
        self, state: LineState, sentence: str, reasons: Sequence[str] = (), ask: Ask | None = None, result: str = ""
    ) -> LineResult:
        aside = [t for t in self.trials if t.verdict.outcome not in ("pass", "fail")]
        never = [f"Specimen {t.specimen} does not count: {t.verdict.sentence}" for t in aside]
        counted = (t.specimen for t in self.trials if t.verdict.outcome in ("pass", "fail"))
        step = None if ask is None else self._step(ask)
        return LineResult(
            state=state,
            sentence=sentence,
            reasons=(*((step.reason,) if step else ()), *reasons, *never),
            needed=0 if ask is None else ask.specimens,
            counted=tuple(dict.fromkeys(counted)),
            set_aside=tuple(t.specimen for t in aside),
            flags=(*arc_flags(self.trials), *hole_flags(self.trials), *self.flags),
            result=result,
            levels=level_results(self.book, self.edition.severity_unit),
            next=step,
        )

    def more(self, ask: Ask) -> LineResult:
        """The answer while something is to be tested."""
        run = run_text(ask.voltage_v, ask.drops)
        count = f"{ask.specimens} specimen" if ask.specimens == 1 else f"{ask.specimens} specimens"
        if not self.trials:
            return self.result("not started", f"Not started: {count} to be tested at {run}.", ask=ask)
        more = count.replace(" ", " more ", 1)
        return self.result("more specimens needed", f"{more} to be tested at {run}.", ask=ask)

    def _step(self, ask: Ask) -> NextStep:
        holes = [t.specimen for t in self.trials if spoiled_by(t, "hole")]
        thicker = f" Take thicker material, a stack: a hole formed through {named(holes)}." if holes else ""
        return NextStep(ask.voltage_v, ask.specimens, ask.reason + thicker, setup=(("drops_asked", str(ask.drops)),))


def judge_line(
    edition: MethodEdition, asked: Asked, trials: Sequence[LineTrial], doubts: Sequence[Doubt]
) -> LineResult:
    """Return the result of an order line: the proof at its voltage, or the index where it has none.

    Independent of the order of `trials`; every valid one counts at its level, so that one that fails is never
    passed over. ValueError when fewer than one specimen is ordered.
    """
    if asked.specimens < 1:
        raise ValueError(f"At least one specimen is ordered, not {asked.specimens}.")
    run = sorted(trials, key=lambda t: (t.sequence, t.specimen))
    offered = edition.parameter("solution").choices
    used = {t.verdict.quantity("solution").text for t in run if t.verdict.outcome in ("pass", "fail")}
    solutions = sorted(used.intersection(offered))
    if len(solutions) > 1:
        line = _Line(edition, run, book_of(edition, run), [])
        sentence = f"On hold: solutions {' and '.join(solutions)} are mixed in one line; a lead decides."
        return line.result("hold", sentence)
    if asked.severity is None:
        return _index(edition, asked, run, doubts)
    return _proof(edition, asked, asked.severity, run, doubts)


def _proof(
    edition: MethodEdition, asked: Asked, voltage_v: Decimal, run: Sequence[LineTrial], doubts: Sequence[Doubt]
) -> LineResult:
    needed, drops = max(asked.specimens, edition.specimens_needed), int(edition.number("proof_drops"))
    line = _Line(edition, run, book_of(edition, run, needed), [])
    level, state = line.book.level(voltage_v, drops), line.book.state(voltage_v, drops)
    text = with_unit(voltage_v, edition.severity_unit)
    written = f"PTI {digits(voltage_v)}{written_suffix(edition, run, voltage_v, level)}"
    if state == "failed":
        return line.result("failed", f"Failed at {text}: {failure_words(line.trials, level, voltage_v)}.",
                           failure_sentences(line.trials, level, voltage_v))  # fmt: skip
    if state == "barred":
        return line.result("hold", f"On hold at {text}: an air arc came again, so nothing can be told at this voltage; "
                                   "a lead decides.")  # fmt: skip
    if state == "open":
        if level.failed:
            why = f"One failed at {run_text(voltage_v, drops)}; as many new ones decide."
        elif level.survived:
            why = f"{len(level.survived)} of {needed} survived {drops} drops at {text}."
        else:
            why = f"The proof is {needed} specimens at {run_text(voltage_v, drops)}."
        if level.arcs:
            why += f" An air arc spoiled {named(level.arcs)}: clean, and repeat once at this voltage on a new site."
        return line.more(Ask(voltage_v, drops, level.missing(line.book.rule), why))
    in_doubt = _honoured(edition, voltage_v, run, doubts, line.flags)
    if in_doubt:
        return _proof_in_doubt(line, voltage_v, in_doubt, written)
    if level.failed:
        line.flags.append(f"{capitalised(named(level.failed))} failed; one in {2 * needed} counts as passed here.")
    sentence = f"Passed at {text}: {len(level.survived)} specimens survived {drops} drops. {written}."
    return line.result("passed", sentence, result=written)


def _proof_in_doubt(line: _Line, voltage_v: Decimal, in_doubt: Sequence[Doubt], written: str) -> LineResult:
    """The rule for doubt of IEC 60335-1 annex N: more drops at a lower voltage settle it, and the report says so."""
    edition, drops = line.edition, int(line.edition.number("lower_drops"))
    lower_v = voltage_v - edition.number("lower_by_v")
    book = book_of(edition, line.trials)
    level, state = book.level(lower_v, drops), book.state(lower_v, drops)
    text, run = with_unit(voltage_v, edition.severity_unit), run_text(lower_v, drops)
    why = [f"Specimen {d.specimen} is in doubt: {d.reason.strip().rstrip('.')}." for d in in_doubt]
    if edition.severity(lower_v) is None:
        sentence = (
            f"On hold at {text}: in doubt, and {with_unit(lower_v, edition.severity_unit)} is no voltage of the test"
        )
        return line.result("hold", f"{sentence}, so that nothing settles it; a lead decides.", why)
    if state == "failed":
        sentence = f"Failed at {text}: in doubt, and {failure_words(line.trials, level, lower_v)} at {run}."
        return line.result("failed", sentence, [*why, *failure_sentences(line.trials, level, lower_v)])
    if state == "barred":
        return line.result("hold", f"On hold at {text}: an air arc came again at {run}; a lead decides.", why)
    if state == "open":
        reason = f"In doubt at {text}, so {book.rule.needed} specimens at {run} settle it. {why[0]}"
        return line.more(Ask(lower_v, drops, level.missing(book.rule), reason))
    line.flags.append(f"To be reported: in doubt at {text}, settled by {run}.")
    sentence = f"Passed at {text}: in doubt, and {len(level.survived)} specimens survived {run}. {written}."
    return line.result("passed", sentence, why, result=written)


def _index(edition: MethodEdition, asked: Asked, run: Sequence[LineTrial], doubts: Sequence[Doubt]) -> LineResult:
    line = _Line(edition, run, book_of(edition, run), [])
    line.flags.extend(f"The doubt about specimen {d.specimen} calls for nothing in a search." for d in doubts)
    plan = index_plan(edition, asked, line.flags)
    state = index_state(plan, line.book)
    line.flags.extend(_turned_round(line.book, plan))
    if state.ask is not None:
        return line.more(state.ask)
    return _ended(line, plan, state)


def _ended(line: _Line, plan: IndexPlan, state: IndexState) -> LineResult:
    edition, unit = line.edition, line.edition.severity_unit
    untold_v = state.barred_v if state.barred_v is not None else state.lower_barred_v
    if untold_v is not None:
        line.flags.append(f"An air arc came again at {with_unit(untold_v, unit)}; to be reported.")
        bars = edition.parameter("air_arc_end").value == "not determinable" and state.barred_v is not None
        if bars or state.index_v is None or (state.bracket and state.lower_v is None):
            best = "nothing survived below it" if state.index_v is None else (
                f"{plan.proof_drops} drops survived at {with_unit(state.index_v, unit)}"
            )  # fmt: skip
            sentence = f"CTI not determinable: an air arc bars {with_unit(untold_v, unit)}; {best}."
            return line.result("determined", sentence, result="CTI not determinable")
    lowest = digits(plan.grid_v[0])
    if state.index_v is None:
        sentence = f"CTI below {lowest}: {plan.proof_drops} drops not survived at {lowest} {unit}."
        return line.result("determined", sentence, all_failures(line.trials), result=f"CTI <{lowest}")
    bracket = ""
    if state.bracket:
        bracket = f" (<{lowest})" if state.lower_v is None else f" ({digits(state.lower_v)})"
    level = line.book.level(state.index_v, plan.proof_drops)
    written = f"CTI {digits(state.index_v)}{bracket}{written_suffix(edition, line.trials, state.index_v, level)}"
    sentence = f"{written}: {_index_because(plan, state, unit)}{group_words(edition, line.trials, state.index_v)}."
    return line.result("determined", sentence, all_failures(line.trials), result=written)


def index_plan(edition: MethodEdition, asked: Asked, flags: list[str]) -> IndexPlan:
    """Return the figures of the search that an edition and an order state; a start off the grid is flagged."""
    grid_v = tuple(sorted(severity.value for severity in edition.severities))
    drops = int(edition.number("proof_drops")), int(edition.number("lower_drops"))
    screens = edition.parameter("screening_run").value is True and asked.start is None
    wanted_v = edition.number("start_v") if asked.start is None else asked.start
    start_v = max((v for v in grid_v if v <= wanted_v), default=grid_v[0])
    if start_v != wanted_v:
        flags.append(f"{with_unit(wanted_v, 'V')} is no step of the search; it starts at {with_unit(start_v, 'V')}.")
    reason = "Screening, as no start is agreed: the search starts at" if asked.start is None else (
        "The search starts at the voltage agreed,"
    )  # fmt: skip
    return IndexPlan(
        grid_v=grid_v,
        proof_drops=drops[0],
        lower_drops=drops[1],
        lower_by_v=edition.number("lower_by_v"),
        lower_first=edition.parameter("run_order").value == LOWER_FIRST,
        lowest_needs_lower_run=edition.parameter("lowest_needs_lower_run").value is True,
        probe=int(edition.number("screening_specimens")) if screens else edition.specimens_needed,
        start_v=start_v,
        start_reason=reason,
    )


def _index_because(plan: IndexPlan, state: IndexState, unit: str) -> str:
    short = f"{plan.proof_drops} drops survived at {with_unit(state.index_v or Decimal(0), unit)}"
    if state.bracket and state.lower_v is None:
        return f"{short}, {plan.lower_drops} drops nowhere"
    if state.lower_v is None:
        return f"{short}, where no longer run is needed"
    only = "only " if state.bracket else ""
    return f"{short} and {plan.lower_drops} drops {only}at {with_unit(state.lower_v, unit)}"


def _honoured(
    edition: MethodEdition, voltage_v: Decimal, run: Sequence[LineTrial], doubts: Sequence[Doubt], flags: list[str]
) -> list[Doubt]:
    """Return the doubts that call for the lower run, and flag each that does not count."""
    honoured = []
    for doubt in sorted(doubts, key=lambda d: (d.specimen, d.reason)):
        about = [t.verdict for t in run if t.specimen == doubt.specimen and t.severity == voltage_v]
        refusals = [refusal for verdict in about if (refusal := refusal_of_doubt(doubt, verdict))]
        if not about:
            flags.append(f"The doubt about specimen {doubt.specimen} does not count: no trial at this voltage.")
        elif refusals:
            flags.append(f"The doubt does not count. {refusals[0]}")
        elif edition.parameter("doubt_rule").value != DOUBT_LOWER:
            flags.append(f"The doubt about specimen {doubt.specimen} calls for nothing under the rule agreed.")
        else:
            honoured.append(doubt)
    return honoured


def _turned_round(book: Book, plan: IndexPlan) -> list[str]:
    """A flag for each level that was survived above one that failed."""
    flags = []
    for drops in (plan.proof_drops, plan.lower_drops):
        failed = [v for v in plan.grid_v if book.state(v, drops) == "failed"]
        over = [v for v in plan.grid_v if failed and v > failed[0] and book.state(v, drops) == "passed"]
        flags += [
            f"Survived at {run_text(v, drops)} although {with_unit(failed[0], 'V')} failed; what lies below the lowest "
            "failure counts." for v in over
        ]  # fmt: skip
    return flags
