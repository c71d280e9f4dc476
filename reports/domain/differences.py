"""What an amendment changes: two contents compared member by member, each difference in words."""

from dataclasses import dataclass, fields, is_dataclass, replace
from datetime import date, datetime
from typing import Any

from labsite.ledger.wording import capitalised
from reports.domain.content import SCHEMA, CertificateContent, LineContent
from reports.domain.content_items import ItemContent, number_text
from reports.domain.content_trials import TrialContent

_RESULTS_SINCE = 2
"""The schema since which a content says results, levels and the figures of the method."""
NEVER_COMPARED = frozenset({"schema", "issued_at", "amendment", "signed", "at", "signed_at", "events"})
"""They differ in every amendment, or are told by another member: a corrected event is a correction."""

_NAMED_BY = ("number", "code", "sha256", "row", "key", "position", "in_at", "from_at", "specimen")
_HIDDEN = frozenset({"row", "key", "sha256", "decides", "enforced", "table", "search", "severity_title"})
_WORDS = {
    "lines": "line",
    "trials": "specimen",
    "items": "item",
    "deviations": "deviation",
    "photos": "photo",
    "quantities": "figure",
    "criteria": "criterion",
    "setup": "set-up",
    "instruments": "instrument",
    "corrections": "correction",
    "stretches": "time that does not count",
    "flags": "remark",
    "purchase_order": "purchase-order number",
    "client_name": "the client’s own name for it",
    "confirmation": "confirmation of the edition",
    "agreement": "agreed",
    "external": "external results",
    "reasons": "why",
    "share": "part in the result",
    "result": "result as written",
    "levels": "level",
    "agreed": "agreed in place of the standard",
    "figures": "figures of the laboratory",
    "departure": "why another level",
    "again": "why another place",
    "point": "place",
    "parameter_revision": "revision of the figures",
    "way": "way of conditioning",
    "earlier": "stage before",
}


@dataclass(frozen=True)
class Difference:
    """One difference: where, what it was, what it is; an empty side says that there was nothing."""

    where: str
    was: str
    now: str

    @property
    def sentence(self) -> str:
        """The difference for screen and paper."""
        if not self.was:
            return f"{self.where}: “{self.now}” is added."
        if not self.now:
            return f"{self.where}: “{self.was}” is taken out."
        return f"{self.where}: “{self.now}” was “{self.was}”."


def differences(old: CertificateContent, new: CertificateContent) -> tuple[Difference, ...]:
    """Return what differs, in the order of the content; moments of issue, numbers and signatures are left out.

    What a content of an older schema could not say is no difference.
    """
    found: list[Difference] = []
    old = old if old.schema >= SCHEMA else _brought_up(old, new)
    _compare(replace(old, number=""), replace(new, number=""), "", found)
    return tuple(found)


def _brought_up(old: CertificateContent, new: CertificateContent) -> CertificateContent:
    """An older content with what its schema could not say taken from the new one: that is no difference."""
    later = {line.position: line for line in new.lines}
    lines = tuple(_uncertainty_up(line, later.get(line.position)) for line in old.lines)
    if old.schema < _RESULTS_SINCE:
        lines = tuple(_line_up(line, later.get(line.position)) for line in lines)
    return replace(old, lines=lines)


def _uncertainty_up(line: LineContent, later: LineContent | None) -> LineContent:
    """The line with the uncertainties of its figures, which are printed since the third schema."""
    said = {(t.specimen.number, q.key): q for t in later.trials for q in t.quantities} if later is not None else {}
    return replace(
        line,
        trials=tuple(
            replace(
                trial,
                quantities=tuple(
                    replace(one, uncertain=own.uncertain, coverage=own.coverage)
                    if (own := said.get((trial.specimen.number, one.key))) is not None and own.text == one.text
                    else one
                    for one in trial.quantities
                ),
            )
            for trial in line.trials
        ),
    )


def _line_up(line: LineContent, later: LineContent | None) -> LineContent:
    if later is None:
        return line
    trials = {trial.specimen.number: trial for trial in later.trials}
    return replace(
        line,
        result=later.result,
        levels=later.levels,
        search=later.search,
        severity_title=later.severity_title,
        figures=later.figures,
        trials=tuple(_trial_up(trial, trials.get(trial.specimen.number)) for trial in line.trials),
    )


