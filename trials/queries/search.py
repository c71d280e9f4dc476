"""An order line as a search or a set of classes: its levels one by one, what is next and why, and its drawing."""

from dataclasses import dataclass
from decimal import Decimal

from trials.domain.fewest_words import fewest_plan, fewest_sentence
from trials.domain.index_search import LevelCount
from trials.domain.ladder import Ladder, ladder_of
from trials.domain.methods.base import MethodEdition
from trials.domain.opening import next_sentence
from trials.queries.results import LineStanding

WORDS = {"passed": "Passed", "failed": "Failed", "open": "Open"}
SHAPES = {"passed": "pass", "failed": "fail", "open": "open"}


@dataclass(frozen=True, slots=True)
class LevelRow:
    """One level or set in the table: what it is, how it stands, and the specimens tested at it."""

    text: str
    word: str
    shape: str
    specimens: tuple[str, ...]
    note: str


@dataclass(frozen=True, slots=True)
class Search:
    """The levels of a line; `ladder` None where they are not searched through.

    `following` says what is next and why, where the line's own sentence does not; `fewest` sets the plan with the
    fewest specimens beside it, where the search can be planned.
    """

    levels: tuple[LevelRow, ...]
    ladder: Ladder | None
    following: str
    result: str
    fewest: str


def search_of(standing: LineStanding) -> Search | None:
    """The search of a line; None where its edition knows no levels to go through. No query."""
    edition, result = standing.edition, standing.result
    if edition is None or not (result.levels or result.next):
        return None
    outcomes = {
        one.specimen_text: one.verdict.outcome if one.verdict is not None else "open" for one in standing.trials
    }
    words, shapes = (WORDS, SHAPES) if result.next else (WORDS | {"open": "Left open"}, SHAPES | {"open": "other"})
    rows = tuple(
        LevelRow(level.text, words[level.state], shapes[level.state], level.specimens, level.note)
        for level in result.levels
    )
    drawn = ladder_of(edition, standing.line.severity, result, outcomes)
    following = "" if result.sentence.startswith("Next:") else next_sentence(edition, result)  # not said twice
    return Search(rows, drawn, following, result.result, _fewest(edition, standing))


def _fewest(edition: MethodEdition, standing: LineStanding) -> str:
    """The plan with the fewest specimens in words; empty for a proof, after the end and where none can be made."""
    line, counts = standing.line, dict[Decimal, LevelCount]()
    if line.severity is not None or standing.result.next is None:
        return ""
    for one in standing.trials:
        if one.trial.severity is not None and one.verdict is not None and one.verdict.outcome in ("pass", "fail"):
            before, passed = counts.get(one.trial.severity, LevelCount()), one.verdict.outcome == "pass"
            counts[one.trial.severity] = LevelCount(before.passed + passed, before.failed + (not passed))
    plan = fewest_plan(edition, counts, line.believed_severity, line.believed_spread, line.start_severity)
    if plan is None:
        return ""
    return fewest_sentence(edition, standing.result, plan, line.believed_severity, line.believed_spread)


def next_words(standing: LineStanding) -> str:
    """What is tested next of a line and why, in words; empty where nothing is, or the rule knows no order."""
    return "" if standing.edition is None else next_sentence(standing.edition, standing.result)
