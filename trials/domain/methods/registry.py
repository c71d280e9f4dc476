"""The methods this program can judge: one line a method, one entry an edition, key "<slug>@<edition>"."""

from collections.abc import Mapping
from types import MappingProxyType
from typing import Final

from trials.domain.methods import (
    ball_pressure,
    glow_wire_end_product,
    glow_wire_flammability_index,
    glow_wire_ignition_temperature,
    horizontal_flame,
    needle_flame,
    tracking,
    vertical_flame,
)
from trials.domain.methods.base import MethodEdition

EDITIONS: Final[Mapping[str, MethodEdition]] = MappingProxyType(
    {
        edition.key: edition
        for edition in (
            *glow_wire_end_product.EDITIONS,  # one such line a method
            *glow_wire_flammability_index.EDITIONS,
            *glow_wire_ignition_temperature.EDITIONS,
            *ball_pressure.EDITIONS,
            *needle_flame.EDITIONS,
            *horizontal_flame.EDITIONS,
            *vertical_flame.EDITIONS,
            *tracking.EDITIONS,
        )
    }
)


class UnknownMethodError(LookupError):
    """A key that names no method edition; the message is one sentence that lists those there are."""


def method_edition(key: str) -> MethodEdition:
    """Return the edition called `key` ("glow-wire-end-product@2021"); UnknownMethodError if there is none."""
    if key not in EDITIONS:
        raise UnknownMethodError(f"There is no method edition {key!r}; known are {', '.join(sorted(EDITIONS))}.")
    return EDITIONS[key]
