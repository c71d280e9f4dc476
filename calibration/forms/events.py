"""Forms about what happens to an instrument."""

from typing import Any

from django import forms

from calibration.actions.events import KEEPERS_KINDS
from calibration.forms.instruments import PlaceChoice, PlacedForm, words
from calibration.models import InstrumentEvent

Kind = InstrumentEvent.Kind
AT_ONCE = (Kind.DAMAGED, Kind.DOUBTED, Kind.LOST, Kind.MOVED)
"""The reasons that are keys at the bench."""
_DAY_WRONG = "Write the day as year-month-day, for example 2026-05-14."


class EventForm(PlacedForm):
    """What happened to an instrument; what only the keeper records is offered to the keeper only."""

    kind = forms.ChoiceField(label="What happened", choices=Kind.choices, widget=forms.RadioSelect)
    happened_on = forms.DateField(
        label="On",
        widget=forms.DateInput(attrs={"type": "date"}),
        input_formats=["%Y-%m-%d"],
        error_messages={"invalid": _DAY_WRONG},
    )
    text = forms.CharField(
        label="What was seen or done", max_length=300, widget=forms.Textarea(attrs={"rows": 3}), strip=True
    )
    place = PlaceChoice()
    file = forms.FileField(label="Paper", required=False, help_text="A repair's report: PDF, JPEG or PNG, up to 20 MB.")

    def __init__(self, *args: Any, keeper: bool, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        offered = [(kind.value, kind.label) for kind in Kind if keeper or kind not in KEEPERS_KINDS]
        self.fields["kind"].choices = offered  # type: ignore[attr-defined]  # a ChoiceField
        self.fields["place"].label = "Where it is now"


class OutAtOnceForm(PlacedForm):
    """What may be said beside the key that takes an instrument out of service; one for each instrument on the page."""

    text = words("What was seen", 300, "w-full", required=False)
    place = PlaceChoice()

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["place"].label = "Where it is now"
