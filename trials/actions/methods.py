"""Confirming an edition's figures against the laboratory's own copy of the standard, and changing them."""

from collections.abc import Mapping
from datetime import datetime

from django.db import IntegrityError, transaction

from labsite.ledger.actions import record_entry
from labsite.ledger.models import Role, User
from labsite.ledger.refusals import Refused
from trials.domain.decided_criteria import rule_refusal
from trials.domain.parameter_changes import (
    Change,
    ParameterChangeError,
    changed_edition,
    changes_to_json,
    true_changes,
)
from trials.models import EditionConfirmation, ParameterSheet
from trials.queries.methods import edition_by_key, parameters_sha256
from trials.queries.sheets import newest_edition, newest_sheets


@transaction.atomic
def confirm_edition(*, method_key: str, seen_sha256: str, note: str, by: User, at: datetime) -> EditionConfirmation:
    """Record that a lead compared exactly the figures shown (`seen_sha256`) with the laboratory's copy."""
    revision, edition = newest_edition(method_key)
    if not by.may(Role.LEAD):
        raise Refused("Only a lead confirms the figures of an edition.")
    present = parameters_sha256(edition)
    if seen_sha256 != present:
        raise Refused("The figures changed since this page was opened. They are shown anew below; compare them again.")
    row = EditionConfirmation.objects.create(
        method_key=method_key, parameters_sha256=present, confirmed_at=at, confirmed_by=by, note=note.strip()
    )
    data = {"after": {"figures": present, "revision": revision, "standard": edition.standard, "note": row.note}}
    record_entry(book=_book(method_key), act="confirmed the edition", by=by, at=at, data=data)
    return row


@transaction.atomic
def revise_sheet(
    *, by: User, at: datetime, method_key: str, revision_seen: int, changes: Mapping[str, Change], reason: str
) -> ParameterSheet:
    """Make the next revision of an edition's figures; trials opened before keep the one they were opened under.

    `changes` is everything that shall differ from the edition as delivered, so that a figure left out is the
    delivered one again. Refused, and nothing written, when somebody else revised meanwhile (`revision_seen` is not
    the newest), when nothing differs from the newest revision, and when the edition cannot take a change.
    """
    delivered = edition_by_key(method_key)
    if not by.may(Role.LEAD, Role.QUALITY):
        raise Refused("Only a lead or the quality keeper changes the figures of an edition.")
    if not reason.strip():
        raise Refused("A new revision needs its reason.", field="reason")
    newest = newest_sheets([method_key]).get(method_key)
    revision, before = (0, {}) if newest is None else (newest.revision, newest.changes)
    if revision != revision_seen:
        raise _revised_meanwhile(revision)
    try:
        changed_edition(delivered, changes)
        kept = true_changes(delivered, changes)
        edition = changed_edition(delivered, kept)
    except ParameterChangeError as wrong:
        raise Refused(str(wrong)) from wrong
    refusal = rule_refusal(edition)
    if refusal is not None:
        raise Refused(refusal)
    after = changes_to_json(kept)
    if after == before:
        raise Refused("Nothing is changed: all figures are those of the newest revision.")
    try:
        with transaction.atomic():
            sheet = ParameterSheet.objects.create(
                method_key=method_key,
                revision=revision + 1,
                changes=after,
                reason=reason.strip(),
                parameters_sha256=parameters_sha256(edition),
                made_at=at,
                made_by=by,
            )
    except IntegrityError as taken:  # two people at the same moment: the database lets one through
        raise _revised_meanwhile(revision + 1) from taken
    data = {
        "before": {"revision": revision, "changes": before},
        "after": {"revision": sheet.revision, "changes": after, "figures": sheet.parameters_sha256},
        "reason": sheet.reason,
    }
    record_entry(book=_book(method_key), act="revised the figures", by=by, at=at, data=data)
    return sheet


def _revised_meanwhile(revision: int) -> Refused:
    return Refused(
        f"Somebody made revision {revision} since this page was opened. Its figures stand below beside what you typed; "
        "look at both and press again."
    )


def _book(method_key: str) -> str:
    return f"method:{method_key}"
