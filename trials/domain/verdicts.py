"""Verdicts: how criteria become an outcome and a sentence, and their canonical form as bytes."""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from functools import lru_cache
from hashlib import sha256
from typing import Any, Literal, cast

import orjson

from labsite.ledger.wording import mid_sentence
from trials.domain.criteria import Criterion, capitalised, digits

type Outcome = Literal["pass", "fail", "invalid", "not judged"]

OUTCOMES: tuple[Outcome, ...] = ("pass", "fail", "invalid", "not judged")
WORDS = {"pass": "Passed", "fail": "Failed", "invalid": "Invalid", "not judged": "Not judged"}


@dataclass(frozen=True)
class Quantity:
    """One figure of a trial for tables and certificates; `value` is None where there is none, `text` says why."""

    key: str
    title: str
    symbol: str
    unit: str
    value: Decimal | None
    text: str


@dataclass(frozen=True)
class Verdict:
    """What the rule says about one specimen.

    `criteria` judge the specimen, `setup_criteria` the trial itself; `parameters` are the (key, limit text) pairs of
    the edition that were used, `reasons` one sentence for each criterion that decides.
    """

    method_key: str
    rule_version: int
    severity: str
    outcome: Outcome
    sentence: str
    reasons: tuple[str, ...]
    criteria: tuple[Criterion, ...]
    setup_criteria: tuple[Criterion, ...]
    quantities: tuple[Quantity, ...]
    warnings: tuple[str, ...]
    parameters: tuple[tuple[str, str], ...]

    def quantity(self, key: str) -> Quantity:
        """Return the quantity called `key`; KeyError if the method has none of that name."""
        for quantity in self.quantities:
            if quantity.key == key:
                return quantity
        raise KeyError(key)

    @property
    def conditional(self) -> bool:
        """Whether a guard band makes the pass, or all there is of the fail, conditional."""
        return _conditional(self.outcome, self.criteria)

    @property
    def word(self) -> str:
        """The outcome as the first word of a sentence: "Passed", "Conditionally passed"."""
        return _word(self.outcome, self.criteria)


def _conditional(outcome: Outcome, criteria: Iterable[Criterion]) -> bool:
    if outcome == "pass":
        return any(c.statement == "conditional pass" and c.enforced for c in criteria)
    return outcome == "fail" and {c.statement for c in criteria if c.decides} == {"conditional fail"}


def _word(outcome: Outcome, criteria: Iterable[Criterion]) -> str:
    return f"Conditionally {mid_sentence(WORDS[outcome])}" if _conditional(outcome, criteria) else WORDS[outcome]


def outcome_of(setup_criteria: Iterable[Criterion], criteria: Iterable[Criterion]) -> Outcome:
    """Return the outcome: validity comes before the verdict, and what is unknown never fails.

    A broken set-up criterion makes the trial invalid, an unknown one leaves it unjudged; only then does a broken
    criterion fail it, an unknown one leave it unjudged, and all holding pass it. Unenforced criteria never decide.
    """
    valid = [c.holds for c in setup_criteria if c.enforced]
    right = [c.holds for c in criteria if c.enforced]
    if False in valid:
        return "invalid"
    if None in valid:
        return "not judged"
    if False in right:
        return "fail"
    return "not judged" if None in right else "pass"


def verdict_from(
    *,
    method_key: str,
    rule_version: int,
    severity: str,
    setup_criteria: Sequence[Criterion],
    criteria: Sequence[Criterion],
    passed_because: Callable[[], str],
    quantities: Sequence[Quantity],
    warnings: Sequence[str],
    parameters: tuple[tuple[str, str], ...],
) -> Verdict:
    """Return the verdict that follows from the criteria, the answer as its first words.

    Criteria that decide an outcome other than a pass are marked `decides`; unenforced criteria that do not hold
    become warnings. `parameters` come in the order of their keys.
    `passed_because`, asked only for a pass, gives the end of its sentence without a full stop.
    """
    outcome = outcome_of(setup_criteria, criteria)
    setup, result, deciding = tuple(setup_criteria), tuple(criteria), []
    soft = [f"{capitalised(c.reason)}." for c in (*setup, *result) if c.holds is False and not c.enforced]
    if outcome != "pass":
        setup_stands = all(c.holds for c in setup if c.enforced)
        setup = tuple(_marked(c, outcome, outcome in ("invalid", "not judged")) for c in setup)
        result_decides = outcome == "fail" or (outcome == "not judged" and setup_stands)
        result = tuple(_marked(c, outcome, result_decides) for c in result)
        deciding = [c.reason for c in (*setup, *result) if c.decides]
    because = passed_because() if outcome == "pass" else _first_and_count(deciding)
    return Verdict(
        method_key=method_key,
        rule_version=rule_version,
        severity=severity,
        outcome=outcome,
        sentence=f"{_word(outcome, result)} at {severity}: {because}.",
        reasons=tuple(f"{capitalised(reason)}." for reason in deciding),
        criteria=result,
        setup_criteria=setup,
        quantities=tuple(quantities),
        warnings=(*soft, *warnings),
        parameters=parameters,
    )


