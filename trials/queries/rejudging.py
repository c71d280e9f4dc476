"""Stored verdicts judged again, in a stream: which of them would change, and in what."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

import orjson
from django.db.models import Exists, OuterRef, Q, QuerySet, TextField
from django.db.models.functions import Cast

from labsite.ledger.queries import laboratory_zone
from labsite.ledger.refusals import Refused
from trials.domain.methods.base import MethodEdition
from trials.domain.methods.registry import EDITIONS
from trials.domain.record_json import record_to_json
from trials.domain.records import RecordError
from trials.domain.rejudging import Difference, judged_again, record_differences, verdict_differences
from trials.domain.stated_uncertainty import StatedUncertainty
from trials.domain.verdicts import Verdict, from_json, verdict_fingerprint
from trials.models import ParameterSheet, SignedVerdict, Trial
from trials.queries.budgets import budgets_in_force, stated
from trials.queries.methods import edition_of
from trials.queries.records import trial_record
from trials.queries.sheets import agreed_over

READ_AT_ONCE = 2000
"""Rows fetched from the database at a time."""
TOLD_AT_ONCE = 200
"""Changed verdicts that are looked up together for their words."""

_AGREED = ("trial__job__order_line__decision_rule", "trial__job__order_line__agreed_parameters")


@dataclass(frozen=True, slots=True)
class Asked:
    """Which stored verdicts are judged again, and by which figures.

    `revision` is a revision of the laboratory's figures for `method_key`, None for the one each trial was opened under;
    `newest` takes the newest there is. What was agreed for an order stays agreed either way.
    """

    since: date | None = None
    method_key: str = ""
    revision: int | None = None
    newest: bool = False

    @property
    def other_figures(self) -> bool:
        """Whether other figures than each trial's own are asked for."""
        return self.newest or self.revision is not None


@dataclass(frozen=True, slots=True)
class ChangedVerdict:
    """A stored verdict that would be another one now; `after` is None where it cannot be judged, `fault` says why."""

    stored: SignedVerdict
    after: Verdict | None
    fault: str
    differences: tuple[Difference, ...]


def verdicts_that_hold(asked: Asked) -> QuerySet[SignedVerdict]:
    """The stored verdicts asked for, of each trial the last one only."""
    later = SignedVerdict.objects.filter(trial=OuterRef("trial")).filter(
        Q(signed_at__gt=OuterRef("signed_at")) | Q(signed_at=OuterRef("signed_at"), pk__gt=OuterRef("pk"))
    )
    rows = SignedVerdict.objects.filter(~Exists(later))
    if asked.since is not None:
        start = datetime.combine(asked.since, datetime.min.time(), laboratory_zone())
        rows = rows.filter(signed_at__gte=start)
    return rows.filter(trial__method_key=asked.method_key) if asked.method_key else rows


def changed_verdicts(asked: Asked, progress: Callable[[int], None] | None = None) -> Iterator[ChangedVerdict]:
    """Judge the stored verdicts again from their stored records, oldest first, and yield each that would change.

    Reads in batches and keeps none of them. A verdict is compared by the fingerprint of its canonical bytes;
    `progress` is told after each batch how many are done. Refused for a revision that was never made.
    """
    editions = _editions(asked)
    waiting: list[tuple[int, Verdict | None, str]] = []
    done = 0
    for done, (pk, sha256, record, *figures) in enumerate(stored_records(asked), start=1):
        after, fault = _judged(editions, figures, record)
        if after is None or verdict_fingerprint(after) != sha256:
            waiting.append((pk, after, fault))
        if len(waiting) >= TOLD_AT_ONCE:
            yield from _told(waiting)
            waiting.clear()
        if progress is not None and done % READ_AT_ONCE == 0:
            progress(done)
    yield from _told(waiting)
    if progress is not None:
        progress(done)


