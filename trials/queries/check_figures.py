"""What the method editions say of the checks between calibrations; the checks live in a lower app."""

from calibration.domain.check_figures import CheckFigures, merged_figures
from trials.domain.methods.base import MethodEdition
from trials.domain.methods.registry import EDITIONS
from trials.queries.methods import edition_of
from trials.queries.sheets import newest_sheets

KINDS = {"foil_check_c": "foil", "confirm_s": "flame"}
"""The figure that a kind of check is set against, by its key in the methods' statements."""


def check_figures() -> tuple[CheckFigures, ...]:
    """Reference and limits of the silver foil and the copper block in every edition, the laboratory's own; one query.

    Equal figures of several editions are one that names all of them.
    """
    keys = [key for key, edition in EDITIONS.items() if any(one.key in KINDS for one in edition.parameters)]
    sheets = newest_sheets(keys)
    editions = [edition_of(key, sheets[key].changes if key in sheets else {}) for key in keys]
    return merged_figures(figures for edition in editions for figures in _figures(edition))


def _figures(edition: MethodEdition) -> list[CheckFigures]:
    found = []
    for parameter in edition.parameters:
        if parameter.key in KINDS:
            reference = edition.number(parameter.key)
            low, high = parameter.bounds
            found.append(
                CheckFigures(
                    kind=KINDS[parameter.key],
                    rig_kind=edition.rig_kind,
                    reference=reference,
                    error_low=None if low is None else low - reference,
                    error_high=None if high is None else high - reference,
                    unit=parameter.unit,
                    source=edition.short_standard,
                )
            )
    return found
