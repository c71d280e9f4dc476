"""What the counter's page shows: what needs a hand, what is expected, what came in, and all orders by pages."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from django.conf import settings
from django.db.models import Count, Exists, OuterRef, Q, QuerySet
from django.utils.module_loading import import_string

from specimens.domain.counter_words import counter_answer, expected_words
from specimens.models import Deviation, Order, OrderLine, Receipt
from specimens.queries.orders import orders_with_client, signed_at_present

PAGE = 50
GROUP = 20
"""The most rows of a group; beyond them the heading says how many there are."""
LATELY = timedelta(days=7)


@dataclass(frozen=True, slots=True)
class Group:
    """The first rows of a group and how many there are in all."""

    rows: list[Any]
    count: int

    @property
    def more(self) -> int:
        """How many are not shown."""
        return self.count - len(self.rows)


def _group(rows: QuerySet[Any]) -> Group:
    shown = list(rows[: GROUP + 1])
    return Group(shown[:GROUP], len(shown) if len(shown) <= GROUP else rows.count())


def _states(orders: QuerySet[Order]) -> QuerySet[Any]:
    """Orders with the flags a row's state is made of."""
    lines = OrderLine.objects.filter(order=OuterRef("pk"), withdrawn_at=None)
    open_deviations = Deviation.objects.filter(
        item__receipt__order=OuterRef("pk"), item__order_line__withdrawn_at=None, answer=None
    )
    return orders.annotate(
        live=Exists(lines),
        signed=signed_at_present(),
        received=Exists(Receipt.objects.filter(order=OuterRef("pk"))),
        on_hold=Exists(open_deviations),
        uncertified=Exists(lines.exclude(pk__in=_certified_lines())),
    )


def _certified_lines() -> Iterable[int]:
    """The lines that stand on an issued certificate, known to a higher app, which settings name."""
    certified: Iterable[int] = import_string(settings.CERTIFIED_LINES)()
    return certified


def unreviewed_orders() -> QuerySet[Order]:
    """Orders with a live line that no signed contract review covers, oldest first."""
    return _states(orders_with_client()).filter(live=True, signed=False).order_by("taken_at", "pk")


def expected_orders() -> QuerySet[Order]:
    """Reviewed orders for which nothing came in, by promised date."""
    waiting = _states(orders_with_client()).filter(live=True, signed=True, received=False)
    return waiting.order_by("promised_on", "taken_at", "pk")


def open_deviations() -> QuerySet[Deviation]:
    """Deviations that wait for the client's answer, oldest first."""
    return (
        Deviation.objects.filter(answer=None, item__order_line__withdrawn_at=None)
        .select_related("item__order_line__order__client", "item__order_line__order__contact", "raised_by")
        .order_by("raised_at", "pk")
    )


def received_lately(at: datetime) -> QuerySet[Receipt]:
    """Parcels of the last seven days, latest first, with how many items and specimens."""
    return (
        Receipt.objects.filter(received_at__gt=at - LATELY)
        .select_related("order__client", "received_by")
        .annotate(item_count=Count("items", distinct=True), specimen_count=Count("items__specimens", distinct=True))
        .order_by("-received_at", "-pk")
    )


@dataclass(frozen=True, slots=True)
class OrderPage:
    """One page of orders; `older` is the number to go on from, None at the end."""

    rows: list[Order]
    older: str | None


def orders_page(*, words: str = "", before: str = "") -> OrderPage:
    """Orders newest first, fifty a page, whose client or purchase order contains `words` or whose number starts so.

    `before` is the number of the last order of the page before; keyset paging, so that pages stay as they are while
    new orders come in.
    """
    orders = _states(orders_with_client()).order_by("-taken_at", "-pk")
    if words:
        digits = words.replace("-", "").replace(" ", "")
        number = Q(number__startswith=digits) if digits.isdigit() else Q()
        orders = orders.filter(Q(client__name__icontains=words) | Q(purchase_order__icontains=words) | number)
    last = Order.objects.filter(number=before).first() if before else None
    if last is not None:
        orders = orders.filter(Q(taken_at__lt=last.taken_at) | Q(taken_at=last.taken_at, pk__lt=last.pk))
    rows: Sequence[Order] = list(orders[: PAGE + 1])
    return OrderPage(list(rows[:PAGE]), rows[PAGE - 1].number if len(rows) > PAGE else None)


def counter_page(*, at: datetime, words: str, before: str) -> dict[str, Any]:
    """Everything the counter's page shows."""
    answers, reviews, expected = _group(open_deviations()), _group(unreviewed_orders()), _group(expected_orders())
    return {
        "answers": answers,
        "reviews": reviews,
        "expected": expected,
        "received": _group(received_lately(at)),
        "page": orders_page(words=words, before=before),
        "words": words,
        "before": before,
        "answer": counter_answer(reviews=reviews.count, answers=answers.count),
        "expected_words": expected_words(expected.count),
    }
