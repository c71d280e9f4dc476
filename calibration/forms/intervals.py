"""The form on which somebody decides on a calibration interval."""

from typing import Any

from django import forms

from calibration.models import Calibration

KEEP, PROPOSED, OTHER = "keep", "proposed", "other"


class IntervalForm(forms.Form):
    """Keep, take what is proposed, or another interval; always with a reason. Nothing is chosen beforehand."""

    choice = forms.ChoiceField(label="Decision", widget=forms.RadioSelect)
    interval = forms.IntegerField(
        label="Another interval", min_value=1, required=False, widget=forms.NumberInput(attrs={"class": "w-s"})
    )
    interval_unit = forms.ChoiceField(label="in", choices=Calibration.IntervalUnit.choices)
    reason = forms.CharField(
        label="Reason",
        max_length=300,
        widget=forms.Textarea(attrs={"rows": 3}),
        help_text="What speaks for it: the numbers above, how hard it is used, what a wrong reading would cost.",
    )

    def __init__(self, *args: Any, present: int, proposed: int, unit: str, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self._known = {KEEP: (present, unit), PROPOSED: (proposed, unit)}
        offered = [(KEEP, f"Keep {present} {unit}")]
        if proposed != present:
            offered.append((PROPOSED, f"Take what is proposed: {proposed} {unit}"))
        self.fields["choice"].choices = [*offered, (OTHER, "Another interval")]  # type: ignore[attr-defined]
        self.fields["interval_unit"].initial = unit

    def clean(self) -> dict[str, Any]:
        """Another interval needs its figure."""
        values = super().clean() or {}
        if values.get("choice") == OTHER and "interval" in values and not values["interval"]:
            self.add_error("interval", "Write the interval, a whole number.")
        return values

    def decided(self) -> dict[str, Any]:
        """What the action takes."""
        values = self.cleaned_data
        other = (values["interval"], values["interval_unit"])
        interval, unit = self._known.get(values["choice"], other)
        return {"interval": interval, "interval_unit": unit, "reason": values["reason"]}
