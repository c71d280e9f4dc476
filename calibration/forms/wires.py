"""Forms about the wire of a rig: fitting one, cleaning it, measuring its tip."""

from django import forms

from calibration.forms.instruments import words
from calibration.forms.readings import ReadingField


class FitWireForm(forms.Form):
    """A wire and why the one before it comes off."""

    code = words("Code of the new wire", 20, "w-s", help_text="As on its tag: W-07.")
    lot = words("Lot", 60, required=False)
    first_tip_mm = ReadingField(
        thousandths=True,
        label="Measure of the new tip, mm",
        required=False,
        help_text="Wear is compared with it; without it none is known.",
    )
    reason = words("Why the present wire comes off", 300, "w-full", required=False)
    seen_wire = forms.IntegerField(widget=forms.HiddenInput, required=False)

    def __init__(self, *args: object, present: bool, **kwargs: object) -> None:
        super().__init__(*args, **kwargs)  # type: ignore[arg-type]  # handed on as they came
        if not present:
            self.fields["reason"].widget = forms.HiddenInput()


class CleanForm(forms.Form):
    """The wire was cleaned."""

    note = words("Note", 300, "w-full", required=False, help_text="How, and what was seen: crack, scale, bend.")


class MeasureForm(forms.Form):
    """A measure of the tip."""

    tip_mm = ReadingField(
        thousandths=True, label="Measure of the tip, mm", help_text="At the place of the first measure, wire cold."
    )
    note = words("Note", 300, "w-full", required=False)
