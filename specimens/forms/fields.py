"""Form fields of the counter: names on one line, remarks on several, days and moments in one way of writing only."""

import unicodedata
from datetime import date, datetime
from typing import Any

from django import forms

from labsite.ledger.fields import BREAKS, TURNS, one_line

_TOO_LONG = "This has %(show_value)s characters; %(limit_value)s fit here. Shorten it: nothing is cut off for you."


class TextField(forms.CharField):
    """Text with a length that is told and never cut by the browser in silence."""

    def __init__(self, *, max_length: int, **kwargs: Any) -> None:
        messages = {"max_length": _TOO_LONG, **kwargs.pop("error_messages", {})}
        super().__init__(max_length=max_length, error_messages=messages, **kwargs)

    def widget_attrs(self, widget: forms.Widget) -> dict[str, Any]:
        """Without `maxlength`: a browser would cut a pasted text without a word."""
        return {key: value for key, value in super().widget_attrs(widget).items() if key != "maxlength"}


class LineField(TextField):
    """A name or other text on one line: line breaks and control characters become a space."""

    def __init__(self, *, width: str = "w-l", **kwargs: Any) -> None:
        kwargs.setdefault("widget", forms.TextInput(attrs={"class": width, "autocomplete": "off", "dir": "auto"}))
        super().__init__(**kwargs)

    def to_python(self, value: Any) -> str:
        """One line, words apart by one space."""
        return "" if value is None else one_line(str(value))


class RemarksField(TextField):
    """Text that may have several lines."""

    def __init__(self, *, rows: int = 3, **kwargs: Any) -> None:
        super().__init__(widget=forms.Textarea(attrs={"rows": rows, "dir": "auto"}), **kwargs)

    def to_python(self, value: Any) -> str:
        """Line breaks are kept, other control characters are not."""
        text = "" if value is None else str(value).replace("\r\n", "\n").replace("\r", "\n")
        kept = (
            character
            for character in text
            if character not in TURNS and (character in "\n\t" or unicodedata.category(character) not in BREAKS)
        )
        return "".join(kept).strip()


FIRST_YEAR, LAST_YEAR = 1970, 2999
"""Years that a typed day may have."""


class DayField(forms.DateField):
    """A day, year first: no order of day and month is ever guessed."""

    def __init__(self, **kwargs: Any) -> None:
        kwargs.setdefault("widget", forms.DateInput(format="%Y-%m-%d", attrs={"type": "date", "class": "w-m"}))
        invalid = "This is not a day. Write year, month, day: 2026-11-25."
        super().__init__(input_formats=["%Y-%m-%d"], error_messages={"invalid": invalid}, **kwargs)

    def clean(self, value: Any) -> date | None:
        """A day within living memory and reach; calendars end where arithmetic with days does."""
        day: date | None = super().clean(value)
        if day is not None and not FIRST_YEAR <= day.year <= LAST_YEAR:
            raise forms.ValidationError(f"The year {day.year} cannot be meant; {FIRST_YEAR} to {LAST_YEAR} can.")
        return day


class MomentField(forms.DateTimeField):
    """A moment in laboratory time."""

    def __init__(self, **kwargs: Any) -> None:
        widget = forms.DateTimeInput(format="%Y-%m-%d %H:%M", attrs={"class": "w-m", "autocomplete": "off"})
        invalid = "This is not a moment. Write it as 2026-11-25 10:22, laboratory time."
        super().__init__(input_formats=["%Y-%m-%d %H:%M"], widget=widget, error_messages={"invalid": invalid}, **kwargs)

    def clean(self, value: Any) -> datetime | None:
        """A moment within living memory and reach."""
        moment: datetime | None = super().clean(value)
        if moment is not None and not FIRST_YEAR <= moment.year <= LAST_YEAR:
            raise forms.ValidationError(f"The year {moment.year} cannot be meant; {FIRST_YEAR} to {LAST_YEAR} can.")
        return moment


class CountField(forms.IntegerField):
    """A count of pieces."""

    def __init__(self, *, low: int, high: int, **kwargs: Any) -> None:
        sentence = f"Write a whole number from {low} to {high}."
        messages = {"invalid": sentence, "min_value": sentence, "max_value": sentence}
        messages |= kwargs.pop("error_messages", {})
        widget = forms.TextInput(attrs={"class": "w-s", "inputmode": "numeric", "autocomplete": "off"})
        super().__init__(min_value=low, max_value=high, widget=widget, error_messages=messages, **kwargs)
