"""Items as a certificate describes them: what was found here, what the client states, deviations and photos."""

from collections.abc import Collection
from datetime import datetime
from zoneinfo import ZoneInfo

from labsite.ledger.wording import mid_sentence
from reports.domain.content_items import DeviationContent, ItemContent, PhotoContent, SpecimenContent, Stated
from specimens.models import Deviation, DeviationAnswer, Item, Photo, Specimen
from specimens.queries.pieces import deviations_with_answer


def local(at: datetime, zone: ZoneInfo) -> datetime:
    """A moment with the laboratory's offset, as it is frozen: equal moments give equal texts."""
    return datetime.fromisoformat(at.astimezone(zone).isoformat())


def items_content(line_ids: Collection[int], tested: Collection[str], zone: ZoneInfo) -> tuple[ItemContent, ...]:
    """The items that came in for these lines, by number; `tested` are the numbers of the specimens to name.

    Items whose specimens the client replaced stay in, so that the deviation is on record. Four queries.
    """
    items = list(Item.objects.filter(order_line__in=line_ids).select_related("receipt").order_by("number"))
    ids = [item.pk for item in items]
    deviations: dict[int, list[Deviation]] = {pk: [] for pk in ids}
    for deviation in deviations_with_answer().filter(item__in=ids):
        deviations[deviation.item_id].append(deviation)
    photos: dict[int, list[Photo]] = {pk: [] for pk in ids}
    for photo in Photo.objects.filter(item__in=ids).select_related("shown").defer("shown__content").order_by("pk"):
        photos[photo.item_id].append(photo)
    pieces: dict[int, list[str]] = {pk: [] for pk in ids}
    for item_id, number in Specimen.objects.filter(item__in=ids).order_by("number").values_list("item_id", "number"):
        if number in tested:
            pieces[item_id].append(number)
    return tuple(_item(item, tuple(pieces[item.pk]), deviations[item.pk], photos[item.pk], zone) for item in items)


def specimen_content(specimen: Specimen) -> SpecimenContent:
    """The tested piece; its thickness keeps the digits it was typed with."""
    thickness = "" if specimen.thickness_mm is None else f"{specimen.thickness_mm:f} mm"
    return SpecimenContent(
        number=specimen.number,
        item=specimen.item.number,
        thickness=Stated(thickness, "laboratory"),
        surface=Stated(specimen.surface, "laboratory"),
    )


def photo_content(about: str, caption: str, at: datetime, sha256: str, zone: ZoneInfo) -> PhotoContent:
    """A picture of an item or a trial."""
    return PhotoContent(about=about, caption=caption, taken_at=local(at, zone), sha256=sha256)


def _item(
    item: Item, specimens: tuple[str, ...], deviations: list[Deviation], photos: list[Photo], zone: ZoneInfo
) -> ItemContent:
    stated = "" if item.stated_count is None else f", {item.stated_count} stated by the client"
    receipt = item.receipt
    return ItemContent(
        number=item.number,
        received_at=local(receipt.came_at, zone),
        parcel=f"{mid_sentence(receipt.get_outside_display())} outside, brought by {receipt.brought_by}",
        description=Stated(item.description, "laboratory"),
        client_name=Stated(item.client_name_for_it, "client"),
        material=Stated(item.material, "client"),
        colour=Stated(item.colour, "laboratory"),
        count=Stated(f"{item.counted} counted{stated}", "laboratory"),
        condition=Stated(item.condition, "laboratory"),
        specimens=specimens,
        deviations=tuple(_deviation(deviation, specimens, zone) for deviation in deviations),
        photos=tuple(
            photo_content(item.number, photo.caption or "as received", photo.at, photo.shown.sha256, zone)
            for photo in photos
        ),
    )


def _deviation(deviation: Deviation, specimens: tuple[str, ...], zone: ZoneInfo) -> DeviationContent:
    answer: DeviationAnswer | None = getattr(deviation, "answer", None)
    found_on = deviation.raised_at.astimezone(zone).date()
    if answer is None:
        return DeviationContent(deviation.text, found_on, "", "", "", None, specimens)
    return DeviationContent(
        text=deviation.text,
        found_on=found_on,
        decision=answer.decision,
        answered_by=answer.answered_by,
        answer=answer.answer,
        answered_on=answer.recorded_at.astimezone(zone).date(),
        specimens=specimens,
    )
