"""Reads about orders and their lines, for the counter's pages and for the apps above."""

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from typing import Any

from django.db.models import Exists, F, OuterRef, QuerySet

from labsite.ledger.queries import entries_about, laboratory_zone
from labsite.ledger.refusals import Refused
from specimens.domain.atmospheres import ATMOSPHERES
from specimens.domain.counter_words import order_answer
from specimens.domain.entry_words import EntryFact, EntryRow, Reading, entry_rows
from specimens.domain.offers import MethodOffer
from specimens.domain.order_lines import Belief, believed_words, ordered_words, too_few_words
from specimens.models import ContractReview, Deviation, Item, Order, OrderLine, Receipt, Specimen
from specimens.queries.methods import agreed_words, capability_warnings, method_offers
from specimens.queries.pieces import items_of_receipts, receipts_of_order, usable_specimen_counts


def orders_with_client() -> QuerySet[Order]:
    """All orders with client, contact and who took them."""
    return Order.objects.select_related("client", "contact", "taken_by")


def order_by_number(number: str) -> Order | None:
    """The order with this number (digits only) with client and contact, or None."""
    return orders_with_client().filter(number=number).first()


def lines_with_order() -> QuerySet[OrderLine]:
    """All lines with order, client and contact, withdrawn ones too."""
    return OrderLine.objects.select_related("order__client", "order__contact").order_by("order__number", "position")


def lines_in_work() -> QuerySet[OrderLine]:
    """Lines that are not withdrawn, with order, client and contact."""
    return lines_with_order().filter(withdrawn_at=None)


def signed_at_present() -> Exists:
    """For orders: whether a contract review is signed for the present version."""
    return Exists(ContractReview.objects.filter(order=OuterRef("pk"), order_version=OuterRef("version")))


def reviewed_lines(line_ids: Collection[int]) -> set[int]:
    """Those of the lines whose order is reviewed at its present version; one query."""
    rows = OrderLine.objects.filter(pk__in=line_ids, order__reviews__order_version=F("order__version"))
    return set(rows.values_list("pk", flat=True))


def unanswered_deviations(line_ids: Collection[int]) -> dict[int, list[Deviation]]:
    """The deviations the client has not answered, by line; lines without any are left out; one query."""
    rows = (
        Deviation.objects.filter(item__order_line__in=line_ids, answer=None)
        .select_related("item", "raised_by")
        .order_by("raised_at", "pk")
    )
    found: dict[int, list[Deviation]] = {}
    for deviation in rows:
        found.setdefault(deviation.item.order_line_id, []).append(deviation)
    return found


def present_review(order: Order) -> ContractReview | None:
    """The signed review of the order as it stands, or None."""
    return order.reviews.filter(order_version=order.version).select_related("signed_by").first()


def earlier_review(order: Order) -> ContractReview | None:
    """The latest signed review of an earlier version, or None."""
    return order.reviews.filter(order_version__lt=order.version).select_related("signed_by").order_by("-pk").first()


@dataclass(frozen=True, slots=True)
class LineFacts:
    """One line as pages show it. `usable` counts specimens that are here and tested."""

    line: OrderLine
    offer: MethodOffer | None
    method: str
    standard: str
    short_standard: str
    severity: str
    usable: int
    open_deviations: list[Deviation]

    @property
    def believed(self) -> str:
        """What the client believes of a search's end, for planning only; empty for nothing."""
        line = self.line
        if self.offer is None:
            return ""
        return believed_words(self.offer, Belief(line.start_severity, line.believed_severity, line.believed_spread))

    @property
    def agreed(self) -> list[str]:
        """The figures agreed in place of the edition's, in words; why they cannot be read, where that is so."""
        try:
            return agreed_words(self.line.method_key, self.line.agreed_parameters)
        except Refused as refusal:
            return [refusal.sentence]

    @property
    def too_few(self) -> str:
        """That fewer specimens are ordered than are needed, in a sentence; empty where they are enough."""
        line = self.line
        if self.offer is None:
            return ""
        return too_few_words(self.offer, line.severity, line.specimens_ordered, line.agreed_parameters)

    @property
    def missing(self) -> int:
        """How many specimens are ordered and not here."""
        return max(0, self.line.specimens_ordered - self.usable)


