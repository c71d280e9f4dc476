"""Registering a parcel: items, specimens, their numbers, photos, deviations and first places, all or nothing."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from typing import Any

from django.db import transaction

from labsite.ledger.actions import keep_file, record_entry, take_next
from labsite.ledger.models import Place, User
from labsite.ledger.numbering import grouped, piece_number
from labsite.ledger.pictures import ShownPicture
from labsite.ledger.refusals import Refused
from specimens.domain.receiving import condition_fault, series_fault
from specimens.models import Custody, Deviation, Item, Order, OrderLine, Photo, Receipt, Specimen

_MEDIA_TYPES = ((b"\xff\xd8", "image/jpeg"), (b"\x89PNG", "image/png"), (b"RIFF", "image/webp"))


@dataclass(frozen=True, slots=True)
class PhotoIn:
    """A picture as uploaded, and the copy that may be shown."""

    name: str
    content: bytes
    shown: ShownPicture


@dataclass(frozen=True, slots=True)
class ItemIn:
    """One item as typed at the counter; `specimens` pieces are made from it and get numbers."""

    order_line: OrderLine
    description: str
    material: str
    colour: str
    counted: int
    specimens: int
    conditions: tuple[str, ...]
    place: Place
    client_name_for_it: str = ""
    stated_count: int | None = None
    thickness_mm: Decimal | None = None
    surface: str = ""
    deviation: str = ""
    photo: PhotoIn | None = None


@transaction.atomic
def register_receipt(
    *,
    by: User,
    at: datetime,
    order: Order,
    came_at: datetime,
    brought_by: str,
    parcels: int,
    outside: str,
    items: Sequence[ItemIn],
) -> Receipt:
    """Register one parcel. Items and specimens share one running series of numbers per order, none is ever reused."""
    order = Order.objects.select_for_update().get(pk=order.pk)
    if came_at > at:
        raise Refused("The parcel cannot have come in later than now; write laboratory time.", field="came_at")
    if not items:
        raise Refused("Fill in at least one item: count what is in the parcel.")
    for item in items:
        _check_item(order, item)
    numbers = _numbers(order, sum(1 + item.specimens for item in items))
    receipt = Receipt.objects.create(
        order=order,
        came_at=came_at,
        brought_by=brought_by,
        parcels=parcels,
        outside=outside,
        received_at=at,
        received_by=by,
    )
    written = [_write_item(receipt, item, numbers, by=by, at=at) for item in items]
    after = {
        "came in": came_at.isoformat(timespec="minutes"),
        "brought by": brought_by,
        "parcels": parcels,
        "outside": outside,
        "items": written,
    }
    record_entry(book=order.book, act="registered a parcel", by=by, at=at, data={"parcel": receipt.pk, "after": after})
    return receipt


@transaction.atomic
def add_photo(*, by: User, at: datetime, item: Item, photo: PhotoIn, caption: str = "") -> Photo:
    """Add a picture to an item that is registered."""
    row = _keep_photo(item, photo, caption=caption, by=by, at=at)
    data = {"item": item.number, "after": {"photo": row.file.sha256, "caption": caption}}
    record_entry(book=item.receipt.order.book, act="added a photo", by=by, at=at, data=data)
    return row


def _check_item(order: Order, item: ItemIn) -> None:
    line = item.order_line
    if line.order_id != order.pk or OrderLine.objects.get(pk=line.pk).withdrawn_at is not None:
        raise Refused(f"Line {line.position} is not, or no longer, part of this order; nothing can come in for it.")
    if item.counted < 0 or item.specimens < 0:
        raise Refused(f"{item.description}: counts cannot be below zero.")
    fault = condition_fault(
        conditions=item.conditions, stated_count=item.stated_count, counted=item.counted, deviation=item.deviation
    )
    if fault is not None:
        raise Refused(f"{item.description}: {fault.sentence}", field=fault.field)


def _numbers(order: Order, count: int) -> Iterator[str]:
    first = take_next(f"pieces:{order.number}", count=count)
    fault = series_fault("-".join(grouped(order.number)), first=first, count=count)
    if fault is not None:
        raise Refused(fault)
    return iter([piece_number(order.number, serial) for serial in range(first, first + count)])


def _write_item(receipt: Receipt, typed: ItemIn, numbers: Iterator[str], *, by: User, at: datetime) -> dict[str, Any]:
    """Write one item with all that hangs on it; returns what the ledger says of it."""
    item = Item.objects.create(
        number=next(numbers),
        receipt=receipt,
        order_line=typed.order_line,
        description=typed.description,
        client_name_for_it=typed.client_name_for_it,
        material=typed.material,
        colour=typed.colour,
        stated_count=typed.stated_count,
        counted=typed.counted,
        condition=", ".join(typed.conditions),
    )
    facts: dict[str, Any] = {"thickness_mm": typed.thickness_mm, "surface": typed.surface, "made_at": at}
    specimens = Specimen.objects.bulk_create(
        Specimen(number=next(numbers), item=item, order_line=typed.order_line, **facts) for _ in range(typed.specimens)
    )
    # it is here from the moment it came in, whenever that is registered
    here: dict[str, Any] = {"place": typed.place, "at": receipt.came_at, "by": by}
    Custody.objects.create(item=item, **here)
    Custody.objects.bulk_create(Custody(specimen=specimen, **here) for specimen in specimens)
    if typed.deviation:
        Deviation.objects.create(item=item, text=typed.deviation, raised_at=at, raised_by=by)
    photo = _keep_photo(item, typed.photo, caption="", by=by, at=at) if typed.photo else None
    return {
        "number": item.number,
        "line": typed.order_line.position,
        "description": item.description,
        "client’s name for it": item.client_name_for_it,
        "material": item.material,
        "colour": item.colour,
        "stated": item.stated_count,
        "counted": item.counted,
        "thickness, mm": None if typed.thickness_mm is None else format(typed.thickness_mm, "f"),
        "surface": typed.surface,
        "condition": item.condition,
        "deviation": typed.deviation,
        "specimens": [specimen.number for specimen in specimens],
        "place": typed.place.code,
        "photo": photo.file.sha256 if photo else "",
    }


def _keep_photo(item: Item, photo: PhotoIn, *, caption: str, by: User, at: datetime) -> Photo:
    original_type = next((name for start, name in _MEDIA_TYPES if photo.content.startswith(start)), "image/*")
    original = keep_file(name=photo.name, media_type=original_type, content=photo.content, by=by, at=at)
    ending = "png" if photo.shown.media_type == "image/png" else "jpg"
    shown = keep_file(
        name=f"{item.number}.{ending}",
        media_type=photo.shown.media_type,
        content=photo.shown.content,
        by=by,
        at=at,
    )
    return Photo.objects.create(item=item, file=original, shown=shown, caption=caption, at=at, by=by)
