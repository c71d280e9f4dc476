"""The method editions on offer; the methods live in a higher app, which settings name."""

from collections.abc import Iterable, Mapping
from datetime import datetime
from functools import cache
from typing import Any

from django.conf import settings
from django.utils.module_loading import import_string

from labsite.ledger.refusals import Refused
from specimens.domain.offers import GuideOffer, MethodOffer
from specimens.models import OrderLine


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


def guide_offer(key: str) -> GuideOffer:
    """What a row of the product-standard guide fills into a line; refused when there is no such row."""
    offer: GuideOffer = import_string(settings.PRODUCT_GUIDE)(key)
    return offer


def agreed_words(method_key: str, agreed: Mapping[str, Any]) -> list[str]:
    """Figures agreed in place of an edition's, in words; refused when the edition does not know or cannot take them."""
    words: list[str] = import_string(settings.AGREED_FIGURES)(method_key, agreed) if agreed else []
    return words


def capability_warnings(lines: Iterable[OrderLine], at: datetime) -> dict[int, list[str]]:
    """By line: what people or rigs are missing at `at` to do it, in sentences; lines that lack nothing are left out."""
    warnings: dict[int, list[str]] = import_string(settings.CAPABILITY_WARNINGS)(lines, at)
    return warnings
