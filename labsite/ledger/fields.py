"""Model and form fields for what people type: numbers that keep their digits."""

import re
import unicodedata
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from django import forms
from django.core.exceptions import ValidationError
from django.db import models

_PLAIN = re.compile(r"[+-]?\d+([.,]\d+)?", re.ASCII)
_GROUPED = re.compile(r"[+-]?[1-9]\d{0,2}[.,]\d{3}", re.ASCII)

TURNS = frozenset("\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")
"""Characters that turn the reading direction of what follows; names in right-to-left script do not need them."""
BREAKS = ("Cc", "Zl", "Zp")
"""Categories of characters that break a line or control a device; no database keeps all of them."""


def one_line(text: str) -> str:
    """Text on one line: breaks and control characters become a space, half a character “�”, words apart by one space.

    Half a character is what a script leaves that cuts a text in the middle of one beyond the first 65,536.
    """
    whole = text.encode("utf-16", "surrogatepass").decode("utf-16", "replace")
    plain = "".join(" " if unicodedata.category(one) in BREAKS else one for one in whole if one not in TURNS)
    return " ".join(plain.split())


def typed_decimal(text: str, *, thousandths: bool = False) -> Decimal:
    """Read a number a person typed, keeping its digits: “3.0” stays 3.0, “23,5” is 23.5.

    Raises ValueError with a sentence for anything else, and for “1.234”, which may be a thousand or a fraction; where
    `thousandths` are what is read off the instrument it is a fraction.
    """
    squeezed = text.strip().replace("\u2212", "-")
    if not _PLAIN.fullmatch(squeezed):
        raise ValueError(
            f"“{text}” is not a number. Write one decimal mark and the digits only, for example 1.5 or 1.50."
        )
    if _GROUPED.fullmatch(squeezed) and not thousandths:
        whole = squeezed.replace(".", "").replace(",", "")
        raise ValueError(
            f"“{text}” can be read in two ways. Write {whole} without a mark, "
            f"or {squeezed.replace(',', '.')}0 with one more digit if it is a fraction."
        )
    return Decimal(squeezed.replace(",", "."))


if TYPE_CHECKING:
    _TextField = models.CharField[Any, Any]
else:
    _TextField = models.CharField


class DigitsField(_TextField):
    """A column that keeps a Decimal exactly as typed, trailing zeros included."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        kwargs.setdefault("max_length", 30)
        super().__init__(*args, **kwargs)

    def from_db_value(self, value: str | None, *_: Any) -> Decimal | None:
        """Text from the database to Decimal."""
        return None if value is None or value == "" else Decimal(value)

    def to_python(self, value: Any) -> Decimal | None:
        """Anything a caller may hand over to Decimal."""
        if value is None or value == "" or isinstance(value, Decimal):
            return None if value == "" else value
        return Decimal(str(value))

    def get_prep_value(self, value: Any) -> str | None:
        """Decimal to text, never in exponent form."""
        return None if value is None or value == "" else format(Decimal(str(value)), "f")


class DigitsFormField(forms.CharField):
    """A text box for a number; comma or point, digits kept, two-way numbers asked about."""

    def __init__(
        self, *, unit: str = "", low: Decimal | None = None, high: Decimal | None = None, **kwargs: Any
    ) -> None:
        self.unit, self.low, self.high = unit, low, high
        self.as_read: frozenset[str] = frozenset()
        """Figures that came from a file as they are written here: “33.098” of them is not asked about."""
        kwargs.setdefault(
            "widget", forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off", "class": "w-s"})
        )
        kwargs.setdefault("max_length", 30)
        super().__init__(**kwargs)

    def clean(self, value: Any) -> Decimal | None:
        """Typed text to Decimal, or a sentence."""
        text = super().clean(value)
        if text == "":
            return None
        try:
            number = typed_decimal(text, thousandths=text.strip() in self.as_read)
        except ValueError as error:
            raise ValidationError(str(error)) from None
        if (self.low is not None and number < self.low) or (self.high is not None and number > self.high):
            raise ValidationError(f"{text} {self.unit} is outside what can be meant here ({self.low} to {self.high}).")
        return number
