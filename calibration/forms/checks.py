"""Forms for intermediate checks: one for each kind, the plan, and striking out."""

from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from django import forms

from calibration.actions.check_judging import CheckValues
from calibration.domain.checks import FOIL_REFERENCES, STANDARD_GRAVITY
from calibration.domain.units import UNITS, units_of
from calibration.forms.instruments import InstrumentChoice, words
from calibration.models import CheckKind, Instrument
from calibration.queries.check_subjects import UNIT_OF_KIND, Subject, comparable_instruments
from labsite.ledger.fields import DigitsFormField

MOST_MASSES, RUNS = 6, 3
_LONGEST = 12
_SMALLEST = Decimal("0.000001")
_GRAVITY = Decimal("9.76"), Decimal("9.84")


def number(label: str, **options: Any) -> DigitsFormField:
    """A number of at most twelve characters, so that everything computed from it fits its column."""
    return DigitsFormField(label=label, max_length=_LONGEST, **options)


def uncertainty(label: str = "U", **options: Any) -> DigitsFormField:
    """An expanded uncertainty."""
    return number(label, low=_SMALLEST, high=Decimal(1_000_000), **options)


def factor(**options: Any) -> DigitsFormField:
    """A coverage factor: 1 for a standard uncertainty, about 14 where one degree of freedom is left."""
    return number("k", low=Decimal(1), high=Decimal(14), **options)


