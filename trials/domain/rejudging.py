"""Judging a stored record again, and what differs from before, in words."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, fields
from typing import Any

from trials.domain.criteria import Criterion, mid_sentence
from trials.domain.methods.base import MethodEdition
from trials.domain.methods.registry import EDITIONS
from trials.domain.record_json import BESIDES, record_from_json
from trials.domain.verdicts import Quantity, Verdict, verdict_bytes

NOTHING = "nothing"
_HOLDS = {True: "met", False: "not met", None: "not known"}
_YES = {True: "yes", False: "no"}
_MEMBERS = tuple(field.name for field in fields(Criterion) if field.name not in ("key", "title"))


@dataclass(frozen=True)
class Difference:
    """One thing that differs: what it is, and its words before and after ("nothing" where it was not there)."""

    what: str
    before: str
    after: str

    @property
    def words(self) -> str:
        """The difference as one line."""
        return f"{self.what}: {self.before} → {self.after}"


def judged_again(edition: MethodEdition, record: Mapping[str, Any]) -> Verdict:
    """Return what the edition says of a stored record; RecordError where it cannot be read or judged."""
    return edition.judge(record_from_json(edition, record))


def verdict_differences(before: Verdict, after: Verdict) -> tuple[Difference, ...]:
    """Return all that differs between two verdicts: the answer first, then criterion by criterion, figures, rest.

    Empty exactly when both have the same canonical bytes.
    """
    found = tuple(
        Difference(what, old, new)
        for what, old, new in (
            ("Outcome", before.outcome, after.outcome),
            ("Sentence", before.sentence, after.sentence),
            *_listed("Reasons", before.reasons, after.reasons),
            *_criteria((*before.setup_criteria, *before.criteria), (*after.setup_criteria, *after.criteria)),
            *_quantities(before.quantities, after.quantities),
            *_listed("To be said", before.warnings, after.warnings),
            *_named("Figure of the edition, ", _figures(before), _figures(after)),
            ("Method edition", before.method_key, after.method_key),
            ("Level", before.severity, after.severity),
            ("Rule version", str(before.rule_version), str(after.rule_version)),
        )
        if old != new
    )
    if not found and verdict_bytes(before) != verdict_bytes(after):
        return (Difference("Form of the verdict", "as it was stored", "as it is written now"),)
    return found


def record_differences(before: Mapping[str, Any], after: Mapping[str, Any]) -> tuple[Difference, ...]:
    """Return all that differs between two records as plain JSON values, place by place."""
    old, new = dict(_places("", before)), dict(_places("", after))
    return tuple(
        Difference(place, old.get(place, NOTHING), new.get(place, NOTHING))
        for place in dict.fromkeys((*old, *new))
        if old.get(place, NOTHING) != new.get(place, NOTHING)
    )


type _Change = tuple[str, str, str]


def _criteria(before: Sequence[Criterion], after: Sequence[Criterion]) -> Iterator[_Change]:
    old, new = {one.key: one for one in before}, {one.key: one for one in after}
    for key in dict.fromkeys((*old, *new)):
        one, other = old.get(key), new.get(key)
        if one is None or other is None:
            title = (one or other or before[0]).title
            yield title, _whole(one), _whole(other)
        else:
            yield f"{one.title}, title", one.title, other.title
            for name in _MEMBERS:
                yield f"{one.title}, {name}", _word(name, one), _word(name, other)
    if list(old) != list(new) and set(old) == set(new):
        yield "Order of the criteria", ", ".join(old), ", ".join(new)


def _whole(criterion: Criterion | None) -> str:
    return NOTHING if criterion is None else f"{criterion.found}, {_HOLDS[criterion.holds]}"


def _word(name: str, criterion: Criterion) -> str:
    value = getattr(criterion, name)
    if name == "holds":
        return _HOLDS[criterion.holds]
    return _YES[value] if isinstance(value, bool) else str(value) or NOTHING


def _quantities(before: Sequence[Quantity], after: Sequence[Quantity]) -> Iterator[_Change]:
    old = {one.title: f"{one.text} {one.unit}".strip() for one in before}
    new = {one.title: f"{one.text} {one.unit}".strip() for one in after}
    yield from _named("", old, new)


def _listed(what: str, before: Sequence[str], after: Sequence[str]) -> Iterator[_Change]:
    yield what, " ".join(before) or NOTHING, " ".join(after) or NOTHING


def _named(what: str, before: Mapping[str, str], after: Mapping[str, str]) -> Iterator[_Change]:
    for key in dict.fromkeys((*before, *after)):
        yield f"{what}{key}", before.get(key, NOTHING), after.get(key, NOTHING)


def _figures(verdict: Verdict) -> dict[str, str]:
    """The figures a verdict was reached by, each called as its edition calls it; by its key where nothing is known."""
    edition = EDITIONS.get(verdict.method_key)
    named = {one.key: mid_sentence(one.title) for one in edition.parameters} if edition else {}
    return {named.get(key, key): limit for key, limit in verdict.parameters}


def _places(place: str, value: Any) -> Iterator[tuple[str, str]]:
    """Every single value of nested JSON values with its place in words; what is unknown is left out."""
    if isinstance(value, Mapping):
        for key in [key for key in value if place or key not in BESIDES]:
            yield from _places(f"{place}, {key}" if place else str(key), value[key])
    elif isinstance(value, list | tuple):
        for number, one in enumerate(value, start=1):
            yield from _places(f"{place} {number}", one)
    elif value not in (None, ""):
        yield place, str(value)
