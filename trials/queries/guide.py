"""The product-standard guide as its page and the counter show it: rows, methods, figures in words, evidence."""

import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from labsite.ledger.fields import typed_decimal
from labsite.ledger.models import Role, User
from labsite.ledger.refusals import Refused
from specimens.domain.offers import GuideOffer
from trials.domain.material_evidence import (
    EvidenceAnswer,
    EvidenceError,
    MaterialEvidence,
    evidence_answer,
    evidence_from_text,
)
from trials.domain.methods.base import MethodEdition
from trials.domain.methods.registry import EDITIONS
from trials.domain.parameter_changes import (
    ParameterChangeError,
    changed_edition,
    changes_from_json,
    changes_to_json,
    true_changes,
)
from trials.domain.product_guide import GuideRow, found_rows, rows_for_standard
from trials.domain.product_guide_rows import ROWS, guide_row
from trials.queries.methods import edition_by_key
from trials.queries.sheets import figure_changes


@dataclass(frozen=True, slots=True)
class ShownRow:
    """One row of the guide with the newest edition of its method; None while the program does not judge it.

    `figures` are the figures it changes, in words, small parts aside; `answer` says what the evidence typed means for
    it, if any.
    """

    row: GuideRow
    edition: MethodEdition | None
    level: str
    figures: tuple[str, ...]
    answer: EvidenceAnswer | None

    @property
    def method(self) -> str:
        """The method in words."""
        return self.row.method.replace("-", " ") if self.edition is None else self.edition.short_title


@dataclass(frozen=True, slots=True)
class GuidePage:
    """What is found for what was typed; `fault` says what of the evidence cannot be read."""

    words: str
    part_mm: str
    evidence: str
    rows: tuple[ShownRow, ...]
    total: int
    fault: str


def guide_page(words: str, part_mm: str, evidence: str) -> GuidePage:
    """The rows in which all the words occur, each set against the evidence typed for a part of a thickness."""
    fault = ""
    found: tuple[MaterialEvidence, ...] = ()
    thickness: Decimal | None = None
    try:
        found = evidence_from_text(evidence)
        thickness = _thickness(part_mm) if part_mm or found else None
    except (EvidenceError, Refused) as wrong:
        fault = str(wrong)
    rows = found_rows(ROWS, words)
    return GuidePage(words, part_mm, evidence, _shown(rows, found, thickness), len(ROWS), fault)


def may_take_orders(person: object) -> bool:
    """Whether the person's roles include taking an order."""
    return isinstance(person, User) and person.may(Role.COUNTER, Role.LEAD, Role.TECHNICIAN)


def offered_rows(product_standard: str) -> tuple[ShownRow, ...]:
    """The rows of the product standards that are named in what was typed."""
    return _shown(rows_for_standard(ROWS, product_standard), (), None)


def guide_offer(key: str) -> GuideOffer:
    """What a row fills into an order line; refused when there is no such row or its method is not judged here."""
    row = guide_row(key)
    edition = None if row is None else _newest(row.method)
    if row is None or edition is None:
        raise Refused("The guide has no such row.")
    clause = f", {row.clause}" if row.clause else ""
    return GuideOffer(
        method_key=edition.key,
        severity=_severity(edition, row.severity),
        product_standard=f"{row.standard}{clause}",
        agreed=_true(edition, row.agreed),
    )


def agreed_words(method_key: str, plain: Mapping[str, Any]) -> list[str]:
    """Agreed figures in words, each with what it stands in place of; refused when the edition cannot take them."""
    edition = edition_by_key(method_key)
    try:
        if not all(isinstance(own, dict) for own in plain.values()):
            raise ParameterChangeError(f"{json.dumps(plain)[:80]} are no figures.")
        after = changed_edition(edition, true_changes(edition, changes_from_json(edition, plain)))
    except ParameterChangeError as wrong:
        raise Refused(f"The figures agreed do not fit {edition.short_standard}. {wrong}") from wrong
    return [f"{one.title}: {one.after} (edition: {one.before})" for one in figure_changes(edition, after)]


def _shown(
    rows: Iterable[GuideRow], found: tuple[MaterialEvidence, ...], part_mm: Decimal | None
) -> tuple[ShownRow, ...]:
    return tuple(
        ShownRow(
            row=row,
            edition=edition,
            level=_level(edition, row.severity),
            figures=() if edition is None else tuple(agreed_words(edition.key, row.changes)),
            answer=None if part_mm is None or not row.instead else evidence_answer(row.instead, found, part_mm),
        )
        for row in rows
        for edition in [_newest(row.method)]
    )


def _newest(slug: str) -> MethodEdition | None:
    return max((one for one in EDITIONS.values() if one.slug == slug), key=lambda one: one.edition, default=None)


def _severity(edition: MethodEdition, text: str) -> Decimal | None:
    if not text:
        return None
    named = [one.value for one in edition.severities if one.label == text]
    return named[0] if named else Decimal(text)


def _level(edition: MethodEdition | None, text: str) -> str:
    if not text:
        return "as stated"
    labels = () if edition is None else tuple(one.label for one in edition.severities)
    return text if edition is None or text in labels else edition.severity_text(Decimal(text))


def _true(edition: MethodEdition, agreed: Mapping[str, Mapping[str, Any]]) -> dict[str, dict[str, Any]]:
    return changes_to_json(true_changes(edition, changes_from_json(edition, agreed)))


def _thickness(text: str) -> Decimal:
    if not text:
        raise Refused("Thickness of the part: write it in mm; evidence holds for a thickness only.")
    try:
        found = typed_decimal(text)
    except ValueError as wrong:
        raise Refused(f"Thickness of the part: {wrong}") from None
    if found <= 0:
        raise Refused("Thickness of the part: write it in mm, above zero.")
    return found