def rebuilt_differences(asked: Asked) -> Iterator[tuple[SignedVerdict, tuple[Difference, ...]]]:
    """Build each trial's record again from the rows as recorded and yield those that are not what was signed."""
    rows = verdicts_that_hold(asked).select_related("trial__specimen", "signed_by").defer("verdict").order_by("pk")
    for stored in rows.iterator(chunk_size=TOLD_AT_ONCE):
        differences = rows_differences(stored.trial, stored.record)
        if differences:
            yield stored, differences


def rows_differences(trial: Trial, stored: dict[str, Any]) -> tuple[Difference, ...]:
    """What differs between the stored record of a trial and the one its rows give now."""
    try:
        return record_differences(stored, record_to_json(trial_record(trial)))
    except (RecordError, Refused) as wrong:
        return (Difference("Rows as recorded", "a record", f"cannot be read: {wrong}"),)


def stored_records(asked: Asked) -> Iterator[tuple[Any, ...]]:
    """Number, fingerprint, record text, method edition and figures, without building a model or reading a verdict."""
    figures = _AGREED if asked.other_figures else ("trial__parameter_changes",)
    names = [Cast(name, TextField()) if name != _AGREED[0] else name for name in figures]
    rows = verdicts_that_hold(asked).order_by("pk").annotate(record_text=Cast("record", TextField()))
    columns = rows.values_list("pk", "verdict_sha256", "record_text", "trial__method_key", *names)
    return columns.iterator(chunk_size=READ_AT_ONCE)


def _judged(editions: Callable[..., MethodEdition], figures: list[str], record: str) -> tuple[Verdict | None, str]:
    try:
        return judged_again(editions(*figures), orjson.loads(record)), ""
    except (RecordError, Refused) as wrong:
        return None, str(wrong)


def _editions(asked: Asked) -> Callable[..., MethodEdition]:
    """A function from what `stored_records` gives beside the record to the edition, each worked out once."""
    known: dict[tuple[str, ...], MethodEdition] = {}
    sheets, budgets = _sheets(asked), _budgets(asked)

    def edition(key: str, *figures: str) -> MethodEdition:
        found = known.get((key, *figures))
        if found is None:
            if asked.other_figures:
                rule, agreed = figures
                changes = agreed_over(key, sheets(key), rule, orjson.loads(agreed), budgets(key))
            else:
                changes = orjson.loads(figures[0])
            found = known[(key, *figures)] = edition_of(key, changes)
        return found

    return edition


def _sheets(asked: Asked) -> Callable[[str], dict[str, dict[str, Any]]]:
    """A function from an edition's key to the laboratory's figures asked for; one query."""
    rows = ParameterSheet.objects.filter(method_key=asked.method_key) if asked.method_key else ParameterSheet.objects
    known: dict[str, dict[str, Any]] = {}
    made = {0}
    for row in rows.order_by("revision"):
        made.add(row.revision)
        if asked.newest or row.revision == asked.revision:
            known[row.method_key] = row.changes
    if asked.revision is not None and asked.revision not in made:
        raise Refused(f"There is no revision {asked.revision} of the figures of {asked.method_key}.")
    return lambda key: known.get(key, {})


def _budgets(asked: Asked) -> Callable[[str], dict[str, StatedUncertainty]]:
    """A function from an edition's key to what the budgets in force now state; one query where they are asked for."""
    if not asked.other_figures:
        return lambda key: {}
    slugs = {key: edition.slug for key, edition in EDITIONS.items()}
    told = {slug: stated(rows) for slug, rows in budgets_in_force(set(slugs.values())).items()}
    return lambda key: told.get(slugs.get(key, ""), {})


def _told(waiting: list[tuple[int, Verdict | None, str]]) -> Iterator[ChangedVerdict]:
    """The changed ones with their rows; one query for all of them."""
    rows = SignedVerdict.objects.defer("record").select_related("trial__specimen", "signed_by")
    stored = rows.in_bulk([pk for pk, _, _ in waiting]) if waiting else {}
    for pk, after, fault in waiting:
        before = from_json(stored[pk].verdict)
        differences = () if after is None else verdict_differences(before, after)
        yield ChangedVerdict(stored[pk], after, fault, differences)
