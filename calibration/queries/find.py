"""Where the number or code of an instrument or a rig leads."""

from django.urls import reverse

from calibration.models import Instrument, Rig


def instrument_called(text: str) -> Instrument | None:
    """The instrument with this number or code (“TC-05”, any case, with or without its hyphen), or None."""
    wanted = _squeezed(text)
    if not wanted:
        return None
    found = Instrument.objects.filter(number=wanted).first()
    if found is None:
        named = next((row for row in Instrument.objects.only("code") if _squeezed(row.code) == wanted), None)
        found = None if named is None else Instrument.objects.get(pk=named.pk)
    return found


def instrument_address(text: str) -> str | None:
    """The page of the instrument with this number or code, or None."""
    found = instrument_called(text)
    return None if found is None else reverse("calibration:instrument", args=[found.number])


def serial_address(text: str) -> str | None:
    """The page of the one instrument with this serial number, or None; two with the same lead nowhere."""
    wanted = _squeezed(text)
    rows = Instrument.objects.exclude(serial_number="").values_list("number", "serial_number")
    found = [number for number, serial in rows if wanted and _squeezed(serial) == wanted]
    return reverse("calibration:instrument", args=found) if len(found) == 1 else None


def rig_address(text: str) -> str | None:
    """The page of the rig with this code (“GW-1”, any case, with or without its hyphen), or None."""
    wanted = _squeezed(text)
    found = next((code for code in Rig.objects.values_list("code", flat=True) if _squeezed(code) == wanted), None)
    return None if found is None or not wanted else reverse("calibration:rig", args=[found])


def _squeezed(text: str) -> str:
    return "".join(character for character in text.casefold() if character.isalnum())
