"""Taking an order, adding and withdrawing lines, signing the contract review."""

from collections.abc import Sequence
from dataclasses import asdict, dataclass, field
from datetime import date, datetime
from decimal import Decimal
from typing import Any

from django.db import transaction

from labsite.ledger.actions import record_entry, take_next
from labsite.ledger.models import User
from labsite.ledger.numbering import order_number
from labsite.ledger.queries import laboratory_day
from labsite.ledger.refusals import Refused
from specimens.domain.order_lines import Belief, believed_words, line_faults, ordered_words, own_limit_of
from specimens.models import Contact, ContractReview, Order, OrderLine
from specimens.queries.methods import agreed_words, method_offer


@dataclass(frozen=True, slots=True)
class LineIn:
    """One line as typed: method edition, severity, how many, by which rule, for whom."""

    method_key: str
    severity: Decimal | None
    specimens_ordered: int
    decision_rule: str
    subject: str
    decision_rule_note: str = ""
    product_standard: str = ""
    start_severity: Decimal | None = None
    believed_severity: Decimal | None = None
    believed_spread: Decimal | None = None
    agreed_parameters: dict[str, dict[str, Any]] = field(default_factory=dict)


@transaction.atomic
def take_order(
    *,
    by: User,
    at: datetime,
    contact: Contact,
    lines: Sequence[LineIn],
    purchase_order: str = "",
    promised_on: date | None = None,
    leftovers: str = "",
    handling: str = "",
) -> Order:
    """Enter an order with its first lines; its number is the next of the year at the laboratory."""
    if not lines:
        raise Refused("An order needs at least one line: what is to be tested, by which method, to which severity.")
    today = laboratory_day(at)
    if promised_on is not None and promised_on < today:
        raise Refused(f"{promised_on.isoformat()} is over; promise a day from today on.", field="promised_on")
    for line in lines:
        _check_line(line)
    order = Order.objects.create(
        number=_next_order_number(today.year),
        client=contact.client,
        contact=contact,
        purchase_order=purchase_order,
        promised_on=promised_on,
        leftovers=leftovers,
        handling=handling,
        taken_at=at,
        taken_by=by,
    )
    for position, line in enumerate(lines, start=1):
        _create_line(order, position, line)
    after = {
        "client": contact.client.name,
        "contact": contact.name,
        "purchase order": purchase_order,
        "promised": promised_on.isoformat() if promised_on else "",
        "leftovers": leftovers,
        "handling": handling,
        "lines": [_line_words(line) for line in lines],
    }
    record_entry(book=order.book, act="took the order", by=by, at=at, data={"after": after})
    return order


@transaction.atomic
def add_line(*, by: User, at: datetime, order: Order, line: LineIn) -> OrderLine:
    """Add a line; the order becomes a new version, so that a signed review no longer covers it."""
    order = Order.objects.select_for_update().get(pk=order.pk)
    _check_line(line)
    last = order.lines.order_by("-position").first()
    created = _create_line(order, last.position + 1 if last else 1, line)
    raise_version(order)
    data = {"line": created.position, "version": order.version, "after": _line_words(line)}
    record_entry(book=order.book, act="added a line", by=by, at=at, data=data)
    return created


@transaction.atomic
def withdraw_line(*, by: User, at: datetime, line: OrderLine, reason: str) -> OrderLine:
    """Withdraw a line with a reason; the order becomes a new version."""
    order = Order.objects.select_for_update().get(pk=line.order_id)
    line = withdrawn(OrderLine.objects.select_for_update().get(pk=line.pk), at=at)
    raise_version(order)
    data = {"line": line.position, "version": order.version, "reason": reason}
    record_entry(book=order.book, act="withdrew a line", by=by, at=at, data=data)
    return line


@transaction.atomic
def sign_review(
    *,
    by: User,
    at: datetime,
    order: Order,
    version: int,
    requirements_understood: bool,
    method_suitable: bool,
    capability: bool,
    agreed_with: str,
    agreed_on: date,
    note: str = "",
) -> ContractReview:
    """Sign the contract review of the order as it stands (ISO/IEC 17025 7.1); `version` is what the signer saw."""
    order = Order.objects.select_for_update().get(pk=order.pk)
    if order.version != version:
        raise Refused("A line was added or withdrawn since you opened this page. Read the lines again, then sign.")
    if not order.lines.filter(withdrawn_at=None).exists():
        raise Refused("The order has no line to review; add a line first.")
    signed = order.reviews.filter(order_version=version).select_related("signed_by").first()
    if signed is not None:
        raise Refused(f"{signed.signed_by} signed the review of this order already; nothing changed since.")
    if not (requirements_understood and method_suitable and capability):
        raise Refused("All three points must hold before the review is signed; settle the open one with the client.")
    if agreed_on > laboratory_day(at):
        raise Refused(f"{agreed_on.isoformat()} is still to come; write the day of the agreement.", field="agreed_on")
    review = ContractReview.objects.create(
        order=order,
        order_version=version,
        signed_at=at,
        signed_by=by,
        agreed_with=agreed_with,
        agreed_on=agreed_on,
        note=note,
    )
    after = {
        "version": version,
        "requirements understood": requirements_understood,
        "method suitable": method_suitable,
        "capability and resources": capability,
        "decision rule agreed with": agreed_with,
        "agreed on": agreed_on.isoformat(),
        "note": note,
        "signed by who took the order": by.pk == order.taken_by_id,
    }
    record_entry(book=order.book, act="signed the contract review", by=by, at=at, data={"after": after})
    return review


def withdrawn(line: OrderLine, *, at: datetime) -> OrderLine:
    """Mark a locked line withdrawn; refused when it is already."""
    if line.withdrawn_at is not None:
        raise Refused(f"Line {line.position} is withdrawn already.")
    line.withdrawn_at = at
    line.save(update_fields=["withdrawn_at"])
    return line


def raise_version(order: Order) -> None:
    """Make a locked order a new version."""
    order.version += 1
    order.save(update_fields=["version"])


def _next_order_number(year: int) -> str:
    try:
        return order_number(year, take_next(f"orders:{year}"))
    except ValueError:
        raise Refused(
            f"All 9,999 order numbers of {year} are given; no further order can be taken this year."
        ) from None


def _check_line(line: LineIn) -> None:
    agreed_words(line.method_key, line.agreed_parameters)
    offer = method_offer(line.method_key)
    faults = line_faults(
        offer,
        severity=line.severity,
        specimens_ordered=line.specimens_ordered,
        decision_rule=line.decision_rule,
        decision_rule_note=line.decision_rule_note,
        product_standard=line.product_standard,
        own_limit=own_limit_of(offer, line.agreed_parameters),
        belief=_belief(line),
    )
    if faults:
        raise Refused(faults[0].sentence, field=faults[0].field)


def _belief(line: LineIn) -> Belief:
    return Belief(line.start_severity, line.believed_severity, line.believed_spread)


def _create_line(order: Order, position: int, line: LineIn) -> OrderLine:
    return OrderLine.objects.create(order=order, position=position, **asdict(line))


def _line_words(line: LineIn) -> dict[str, Any]:
    offer = method_offer(line.method_key)
    return {
        "method": f"{offer.standard}, {offer.short_title}",
        "severity": ordered_words(offer, line.severity, line.start_severity),
        "believed": believed_words(offer, _belief(line)),
        "specimens": line.specimens_ordered,
        "decision rule": line.decision_rule,
        "rule in words": line.decision_rule_note,
        "product standard": line.product_standard,
        "agreed figures": "; ".join(agreed_words(line.method_key, line.agreed_parameters)),
        "subject": line.subject,
    }
