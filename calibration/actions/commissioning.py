"""Opening, working off and releasing the list before a rig goes into service."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from typing import Any

from django.db import transaction

from calibration.actions.certificate_files import Upload, read_certificate
from calibration.domain.commissioning import COUNT_UNIT, finding_holds
from calibration.models import Commissioning, CommissioningFinding, CommissioningLine, Instrument, Rig
from calibration.queries.commissioning import RELEASERS, WORKERS, lines_for, list_line, sheet
from calibration.queries.usability import usabilities
from labsite.ledger.actions import keep_file, record_entry
from labsite.ledger.models import StoredFile, User
from labsite.ledger.refusals import Refused

Occasion = Commissioning.Occasion


@dataclass(frozen=True, slots=True)
class LineFinding:
    """What was found for one line. `seen` is the key of the finding that was shown, None where there was none."""

    line: int
    value: Decimal | None = None
    answer: bool | None = None
    note: str = ""
    measured_with: Instrument | None = None
    file: Upload | None = None
    seen: int | None = None


@transaction.atomic
def open_commissioning(
    *, by: User, at: datetime, rig: Rig, occasion: str, reason: str = "", own_reason: bool = True
) -> Commissioning:
    """Open the list of a rig: from now until its release it is not used. One list is open at a time.

    `own_reason` False where the act itself says why, as when a rig is registered.
    """
    rig = Rig.objects.select_for_update(of=("self",)).get(pk=rig.pk)
    reason = " ".join(reason.split())
    if own_reason and not reason:
        raise Refused("Say what was repaired, or from where to where it was moved.", field="reason")
    standing = Commissioning.objects.filter(rig=rig, released_at=None).first()
    if standing is not None:
        raise Refused(f"The list of {rig.code} is open already; work that one off, then release the rig.")
    made = Commissioning.objects.create(rig=rig, occasion=Occasion(occasion), reason=reason, opened_at=at, opened_by=by)
    lines = lines_for(rig, at, repaired=made.occasion == Occasion.REPAIRED)
    CommissioningLine.objects.bulk_create(
        CommissioningLine(
            commissioning=made,
            position=position,
            kind=one.kind,
            title=one.title,
            limit_text=one.limit_text,
            unit=one.unit,
            source=one.source,
            **_bounds(one.low, one.high),
        )
        for position, one in enumerate(lines, start=1)
    )
    data = {"occasion": str(made.occasion), "reason": reason, "lines": len(lines)}
    record_entry(book=rig.book, act="opened the list before use", by=by, at=at, data=data)
    return made


@transaction.atomic
def record_findings(
    *, by: User, at: datetime, commissioning: Commissioning, findings: Sequence[LineFinding]
) -> list[CommissioningFinding]:
    """Record what was found for some lines, all or none of them; each is judged by its own limit, unrounded.

    Refused, naming the line's field, where a value is missing, a gauge must not be used, or somebody else was faster.
    """
    if not by.may(*WORKERS):
        raise Refused("Technicians, leads and the quality keeper work this list off.")
    commissioning = _open_list(commissioning)
    rows = {row.pk: row for row in commissioning.lines.all()}
    last = dict(CommissioningFinding.objects.filter(line__in=rows).order_by("pk").values_list("line_id", "pk"))
    gauges = {one.measured_with.pk: one.measured_with for one in findings if one.measured_with is not None}
    usable = usabilities(gauges.values(), at)
    made = []
    for one in findings:
        row = rows.get(one.line)
        if row is None:
            raise Refused("This line is not on the list of this rig.")
        if last.get(row.pk) != one.seen:
            raise Refused(
                f"{row.title}: somebody else recorded a finding meanwhile. Look at it, then record yours again.",
                field=f"line-{row.pk}",
            )
        if one.measured_with is not None and not usable[one.measured_with.pk].usable:
            clause = usable[one.measured_with.pk].clause
            raise Refused(f"{row.title}: {one.measured_with.code} must not be used now: {clause}.",
                          field=f"gauge-{row.pk}")  # fmt: skip
        made.append(_finding(row, one, by=by, at=at))
    CommissioningFinding.objects.bulk_create(made)
    if made:
        data = {"list": commissioning.pk, "found": [_facts(rows[one.line_id], one) for one in made]}
        record_entry(book=commissioning.rig.book, act="recorded findings before use", by=by, at=at, data=data)
    return made


@transaction.atomic
def add_line(
    *,
    by: User,
    at: datetime,
    commissioning: Commissioning,
    kind: str,
    title: str,
    low: Decimal | None = None,
    high: Decimal | None = None,
    unit: str = "",
) -> CommissioningLine:
    """Add a line the list lacks. A part without a figure is counted as one; a limit needs its unit."""
    if not by.may(*WORKERS):
        raise Refused("Technicians, leads and the quality keeper add to this list.")
    commissioning = _open_list(commissioning)
    title, unit = " ".join(title.split()), unit.strip()
    if not title:
        raise Refused("Say what is to be looked at.", field="title")
    if kind == CommissioningLine.Kind.PART:
        low, high, unit = low or Decimal(1), None, COUNT_UNIT
    elif kind != CommissioningLine.Kind.REQUIREMENT and (low is not None or high is not None):
        raise Refused("Only a part and a requirement have a figure; locks and papers are answered yes or no.",
                      field="low")  # fmt: skip
    if low is not None and high is not None and low > high:
        raise Refused(f"The least, {low:f}, is more than the most, {high:f}.", field="low")
    if unit and kind == CommissioningLine.Kind.REQUIREMENT and low is None and high is None:
        raise Refused("A unit is there and no limit. Write the least, the most or both.", field="low")
    last = commissioning.lines.order_by("-position").first()
    row = CommissioningLine.objects.create(
        commissioning=commissioning,
        position=1 if last is None else last.position + 1,
        kind=CommissioningLine.Kind(kind),
        title=title,
        limit_text=_limit_text(kind, low, high, unit),
        unit=unit,
        source=f"added by {by}"[:200],
        added_at=at,
        **_bounds(low, high),
    )
    data = {"list": commissioning.pk, "line": row.title, "limit": row.limit_text}
    record_entry(book=commissioning.rig.book, act="added a line to the list before use", by=by, at=at, data=data)
    return row


@transaction.atomic
def release_rig(*, by: User, at: datetime, commissioning: Commissioning, note: str = "") -> Commissioning:
    """Put a rig into service; refused unless every line holds, or is a missing part or paper with its restriction."""
    if not by.may(*RELEASERS):
        raise Refused("The quality keeper or a lead puts a rig into service.")
    commissioning = _open_list(commissioning)
    found = sheet(commissioning, at)
    if found.obstacle:
        raise Refused(f"{commissioning.rig.code} is not released. {found.obstacle}")
    commissioning.released_at, commissioning.released_by = at, by
    commissioning.release_note = " ".join(note.split())
    commissioning.save(update_fields=["released_at", "released_by", "release_note"])
    data = {
        "list": commissioning.pk,
        "lines": len(found.lines),
        "restrictions": list(found.restrictions),
        "note": commissioning.release_note,
    }
    record_entry(book=commissioning.rig.book, act="put the rig into service", by=by, at=at, data=data)
    return commissioning


def _open_list(commissioning: Commissioning) -> Commissioning:
    """The list, locked against other writers; refused once the rig is released."""
    Commissioning.objects.select_for_update().get(pk=commissioning.pk)
    row = Commissioning.objects.select_related("rig", "released_by").get(pk=commissioning.pk)
    if row.released_at is not None:
        raise Refused(f"{row.rig.code} was released by {row.released_by}; this list is closed. Open a new one.")
    return row


def _finding(row: CommissioningLine, one: LineFinding, *, by: User, at: datetime) -> CommissioningFinding:
    try:
        holds = finding_holds(list_line(row), one.value, one.answer)
    except ValueError as wrong:
        raise Refused(str(wrong), field=f"line-{row.pk}") from None
    figure: dict[str, Any] = {"value": one.value}  # the column keeps a Decimal's digits
    return CommissioningFinding(
        **figure,
        line=row,
        holds=holds,
        note=" ".join(one.note.split()),
        measured_with=one.measured_with,
        file=None if one.file is None else _kept(row, one.file, by=by, at=at),
        at=at,
        by=by,
    )


def _bounds(low: Decimal | None, high: Decimal | None) -> dict[str, Any]:
    """The limits as the columns take them, which keep a Decimal's digits."""
    return {"low": low, "high": high}


def _kept(row: CommissioningLine, upload: Upload, *, by: User, at: datetime) -> StoredFile:
    try:
        name, media_type, content = read_certificate(upload)
    except Refused as wrong:
        raise Refused(f"{row.title}: {wrong.sentence}", field=f"file-{row.pk}") from None
    return keep_file(name=name, media_type=media_type, content=content, by=by, at=at)


def _facts(row: CommissioningLine, one: CommissioningFinding) -> dict[str, Any]:
    return {
        "line": row.title,
        "limit": row.limit_text,
        "value": None if one.value is None else format(one.value, "f"),
        "holds": one.holds,
        "note": one.note,
        "measured with": one.measured_with.code if one.measured_with else "",
        "file": one.file.sha256 if one.file else "",
    }


def _limit_text(kind: str, low: Decimal | None, high: Decimal | None, unit: str) -> str:
    if kind == CommissioningLine.Kind.PART:
        return f"{low:f} expected"
    words = {"lock": "removed", "paper": "filed"}
    if low is None and high is None:
        return words.get(kind, "yes")
    if low is not None and high is not None:
        return f"{low:f} to {high:f} {unit}".strip()
    return (f"at least {low:f} {unit}" if high is None else f"at most {high:f} {unit}").strip()
