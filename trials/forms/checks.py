"""The form of a check."""

from typing import Any

from django import forms

from specimens.forms.fields import RemarksField
from trials.models import Check


class CheckForm(forms.Form):
    """What the checker found, about exactly the verdicts that were on the page."""

    finding = forms.ChoiceField(
        label="Finding", choices=[(one.value, one.label) for one in Check.Finding], widget=forms.RadioSelect
    )
    remarks = RemarksField(label="Remarks", max_length=2000, required=False, rows=3)
    # One number for each trial: a line has up to 500 specimens, some of them tested at several places.
    seen_verdicts = forms.CharField(widget=forms.HiddenInput, max_length=40_000, required=False)

    def clean_seen_verdicts(self) -> list[int]:
        """The verdicts' numbers; anything else counts as another page."""
        text: Any = self.cleaned_data["seen_verdicts"]
        return [int(part) for part in text.split(",") if part.isascii() and part.isdigit() and len(part) < 18]
