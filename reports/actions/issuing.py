"""Issuing a certificate, and amending one: the content is gathered, found complete, frozen and numbered."""

import hashlib
from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime
from typing import Any

from django.db import transaction

from labsite.ledger.actions import record_entry
from labsite.ledger.models import Role, User
from labsite.ledger.numbering import grouped
from labsite.ledger.refusals import Refused
from reports.domain.content import AmendmentContent, CertificateContent
from reports.domain.content_json import content_bytes, content_json
from reports.domain.differences import differences, results_changed
from reports.models import Certificate
from reports.queries.certificates import content_of, newest_of, standing_certificates
from reports.queries.gathering import gathered_content
from reports.queries.ready import blocking, next_number
from specimens.models import Order, OrderLine
from specimens.queries.orders import unanswered_deviations
from trials.queries.authorisations import SIGN, authorisation_needed
from trials.queries.results import LineStanding, line_standings


@transaction.atomic
def issue_certificate(
    *, order: Order, lines: Sequence[OrderLine], by: User, at: datetime, seen: str = ""
) -> Certificate:
    """Issue a certificate of checked lines. Its file is written afterwards, from the content that is frozen here.

    `seen` is the fingerprint of what the signatory looked at (see `seen_fingerprint`); a change since is refused.
    """
    order = _locked(order)
    lines = _locked_lines(order, lines)
    covered = standing_certificates([line.pk for line in lines])
    for line in lines:
        if line.pk in covered:
            number = covered[line.pk].number
            raise Refused(f"Line {line.position} is certified by {number} already; amend that one if it is wrong.")
    _check_signatory(lines, by, at)
    _check_lines(lines)
    content = gathered_content(order, lines, number=next_number(order), by=by, at=at)
    if seen and seen != seen_fingerprint(content):
        raise Refused("Something changed since this page was opened. Read the certificate below again, then issue it.")
    return _freeze(content, order=order, lines=lines, by=by, at=at, act="issued a certificate")


@transaction.atomic
def amend_certificate(*, certificate: Certificate, reason: str, by: User, at: datetime, seen: str = "") -> Certificate:
    """Issue a certificate that replaces another one, with every difference listed; the old one stays as it is."""
    order = _locked(certificate.order)
    old = Certificate.objects.get(pk=certificate.pk)
    newest = newest_of(old)
    if newest.pk != old.pk:
        raise Refused(f"{old.number} is replaced already; amend {newest.number}, which is the newest.")
    words = reason.strip()
    if not words:
        raise Refused("An amendment needs its reason; it is printed.", field="reason")
    lines = _locked_lines(order, list(old.lines.all()))
    _check_signatory(lines, by, at)
    _check_lines(lines)
    content, before = gathered_content(order, lines, number=next_number(order), by=by, at=at), content_of(old)
    found = differences(before, content)
    if not found:
        raise Refused(f"Nothing has changed since {old.number} was issued; mend the record first, then amend.")
    if seen and seen != seen_fingerprint(content):
        raise Refused("Something changed since this page was opened. Read the differences below again, then amend.")
    changes = tuple(one.sentence for one in found)
    amended = AmendmentContent(old.number, before.issued_on, words, changes, results_changed(before, content))
    return _freeze(
        replace(content, amendment=amended), order=order, lines=lines, by=by, at=at, act="amended a certificate",
        replaces=old,
    )  # fmt: skip


def seen_fingerprint(content: CertificateContent) -> str:
    """A short name of exactly what a certificate says, whoever looks at it and whenever."""
    lines = tuple(replace(line, signed=None) for line in content.lines)
    plain = content_json(replace(content, lines=lines, amendment=None))
    return hashlib.sha256(content_bytes({**plain, "issued_at": ""})).hexdigest()


def _freeze(
    content: CertificateContent,
    *,
    order: Order,
    lines: Sequence[OrderLine],
    by: User,
    at: datetime,
    act: str,
    replaces: Certificate | None = None,
) -> Certificate:
    missing = blocking(content)
    if missing:
        more = f" {len(missing) - 1} more are listed on the page." if len(missing) > 1 else ""
        raise Refused(f"{missing[0].sentence} It cannot be issued like this.{more}")
    plain = content_json(content)
    amendment = content.amendment
    certificate = Certificate.objects.create(
        number=content.number,
        order=order,
        content=plain,
        content_sha256=hashlib.sha256(content_bytes(plain)).hexdigest(),
        issued_at=at,
        issued_by=by,
        replaces=replaces,
        amendment_reason="" if amendment is None else amendment.reason,
        amendment_changes=[] if amendment is None else list(amendment.changes),
    )
    certificate.lines.set(lines)
    after: dict[str, Any] = {
        "certificate": certificate.number,
        "lines": [line.position for line in lines],
        "content sha256": certificate.content_sha256,
        "result": [line.sentence for line in content.lines],
    }
    if replaces is not None and amendment is not None:
        after |= {"replaces": replaces.number, "reason": amendment.reason, "changes": list(amendment.changes)}
    record_entry(book=order.book, act=act, by=by, at=at, data={"after": after})
    return certificate


def _locked(order: Order) -> Order:
    """The order with its row locked: certificates of one order are numbered one after the other."""
    return Order.objects.select_for_update(of=("self",)).get(pk=order.pk)


def _locked_lines(order: Order, lines: Sequence[OrderLine]) -> list[OrderLine]:
    rows = OrderLine.objects.select_for_update(of=("self",)).select_related("order").order_by("position")
    found = list(rows.filter(pk__in=[line.pk for line in lines], order=order))
    if not found:
        raise Refused("Choose at least one line that is checked.", field="lines")
    return found


def _check_signatory(lines: Sequence[OrderLine], by: User, at: datetime) -> None:
    if not by.may(Role.SIGNATORY):
        raise Refused(f"{by} is no signatory; certificates are issued by one.")
    for key in dict.fromkeys(line.method_key for line in lines):
        authorisation_needed(by, key, SIGN, at)


def _check_lines(lines: Sequence[OrderLine]) -> None:
    deviations = unanswered_deviations([line.pk for line in lines])
    for standing in line_standings(lines).values():
        _check_line(standing)
        if standing.line.pk in deviations:
            first = deviations[standing.line.pk][0]
            item = "-".join(grouped(first.item.number))
            raise Refused(
                f"The client has not answered the deviation of item {item}, “{first.text}”. Record the answer."
            )


def _check_line(standing: LineStanding) -> None:
    line, check = standing.line, standing.check
    if line.withdrawn_at is not None:
        raise Refused(f"Line {line.position} is withdrawn.")
    if standing.stale and check is not None:
        raise Refused(
            f"A trial of line {line.position} was signed anew after {check.by} checked it; it needs a new check."
        )
    if standing.state == "returned" and check is not None:
        raise Refused(f"{check.by} returned line {line.position}: {check.remarks}")
    if standing.state != "checked":
        raise Refused(f"Line {line.position} is not checked yet. {standing.result.sentence}")