def line_facts(order: Order) -> list[LineFacts]:
    """The lines of an order as pages show them; three queries whatever their number."""
    lines = list(order.lines.order_by("position"))
    ids = [line.pk for line in lines]
    usable, deviations, offers = usable_specimen_counts(ids), unanswered_deviations(ids), method_offers()
    return [_facts(line, offers.get(line.method_key), usable[line.pk], deviations.get(line.pk, [])) for line in lines]


def _facts(line: OrderLine, offer: MethodOffer | None, usable: int, deviations: list[Deviation]) -> LineFacts:
    if offer is None:
        return LineFacts(line, None, line.method_key, line.method_key, "", _bare(line.severity), usable, deviations)
    severity = ordered_words(offer, line.severity, line.start_severity)
    return LineFacts(line, offer, offer.short_title, offer.standard, offer.short_standard, severity, usable, deviations)


def lacking(lines: Sequence[LineFacts], at: datetime) -> list[tuple[int, list[str]]]:
    """Positions of the lines for which people or a rig are missing at `at`, each with what is missing in sentences."""
    found = capability_warnings([facts.line for facts in lines], at)
    return [(facts.line.position, found[facts.line.pk]) for facts in lines if facts.line.pk in found]


@dataclass(frozen=True, slots=True)
class ItemFacts:
    """One item with the specimens made from it, by number."""

    item: Item
    specimens: list[Specimen]


@dataclass(frozen=True, slots=True)
class ReceiptFacts:
    """One parcel with its items."""

    receipt: Receipt
    items: list[ItemFacts]


def receipt_facts(order: Order) -> list[ReceiptFacts]:
    """The parcels of an order with items, specimens, photos and deviations; a constant number of queries."""
    receipts = list(receipts_of_order(order.pk))
    items: dict[int, list[ItemFacts]] = {receipt.pk: [] for receipt in receipts}
    for item in items_of_receipts(items):
        specimens = sorted(item.specimens.all(), key=lambda specimen: specimen.number)
        items[item.receipt_id].append(ItemFacts(item, specimens))
    return [ReceiptFacts(receipt, items[receipt.pk]) for receipt in receipts]


def order_page(order: Order) -> dict[str, Any]:
    """Everything the page of an order shows."""
    lines, receipts, review = line_facts(order), receipt_facts(order), present_review(order)
    live = [facts for facts in lines if facts.line.withdrawn_at is None]
    on_hold = tuple(facts.line.position for facts in live if facts.open_deviations)
    return {
        "order": order,
        "lines": lines,
        "live": live,
        "receipts": receipts,
        "review": review,
        "earlier_review": None if review else earlier_review(order),
        "open_deviations": [deviation for facts in live for deviation in facts.open_deviations],
        "answer": order_answer(
            live_lines=len(live),
            reviewed=review is not None,
            specimens=sum(facts.usable for facts in live),
            received=bool(receipts),
            on_hold=on_hold,
        ),
    }


def entry_rows_of(book: str) -> list[EntryRow]:
    """What was done about an order or a client, oldest first; the acts of one trial stand together."""
    names = {key: offer.standard for key, offer in method_offers().items()}
    names |= {key: atmosphere.title for key, atmosphere in ATMOSPHERES.items()}
    facts = [EntryFact(entry.at, str(entry.by), entry.act, entry.data) for entry in entries_about(book)]
    return entry_rows(facts, Reading(names, laboratory_zone()))


def item_defaults(facts: LineFacts) -> dict[str, Any]:
    """What a parcel is expected to hold for a line, as the first filling of its form."""
    return {
        "order_line": facts.line.pk,
        "description": facts.line.subject,
        "stated_count": facts.missing or facts.line.specimens_ordered,
        "specimens": facts.missing or facts.line.specimens_ordered,
    }


def severity_of(line: OrderLine) -> str:
    """What a line asks for in words; the bare figure where the program does not know the edition."""
    offer = method_offers().get(line.method_key)
    return _bare(line.severity) if offer is None else ordered_words(offer, line.severity, line.start_severity)


def _bare(severity: Decimal | None) -> str:
    return "" if severity is None else f"{severity:f}"
