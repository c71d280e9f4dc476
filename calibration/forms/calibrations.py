"""Forms for a calibration: what the certificate says, and what the laboratory decides on it."""

from typing import Any

from django import forms

from calibration.domain.units import units_of
from calibration.forms.instruments import InstrumentChoice, words
from calibration.forms.limits import refuse_impossible_numbers
from calibration.models import Calibration, CalibrationPoint, Instrument, InstrumentKind
from labsite.ledger.fields import DigitsFormField

MOST_POINTS = 60
ROWS_AT_ONCE = 6
_YES = {"yes": True, "no": False}
_DAY_WRONG = "Write the day as year-month-day, for example 2026-05-14."


def _day(label: str, **options: Any) -> forms.DateField:
    return forms.DateField(
        label=label,
        input_formats=["%Y-%m-%d"],
        widget=forms.DateInput(format="%Y-%m-%d", attrs={"type": "date", "class": "w-m"}),
        error_messages={"invalid": _DAY_WRONG},
        **options,
    )


def _yes_no(label: str, unknown: str, **options: Any) -> forms.TypedChoiceField:
    """Yes, no, or nobody knows; what is not said is None and never no."""
    choices = [("", unknown), ("yes", "yes"), ("no", "no")]
    return forms.TypedChoiceField(
        label=label, choices=choices, required=False, coerce=_YES.__getitem__, empty_value=None, **options
    )


