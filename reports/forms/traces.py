"""Forms of the reverse trace: which window, why, and what is decided about its lines."""

from datetime import date
from typing import Any

from django import forms

from reports.models import TraceDecision

_DAY = {"type": "date"}
FEWEST_YEARS, MOST_YEARS = date(1990, 1, 1), date(2199, 12, 31)


class WindowForm(forms.Form):
    """First and last day of a window somebody chose; both or neither."""

    from_on = forms.DateField(label="From", required=False, widget=forms.DateInput(attrs=_DAY, format="%Y-%m-%d"))
    until_on = forms.DateField(label="To", required=False, widget=forms.DateInput(attrs=_DAY, format="%Y-%m-%d"))
    calibration = forms.IntegerField(required=False, min_value=1, max_value=2**62, widget=forms.HiddenInput)

    def clean(self) -> dict[str, Any]:
        """A window has two ends, in years a laboratory knows."""
        found = super().clean() or {}
        first, last = found.get("from_on"), found.get("until_on")
        if self.errors:
            return found
        if (first is None) != (last is None):
            missing = "until_on" if last is None else "from_on"
            self.add_error(missing, "Give both days, or neither for the window that the records say.")
        for name, day in (("from_on", first), ("until_on", last)):
            if day is not None and not FEWEST_YEARS <= day <= MOST_YEARS:
                self.add_error(name, "Look at the year again.")
        return found

    @property
    def asked(self) -> tuple[date, date] | None:
        """The days of a window that was asked for."""
        found = getattr(self, "cleaned_data", {})
        first, last = found.get("from_on"), found.get("until_on")
        return (first, last) if first and last and not self.errors else None


class OpenForm(WindowForm):
    """The case: the same window, and why the instrument is in doubt."""

    reason = forms.CharField(
        label="Why it is in doubt",
        max_length=300,
        widget=forms.Textarea(attrs={"rows": 2}),
        error_messages={"required": "Write why the instrument is in doubt."},
    )


class DecideForm(forms.Form):
    """What is done about one line, and why."""

    act = forms.ChoiceField(
        label="What is done",
        choices=TraceDecision.Act.choices,
        widget=forms.RadioSelect,
        error_messages={"required": "Choose what is done."},
    )
    note = forms.CharField(
        label="Reason", max_length=300, required=False, widget=forms.Textarea(attrs={"rows": 3}),
        help_text="Needed for everything but nothing on an unchanged line.",
    )  # fmt: skip


class UnchangedForm(forms.Form):
    """Which unchanged lines are decided together, and a note for all of them."""

    positions = forms.TypedMultipleChoiceField(coerce=int, error_messages={"required": "Choose the lines."})
    note = forms.CharField(label="Note for all of them", max_length=300, required=False)

    def __init__(self, places: list[int], *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["positions"].choices = [(str(one), str(one)) for one in places]  # type: ignore[attr-defined]


class CloseForm(forms.Form):
    """What came of the case."""

    note = forms.CharField(
        label="What came of it",
        max_length=300,
        widget=forms.Textarea(attrs={"rows": 3}),
        error_messages={"required": "Write what came of it."},
    )
