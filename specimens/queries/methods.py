"""The method editions on offer; the methods live in a higher app, which settings name."""

from functools import cache

from django.conf import settings
from django.utils.module_loading import import_string

from labsite.ledger.refusals import Refused
from specimens.domain.offers import MethodOffer


@cache
def method_offers() -> dict[str, MethodOffer]:
    """All editions on offer by key."""
    catalogue: dict[str, MethodOffer] = import_string(settings.METHOD_CATALOGUE)()
    return catalogue


def method_offer(key: str) -> MethodOffer:
    """One edition; refused with a sentence when the program does not know it."""
    try:
        return method_offers()[key]
    except KeyError:
        raise Refused(f"“{key}” is not a method edition of this program.") from None