class CalibrationForm(forms.Form):
    """One calibration with its certificate."""

    calibrated_on = _day("Calibrated on")
    interval = forms.IntegerField(
        label="Interval", min_value=1, widget=forms.NumberInput(attrs={"class": "w-s"}), initial=12
    )
    interval_unit = forms.ChoiceField(label="in", choices=Calibration.IntervalUnit.choices)
    calibrated_by = words("Calibrated by", 160, "w-l", help_text="The calibration laboratory.")
    accreditation_number = words("Its accreditation number", 60, required=False)
    certificate_number = words("Certificate number", 80, required=False)
    certificate = forms.FileField(
        label="Certificate file",
        required=False,
        max_length=255,
        help_text="PDF, JPEG or PNG, up to 20 MB. It is kept byte for byte.",
    )
    issued_on = _day("Issued on", required=False)
    received_on = _day("Received on", required=False)
    route = forms.ChoiceField(
        label="Route to the SI",
        choices=[("", "not said"), *Calibration.Route.choices],
        required=False,
        help_text="The routes of ILAC-P10; the last two need evidence.",
    )
    route_evidence = words(
        "Evidence for the route",
        300,
        "w-full",
        required=False,
        help_text="Where it is no accredited laboratory and no national institute: procedure, competence, uncertainty.",
    )
    in_scope = _yes_no("Quantity and range in scope", "nobody has looked")
    serial_on_certificate = words(
        "Serial number on the certificate", 120, required=False, help_text="As printed there, not from the instrument."
    )
    adjusted = _yes_no("Adjusted", "not said")
    chain_with = InstrumentChoice(
        Instrument.objects.none(),
        label="Calibrated with indicator",
        required=False,
        empty_label="alone",
        help_text="As one chain: the points then speak for both.",
    )
    standard = InstrumentChoice(
        Instrument.objects.none(),
        label="Our own reference",
        required=False,
        empty_label="none",
        help_text="For a calibration in house.",
    )
    remarks = words(
        "Restriction of use", 200, "w-full", required=False, help_text="Prints on the label: only up to 960 °C."
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        everything = Instrument.objects.order_by("code")
        self.fields["standard"].queryset = everything  # type: ignore[attr-defined]  # a ModelChoiceField
        indicators = everything.filter(kind=InstrumentKind.INDICATOR)
        self.fields["chain_with"].queryset = indicators  # type: ignore[attr-defined]  # the same


class PointForm(forms.Form):
    """One compared point; a row with nothing in it is no point."""

    kind = forms.ChoiceField(label="As found or as left", choices=CalibrationPoint.Kind.choices)
    reference = DigitsFormField(label="Reference", required=False)
    indication = DigitsFormField(label="Indication", required=False)
    unit = forms.ChoiceField(
        label="Unit",
        required=False,
        error_messages={"invalid_choice": "“%(value)s” is none of the units this instrument measures in."},
    )
    expanded_uncertainty = DigitsFormField(label="U", required=False)
    coverage_factor = DigitsFormField(label="k", required=False)
    coverage_probability = DigitsFormField(label="Probability", required=False)

    def __init__(self, *args: Any, kind: str = "", as_read: frozenset[str] = frozenset(), **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["unit"].choices = [("", ""), *((one, one) for one in units_of(kind))]  # type: ignore[attr-defined]
        row = f"row {int(str(self.prefix).rpartition('-')[2]) + 1}" if str(self.prefix)[-1:].isdigit() else "new row"
        for field in self.fields.values():
            field.widget.attrs["aria-label"] = f"{field.label}, {row}"
            if isinstance(field, DigitsFormField):
                field.as_read = as_read

    def clean(self) -> dict[str, Any]:
        """A point needs its reference, its indication and their unit."""
        values = super().clean() or {}
        names = ("reference", "indication", "unit", "expanded_uncertainty", "coverage_factor", "coverage_probability")
        typed = [name for name in names if str(self.data.get(self.add_prefix(name), "")).strip()]
        for name in ("reference", "indication", "unit"):
            if typed and name not in typed:
                self.add_error(
                    name, f"{self.fields[name].label} is missing: a point has reference, indication and unit."
                )
        if values.get("expanded_uncertainty") is not None and values["expanded_uncertainty"] < 0:
            self.add_error("expanded_uncertainty", "An uncertainty is not below zero.")
        if values.get("coverage_factor") is not None and values["coverage_factor"] <= 0:
            self.add_error("coverage_factor", "A coverage factor is above zero.")
        share = values.get("coverage_probability")
        if share is not None and not 0 < share < 1:
            self.add_error("coverage_probability", "Write it as a share, 0.95 or 0.9545.")
        refuse_impossible_numbers(self, values, set(names) - {"unit"})
        return values


_PointRows = forms.formset_factory(PointForm, extra=ROWS_AT_ONCE, max_num=MOST_POINTS, absolute_max=MOST_POINTS)


class PointRows(_PointRows):  # type: ignore[misc,valid-type]  # made by a factory
    """The rows of points; more of them on request, what was typed stays."""

    def typed(self) -> list[dict[str, Any]]:
        """The points that were filled in."""
        return [form.cleaned_data for form in self.forms if form.cleaned_data.get("reference") is not None]


def typed_forms(typed: dict[str, str], kind: str, *, more_rows: int = 0) -> tuple[CalibrationForm, PointRows]:
    """The same two forms with what was typed, unjudged, and so many empty rows more."""
    bound = PointRows(typed, prefix="points")
    initial = [{name: typed.get(row.add_prefix(name), "") for name in row.fields} for row in bound.forms]
    rows = PointRows(initial=initial, prefix="points", form_kwargs={"kind": kind})
    rows.extra = min(more_rows, MOST_POINTS - len(initial))
    return CalibrationForm(initial=typed), rows


class DecisionForm(forms.Form):
    """What the laboratory decides on a calibration."""

    decision = forms.ChoiceField(
        label="Decision",
        choices=[
            (Calibration.Decision.ACCEPTED.value, "Accept the figures: the instrument may be used"),
            (Calibration.Decision.REJECTED.value, "Reject: the instrument must not be used"),
            (Calibration.Decision.MISTAKEN.value, "Strike out: it was entered by mistake and counts for nothing"),
        ],
        widget=forms.RadioSelect,
    )
    reason = forms.CharField(
        label="Reason",
        max_length=300,
        required=False,
        widget=forms.Textarea(attrs={"rows": 3}),
        help_text="Needed unless you accept with every check in order. What the figures were compared with, say.",
    )
    shown_checks = forms.CharField(max_length=64, required=False, widget=forms.HiddenInput)
