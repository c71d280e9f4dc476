"""What the label of an instrument says."""

from datetime import date

from calibration.domain.status import shown
from calibration.rendering.labels import Label, label_pdf
from labsite.ledger.numbering import grouped
from labsite.ledger.wording import capitalised


def instrument_label(
    *,
    number: str,
    code: str,
    usable: bool,
    clause: str,
    calibrated_on: date | None,
    due_on: date | None,
    restriction: str,
) -> bytes:
    """The label's PDF: code, number with check digit, calibrated and due on, restriction; or that it must not be used.

    The dates are those of the accepted calibration the answer rests on; without one the reason stands in their place.
    """
    lines = ["-".join(grouped(number))]
    if usable and calibrated_on and due_on:
        lines += [f"Calibrated on {shown(calibrated_on)}", f"Due on {shown(due_on)}"]
        lines += [restriction] if restriction else []
    else:
        lines += ["Not to be used", capitalised(clause)]
    return label_pdf([Label(number, code, tuple(lines))])
