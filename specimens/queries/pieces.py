"""Reads about items, specimens, where they are, and what was wrong with them."""

from collections.abc import Collection, Iterable
from dataclasses import dataclass
from typing import Any

from django.db.models import OuterRef, Prefetch, Q, QuerySet, Subquery

from specimens.models import Custody, Deviation, DeviationAnswer, Item, OrderLine, Photo, Receipt, Specimen

_LEFT_OUT = Q(item__deviations__answer__decision=DeviationAnswer.Decision.REPLACE)


def items_with_order() -> QuerySet[Item]:
    """Items with line, order, client and receipt."""
    return Item.objects.select_related("order_line__order__client", "receipt__order", "receipt__received_by")


def specimens_with_order() -> QuerySet[Specimen]:
    """Specimens with item, line, order and client."""
    return Specimen.objects.select_related("item__receipt__received_by", "order_line__order__client")


def usable_specimens(line: OrderLine) -> QuerySet[Specimen]:
    """The specimens that count for a line: all but those of items the client replaces, by number."""
    return line.specimens.exclude(_LEFT_OUT).order_by("number")


def usable_specimen_counts(line_ids: Collection[int]) -> dict[int, int]:
    """How many specimens count for each line; one query."""
    counts = dict.fromkeys(line_ids, 0)
    rows = Specimen.objects.filter(order_line__in=line_ids).exclude(_LEFT_OUT).values_list("order_line_id", flat=True)
    for line_id in rows:
        counts[line_id] += 1
    return counts


def left_out(item_ids: Collection[int]) -> set[int]:
    """Items whose specimens are not tested because the client sends others."""
    rows = DeviationAnswer.objects.filter(
        deviation__item__in=item_ids, decision=DeviationAnswer.Decision.REPLACE
    ).values_list("deviation__item_id", flat=True)
    return set(rows)


def items_of_receipts(receipt_ids: Collection[int]) -> QuerySet[Item]:
    """Items with specimens, photos and deviations with their answers, by number; a constant number of queries."""
    return (
        Item.objects.filter(receipt__in=receipt_ids)
        .select_related("order_line")
        .prefetch_related("specimens", "photos", Prefetch("deviations", queryset=deviations_with_answer()))
        .order_by("number")
    )


def deviations_with_answer() -> QuerySet[Deviation]:
    """Deviations with what they are about, who found them and what the client said, oldest first."""
    return Deviation.objects.select_related(
        "item__order_line__order__client", "item__receipt", "raised_by", "answer__recorded_by"
    ).order_by("raised_at", "pk")


def photos_shown() -> QuerySet[Photo]:
    """Photos with the copy that may be shown."""
    return Photo.objects.select_related("shown")


def current_custody(specimen_ids: Collection[int]) -> dict[int, Custody]:
    """Who or what place holds each specimen now; two queries whatever their number."""
    latest = Custody.objects.filter(specimen=OuterRef("pk")).order_by("-at", "-pk").values("pk")[:1]
    rows = Specimen.objects.filter(pk__in=specimen_ids).annotate(latest=Subquery(latest)).values_list("pk", "latest")
    return _by_piece(rows)


def current_item_custody(item_ids: Collection[int]) -> dict[int, Custody]:
    """Who or what place holds each item now; two queries whatever their number."""
    latest = Custody.objects.filter(item=OuterRef("pk")).order_by("-at", "-pk").values("pk")[:1]
    rows = Item.objects.filter(pk__in=item_ids).annotate(latest=Subquery(latest)).values_list("pk", "latest")
    return _by_piece(rows)


def custody_history(piece: Item | Specimen) -> QuerySet[Custody]:
    """Where a piece was, latest first."""
    return piece.custody.select_related("place", "person", "by").order_by("-at", "-pk")


@dataclass(frozen=True, slots=True)
class LabelPiece:
    """What a label is printed from."""

    number: str
    item: Item
    specimen: Specimen | None


def label_pieces(order_number: str, *, receipt: int | None = None, piece: str = "") -> list[LabelPiece]:
    """Items and specimens of an order in the order of their numbers, narrowed to one receipt or one piece."""
    items = Item.objects.filter(receipt__order__number=order_number).select_related("order_line__order", "receipt")
    specimens = Specimen.objects.filter(item__receipt__order__number=order_number).select_related(
        "item__order_line__order", "item__receipt", "order_line__order"
    )
    if receipt is not None:
        items, specimens = items.filter(receipt=receipt), specimens.filter(item__receipt=receipt)
    if piece:
        items, specimens = items.filter(number=piece), specimens.filter(number=piece)
    found = [LabelPiece(item.number, item, None) for item in items]
    found += [LabelPiece(specimen.number, specimen.item, specimen) for specimen in specimens]
    return sorted(found, key=lambda row: row.number)


def receipts_of_order(order_id: int) -> QuerySet[Receipt]:
    """An order's parcels, oldest first."""
    return Receipt.objects.filter(order=order_id).select_related("received_by").order_by("came_at", "pk")


def _by_piece(rows: Iterable[tuple[int, int | None]]) -> dict[int, Custody]:
    latest = {piece: custody for piece, custody in rows if custody is not None}
    found = Custody.objects.select_related("place", "person", "by").in_bulk(latest.values())
    return {piece: found[custody] for piece, custody in latest.items()}


def held_now(piece: Item | Specimen) -> Custody | None:
    """Who or what place holds one piece now."""
    return custody_history(piece).first()


def item_page(item: Item) -> dict[str, Any]:
    """Everything the page of an item shows."""
    specimens = list(item.specimens.order_by("number"))
    places = current_custody([specimen.pk for specimen in specimens])
    return {
        "item": item,
        "order": item.receipt.order,
        "specimens": [(specimen, places.get(specimen.pk)) for specimen in specimens],
        "custody": list(custody_history(item)),
        "photos": list(item.photos.select_related("by").order_by("pk")),
        "deviations": list(deviations_with_answer().filter(item=item)),
        "left_out": bool(left_out([item.pk])),
    }


def specimen_page(specimen: Specimen) -> dict[str, Any]:
    """Everything the page of a specimen shows."""
    item = specimen.item
    return {
        "specimen": specimen,
        "item": item,
        "order": specimen.order_line.order,
        "custody": list(custody_history(specimen)),
        "photos": list(item.photos.select_related("by").order_by("pk")),
        "deviations": list(deviations_with_answer().filter(item=item)),
        "left_out": bool(left_out([item.pk])),
    }
