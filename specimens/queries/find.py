"""Where a number of an order, item or specimen leads, and the code of a chamber."""

from django.urls import reverse

from labsite.ledger.models import Place
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


def chamber_address(text: str) -> str | None:
    """The page of the conditioning chamber with this code (“CH-2”, any case, with or without its hyphen), or None."""
    wanted = _squeezed(text)
    codes = Place.objects.filter(kind=Place.Kind.CHAMBER).values_list("code", flat=True)
    found = next((code for code in codes if _squeezed(code) == wanted), None)
    return None if found is None or not wanted else reverse("specimens:chamber", args=[found])


def _squeezed(text: str) -> str:
    return "".join(character for character in text.casefold() if character.isalnum())
