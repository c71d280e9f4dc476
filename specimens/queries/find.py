"""Where a number of an order, item or specimen leads."""

from django.urls import reverse

from specimens.models import Item, Order, Specimen


def order_address(digits: str) -> str | None:
    """The page of the order with this number, or None."""
    return reverse("specimens:order", args=[digits]) if Order.objects.filter(number=digits).exists() else None


def piece_address(digits: str) -> str | None:
    """The page of the item or specimen with this number, or None."""
    if Specimen.objects.filter(number=digits).exists():
        return reverse("specimens:specimen", args=[digits])
    if Item.objects.filter(number=digits).exists():
        return reverse("specimens:item", args=[digits])
    return None