def _marked(criterion: Criterion, outcome: Outcome, may_decide: bool) -> Criterion:
    broken = None if outcome == "not judged" else False
    decides = may_decide and criterion.enforced and criterion.holds is broken
    return replace(criterion, decides=True) if decides else criterion


def _first_and_count(reasons: Sequence[str]) -> str:
    more = len(reasons) - 1
    return reasons[0] + (f" (and {more} more {'reason' if more == 1 else 'reasons'})" if more else "")


def to_json(verdict: Verdict) -> dict[str, Any]:
    """Return the verdict as plain JSON values; numbers are texts that keep their digits."""
    return {**_members(verdict), "parameters": dict(verdict.parameters)}


def _members(verdict: Verdict) -> dict[str, Any]:
    """The members as plain JSON values, the figures of the edition aside."""
    return {
        **vars(verdict),
        "reasons": list(verdict.reasons),
        "criteria": [_criterion_json(criterion) for criterion in verdict.criteria],
        "setup_criteria": [_criterion_json(criterion) for criterion in verdict.setup_criteria],
        "quantities": [{**vars(q), "value": None if q.value is None else digits(q.value)} for q in verdict.quantities],
        "warnings": list(verdict.warnings),
    }


def _criterion_json(criterion: Criterion) -> dict[str, Any]:
    """A criterion's members; statement and risk only where a decision rule was applied."""
    plain = vars(criterion).copy()
    if not criterion.statement:
        del plain["statement"], plain["risk"]
    return plain


def from_json(plain: Mapping[str, Any]) -> Verdict:
    """Return the verdict that `to_json` wrote; KeyError or TypeError if a member is missing or unknown."""
    members = dict(plain)
    if members["outcome"] not in OUTCOMES:
        raise ValueError(f"There is no outcome called {members['outcome']!r}.")
    quantities = [{**q, "value": None if q["value"] is None else Decimal(q["value"])} for q in members["quantities"]]
    members |= {
        "outcome": cast("Outcome", members["outcome"]),
        "reasons": tuple(members["reasons"]),
        "criteria": tuple(Criterion(**c) for c in members["criteria"]),
        "setup_criteria": tuple(Criterion(**c) for c in members["setup_criteria"]),
        "quantities": tuple(Quantity(**q) for q in quantities),
        "warnings": tuple(members["warnings"]),
        "parameters": tuple(sorted(members["parameters"].items())),
    }
    return Verdict(**members)


def verdict_bytes(verdict: Verdict) -> bytes:
    """Return the one canonical form of a verdict: UTF-8 JSON, sorted names, no spaces."""
    members = _members(verdict)
    members["parameters"] = _parameters_fragment(verdict.parameters)
    return orjson.dumps(members, option=orjson.OPT_SORT_KEYS)


@lru_cache(maxsize=256)
def _parameters_fragment(parameters: tuple[tuple[str, str], ...]) -> orjson.Fragment:
    """The figures of an edition as JSON, the same for every verdict under them."""
    return orjson.Fragment(orjson.dumps(dict(parameters), option=orjson.OPT_SORT_KEYS))


def verdict_fingerprint(verdict: Verdict) -> str:
    """Return the SHA-256 of a verdict's canonical form in hexadecimal: the name of exactly this verdict."""
    return sha256(verdict_bytes(verdict)).hexdigest()


def verdict_from_bytes(data: bytes) -> Verdict:
    """Return the verdict that `verdict_bytes` wrote."""
    return from_json(orjson.loads(data))