class CheckForm(forms.Form):
    """What every check is asked; `asked` names the fields of its readings, in their order."""

    asked: tuple[str, ...] = ()

    checked_at = forms.DateTimeField(
        label="Made at",
        required=False,
        input_formats=["%Y-%m-%d %H:%M"],
        widget=forms.DateTimeInput(format="%Y-%m-%d %H:%M", attrs={"class": "w-m", "autocomplete": "off"}),
        help_text="Empty for now. Otherwise as 2026-11-25 10:22, laboratory time.",
        error_messages={"invalid": "This is not a moment. Write it as 2026-11-25 10:22, laboratory time."},
    )
    remarks = words("Remarks", 200, "w-full", required=False)

    def __init__(self, *args: Any, subject: Subject, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if "unit" in self.fields:
            one = subject.instrument
            units = UNITS if one is None else units_of(one.kind)
            self.fields["unit"].choices = [(unit, unit) for unit in units]  # type: ignore[attr-defined]  # a ChoiceField
        if "compared_with" in self.fields:
            self.fields["compared_with"].queryset = comparable_instruments(subject)  # type: ignore[attr-defined]  # the same

    @property
    def readings(self) -> list[forms.BoundField]:
        """The fields of the kind."""
        return [self[name] for name in self.asked]

    def values(self) -> CheckValues:
        """What was typed, for the action."""
        names = ("indication", "reference", "expanded_uncertainty", "coverage_factor")
        typed: dict[str, Any] = {name: self.cleaned_data.get(name) for name in names}
        return CheckValues(**typed, **self.of_kind())

    def of_kind(self) -> Mapping[str, Any]:
        """What only this kind asks."""
        return {"unit": self.cleaned_data.get("unit", "")}

    def acted(self) -> dict[str, Any]:
        """Everything the action takes."""
        kept = {name: self.cleaned_data.get(name) for name in ("checked_at", "compared_with")}
        return {"values": self.values(), "remarks": self.cleaned_data["remarks"], **kept}


def other_instrument(label: str, help_text: str, *, required: bool = False) -> InstrumentChoice:
    """Another instrument of ours."""
    empty = "choose one" if required else "none of ours"
    queryset = Instrument.objects.none()
    return InstrumentChoice(queryset, label=label, required=required, empty_label=empty, help_text=help_text)


class FoilForm(CheckForm):
    """A small foil of silver melts on the hot tip."""

    asked = ("indication", "foil_reference", "expanded_uncertainty", "coverage_factor")
    indication = number("Reading when the foil melted, in °C")
    foil_reference = forms.ChoiceField(
        label="Set against",
        choices=[(key, f"{value} °C, {named}") for key, (value, named) in FOIL_REFERENCES.items()],
        widget=forms.RadioSelect,
        help_text="The record says which. Neither makes it a calibration at a fixed point.",
    )
    expanded_uncertainty = uncertainty(required=False, help_text="Of the check, in K; only without limits in the plan.")
    coverage_factor = factor(required=False)

    def of_kind(self) -> Mapping[str, Any]:
        """The reference chosen."""
        return {"foil_reference": self.cleaned_data["foil_reference"]}


class FlameForm(CheckForm):
    """The copper block heats up in the flame."""

    asked = tuple(f"run_{each}" for each in range(1, RUNS + 1))
    run_1 = number("Run 1, in s")
    run_2 = number("Run 2, in s", required=False)
    run_3 = number("Run 3, in s", required=False)

    def of_kind(self) -> Mapping[str, Any]:
        """The runs that were made."""
        runs = [self.cleaned_data.get(name) for name in self.asked]
        return {"runs": tuple(run for run in runs if run is not None)}


class MassesForm(CheckForm):
    """Masses hung on the force gauge or set on it."""

    asked = ("gravity", "gravity_m_s2", "gravity_source", "compared_with", "expanded_uncertainty", "coverage_factor")
    gravity = forms.ChoiceField(
        label="g",
        choices=[("standard", f"standard, {STANDARD_GRAVITY} m/s²"), ("local", "our own, as written beside")],
        widget=forms.RadioSelect,
        initial="standard",
    )
    gravity_m_s2 = number("Our own g, in m/s²", required=False, low=_GRAVITY[0], high=_GRAVITY[1])
    gravity_source = words("Where our g comes from", 120, "w-l", required=False)
    compared_with = other_instrument(
        "Masses weighed on", "The balance, where the masses have no certificate of their own."
    )
    expanded_uncertainty = uncertainty(required=False, help_text="Of the check, in N; only without limits in the plan.")
    coverage_factor = factor(required=False)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for place in range(1, MOST_MASSES + 1):
            for name, label in ((f"mass_{place}", f"Mass {place}, in g"), (f"read_{place}", f"Reading {place}, in N")):
                self.fields[name] = number(label, required=False)
                self.fields[name].widget.attrs["aria-label"] = label

    @property
    def pairs(self) -> list[tuple[forms.BoundField, forms.BoundField]]:
        """A mass and its reading, row by row."""
        return [(self[f"mass_{place}"], self[f"read_{place}"]) for place in range(1, MOST_MASSES + 1)]

    def clean(self) -> dict[str, Any]:
        """A mass has its reading; the local g is written where it is chosen."""
        values = super().clean() or {}
        for place in range(1, MOST_MASSES + 1):
            mass, read = f"mass_{place}", f"read_{place}"
            given = [name for name in (mass, read) if values.get(name) is not None]
            if len(given) == 1 and not self.errors.keys() & {mass, read}:
                missing = read if given == [mass] else mass
                self.add_error(missing, f"{self.fields[missing].label} is missing: a row has both.")
            if values.get(mass) is not None and values[mass] <= 0:
                self.add_error(mass, "A mass is above zero.")
        if (
            values.get("gravity") == "local"
            and values.get("gravity_m_s2") is None
            and "gravity_m_s2" not in self.errors
        ):
            self.add_error("gravity_m_s2", "Write our own g, or choose the standard one.")
        return values

    def of_kind(self) -> Mapping[str, Any]:
        """The pairs that were filled in, and g."""
        typed = [(self.cleaned_data.get(mass.name), self.cleaned_data.get(read.name)) for mass, read in self.pairs]
        local = self.cleaned_data["gravity"] == "local"
        return {
            "masses": tuple((mass, read) for mass, read in typed if mass is not None and read is not None),
            "gravity_m_s2": self.cleaned_data.get("gravity_m_s2") if local else None,
            "gravity_source": self.cleaned_data["gravity_source"],
        }


class ComparisonForm(CheckForm):
    """Side by side with another instrument of ours."""

    asked = ("compared_with", "unit", "indication", "reference")
    compared_with = other_instrument(
        "Compared with", "It must be fit for use; its certificate corrects its reading.", required=True
    )
    unit = forms.ChoiceField(label="Unit")
    indication = number("This instrument read")
    reference = number("The other one read", help_text="As indicated; corrections are applied by the program.")


class AgreementForm(CheckForm):
    """Against a reference whose uncertainty is known: does the last certificate still hold?"""

    asked = ("unit", "reference", "expanded_uncertainty", "coverage_factor", "indication", "compared_with")
    unit = forms.ChoiceField(label="Unit")
    reference = number("Reference")
    expanded_uncertainty = uncertainty("U of the reference")
    coverage_factor = factor(help_text="Never assumed: as its certificate says.")
    indication = number("This instrument read", help_text="As indicated; its certificate's correction is applied.")
    compared_with = other_instrument("Reference measured with", "Where it is an instrument of ours.")


class OtherForm(CheckForm):
    """Another check with a reference and a reading."""

    asked = ("unit", "reference", "indication", "expanded_uncertainty", "coverage_factor", "compared_with")
    unit = forms.ChoiceField(label="Unit")
    reference = number("Reference")
    indication = number("Reading")
    expanded_uncertainty = uncertainty("U of the check", required=False, help_text="Only without limits in the plan.")
    coverage_factor = factor(required=False)
    compared_with = other_instrument("Reference measured with", "Where it is an instrument of ours.")


CHECK_FORMS: Mapping[CheckKind, type[CheckForm]] = {
    CheckKind.FOIL: FoilForm,
    CheckKind.FLAME: FlameForm,
    CheckKind.MASSES: MassesForm,
    CheckKind.COMPARISON: ComparisonForm,
    CheckKind.AGREEMENT: AgreementForm,
    CheckKind.OTHER: OtherForm,
}


class CheckPlanForm(forms.Form):
    """How and how often a check is made, and its limits."""

    every_days = forms.IntegerField(
        label="Every so many days",
        required=False,
        min_value=1,
        max_value=3660,
        widget=forms.NumberInput(attrs={"class": "w-s"}),
        help_text="Empty: before each use, without a date.",
    )
    unit = forms.ChoiceField(label="Unit")
    reference = number("Reference", required=False, help_text="What the reading is to be, where it is always the same.")
    error_low = number("Lowest error allowed", required=False, help_text="With its sign: -10.")
    error_high = number(
        "Highest error allowed",
        required=False,
        help_text="Without limits the permitted error of the instrument less U, or E_n, decides.",
    )
    procedure = words("How it is done", 300, "w-full", help_text="Or where that is written.")
    source = words("Where the figures come from", 200, "w-full")

    def __init__(self, *args: Any, subject: Subject, kind: CheckKind, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        one = subject.instrument
        only = UNIT_OF_KIND.get(kind)
        units = (only,) if only else UNITS if one is None else units_of(one.kind)
        self.fields["unit"].choices = [(unit, unit) for unit in units]  # type: ignore[attr-defined]  # a ChoiceField
        if kind == CheckKind.AGREEMENT:
            del self.fields["error_low"], self.fields["error_high"]


class ReasonForm(forms.Form):
    """Why something is struck out or ends."""

    reason = forms.CharField(label="Reason", max_length=300, widget=forms.Textarea(attrs={"rows": 3}))