def _trial_up(trial: TrialContent, later: TrialContent | None) -> TrialContent:
    if later is None:
        return trial
    return replace(trial, severity=later.severity, parameter_revision=later.parameter_revision)


def results_changed(old: CertificateContent, new: CertificateContent) -> bool:
    """Say whether any verdict, figure or criterion of the two differs."""
    before = old if old.schema >= SCHEMA else _brought_up(old, new)
    return _results(before) != _results(new)


def _results(content: CertificateContent) -> object:
    return [
        (line.position, line.state, line.sentence, line.result, [_figures(t) for t in line.trials])
        for line in content.lines
    ]


def _figures(trial: TrialContent) -> object:
    figures = [(one.key, one.text, one.unit) for one in trial.quantities]
    return trial.specimen.number, trial.share, trial.outcome, figures, trial.criteria, trial.setup


def _compare(old: Any, new: Any, where: str, found: list[Difference]) -> None:
    if old == new:
        return
    if isinstance(old, tuple) and isinstance(new, tuple):
        _compare_lists(old, new, where, found)
    elif is_dataclass(old) and type(old) is type(new):
        for field in fields(old):
            if field.name not in NEVER_COMPARED and field.name not in _HIDDEN:
                before, after = getattr(old, field.name), getattr(new, field.name)
                _compare(before, after, _joined(where, _word(field.name)), found)
    else:
        found.append(Difference(where, _text(old), _text(new)))


def _compare_lists(old: tuple[Any, ...], new: tuple[Any, ...], where: str, found: list[Difference]) -> None:
    if not any(map(is_dataclass, (*old, *new))):
        gone = [one for one in old if one not in new]
        added = [one for one in new if one not in old]
        for index in range(max(len(gone), len(added))):
            was = _text(gone[index]) if index < len(gone) else ""
            now = _text(added[index]) if index < len(added) else ""
            found.append(Difference(where, was, now))
        return
    before, after = _by_name(old), _by_name(new)
    for name in dict.fromkeys((*before, *after)):
        place = f"{where} {name}".strip() if where else name
        if name in before and name in after:
            _compare(before[name], after[name], place, found)
        elif name in before:
            found.append(Difference(place, _summary(before[name]), ""))
        else:
            found.append(Difference(place, "", _summary(after[name])))


def _by_name(rows: tuple[Any, ...]) -> dict[str, Any]:
    """Rows by the name people know them by; equal names get a running number."""
    named: dict[str, Any] = {}
    for row in rows:
        name = _name(row)
        while name in named:
            name += "′"
        named[name] = row
    return named


def _name(row: Any) -> str:
    if isinstance(row, TrialContent):
        return number_text(row.specimen.number)
    if isinstance(row, LineContent):
        return str(row.position)
    title = getattr(row, "title", "")
    if title:
        return str(title)
    if isinstance(row, ItemContent):
        return number_text(row.number)
    member = next((name for name in _NAMED_BY if hasattr(row, name)), None)
    return "" if member is None else _text(getattr(row, member))


def _word(name: str) -> str:
    return "" if name == "text" else _WORDS.get(name, name.replace("_", " "))


def _joined(where: str, word: str) -> str:
    return f"{where}, {word}" if where and word else where or capitalised(word)


def _summary(row: Any) -> str:
    """A whole row in a few words: its sentence, found value or texts."""
    shown = [_text(getattr(row, field.name)) for field in fields(row) if field.name not in _HIDDEN]
    return ", ".join(text for text in shown if text)[:200]


def _text(value: Any) -> str:
    if value is None or value == ():
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, datetime):
        return f"{value.day} {value:%B %Y, %H:%M:%S}"
    if isinstance(value, date):
        return f"{value.day} {value:%B %Y}"
    if is_dataclass(value):
        return _summary(value)
    if isinstance(value, tuple):
        return "; ".join(_text(one) for one in value)
    return ", ".join(line.strip() for line in str(value).splitlines() if line.strip())
