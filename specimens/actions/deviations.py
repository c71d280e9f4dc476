"""Recording what the client says to a deviation found at receipt (ISO/IEC 17025 7.4.3)."""

from datetime import datetime

from django.db import transaction

from labsite.ledger.actions import record_entry
from labsite.ledger.models import User
from labsite.ledger.refusals import Refused
from specimens.actions.orders import raise_version, withdrawn
from specimens.models import Deviation, DeviationAnswer, Order, OrderLine


@transaction.atomic
def answer_deviation(
    *, by: User, at: datetime, deviation: Deviation, decision: str, answered_by: str, answer: str
) -> DeviationAnswer:
    """Record the client's answer, once. “Cancel” also withdraws the line; “replace” leaves the item's specimens out."""
    order = Order.objects.select_for_update().get(pk=deviation.item.receipt.order_id)
    given = DeviationAnswer.objects.filter(deviation=deviation).select_related("recorded_by").first()
    if given is not None:
        raise Refused(
            f"{given.recorded_by} recorded an answer already: {given.answered_by} said “{given.answer}” "
            f"({given.get_decision_display()}). Yours is kept below but not recorded."
        )
    row = DeviationAnswer.objects.create(
        deviation=deviation,
        decision=decision,
        answered_by=answered_by,
        answer=answer,
        recorded_at=at,
        recorded_by=by,
    )
    after = {"decision": decision, "answered by": answered_by, "answer": answer}
    if decision == DeviationAnswer.Decision.CANCEL:
        line = OrderLine.objects.select_for_update().get(pk=deviation.item.order_line_id)
        if line.withdrawn_at is None:
            withdrawn(line, at=at)
            raise_version(order)
            after["withdrawn line"] = str(line.position)
    data = {"item": deviation.item.number, "deviation": deviation.text, "after": after}
    record_entry(book=order.book, act="recorded the client’s answer", by=by, at=at, data=data)
    return row
