"""The form by which an overdue instrument may be used for some days."""

from django import forms


class PermitForm(forms.Form):
    """Until when, and why."""

    until_on = forms.DateField(
        label="Until the end of",
        input_formats=["%Y-%m-%d"],
        widget=forms.DateInput(format="%Y-%m-%d", attrs={"type": "date", "class": "w-m"}),
        error_messages={"invalid": "Write the day as year-month-day, for example 2026-05-14."},
    )
    reason = forms.CharField(
        label="Reason",
        max_length=300,
        widget=forms.Textarea(attrs={"rows": 3}),
        help_text="Every trial with it says so, and every certificate prints it.",
    )
