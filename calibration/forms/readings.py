"""A box for a figure read off a gauge, which may resolve a thousandth."""

from decimal import Decimal
from typing import Any

from django import forms

from labsite.ledger.fields import typed_decimal


class ReadingField(forms.CharField):
    """A figure with its digits; where `thousandths` are read off, “1.002” is a fraction and no thousand."""

    def __init__(self, *, thousandths: bool, **options: Any) -> None:
        self.thousandths = thousandths
        widget = forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off", "class": "w-s"})
        super().__init__(max_length=30, widget=widget, **options)

    def clean(self, value: Any) -> Decimal | None:
        """Typed text to Decimal, or a sentence."""
        text = super().clean(value)
        try:
            return typed_decimal(text, thousandths=self.thousandths) if text else None
        except ValueError as wrong:
            raise forms.ValidationError(str(wrong)) from None
