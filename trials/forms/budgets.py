"""The form for a version of an uncertainty budget: its rows, and what holds for all of them."""

from collections.abc import Mapping, Sequence
from typing import Any, Final

from django import forms
from django.core.exceptions import ValidationError

from calibration.domain.budget_file import MOST_ROWS
from calibration.domain.budgets import FORMULAS, SHAPES
from calibration.domain.contributions import DISTRIBUTIONS, LONGEST_NAME, WORDS
from calibration.domain.coverage import LEVELS, USUAL
from calibration.domain.figures import digits
from labsite.ledger.fields import DigitsFormField, typed_decimal
from specimens.forms.fields import LineField, RemarksField

ROWS_AT_ONCE: Final = 4
NUMBERS: Final = ("half_width", "coverage_factor", "sensitivity", "degrees")
_KINDS: Final = {
    "normal": "normal: U and k", "rectangular": "rectangular: ± a", "triangular": "triangular: ± a",
    "arcsine": "U-shaped: ± a", "resolution": "resolution: one step", "type A": "readings (type A)",
}  # fmt: skip
_SHAPES: Final = {
    "t": "normal or t: k by level and degrees of freedom",
    "rectangle": "one rectangular row governs",
    "trapezoid": "two rectangular rows govern",
}


class BudgetForm(forms.Form):
    """What holds for the whole budget."""

    version_seen = forms.IntegerField(widget=forms.HiddenInput, min_value=0, max_value=10**6)
    unit = LineField(label="Unit of the figure", max_length=12, width="w-s")
    level = forms.ChoiceField(label="Coverage level", choices=[(one, one) for one in LEVELS], initial=USUAL)
    shape = forms.ChoiceField(label="Taken for", choices=[(one, _SHAPES[one]) for one in SHAPES], initial="t")
    reason = RemarksField(label="Why", max_length=300, rows=2)


class ReadingsField(forms.CharField):
    """Several numbers in one box, apart by blanks or semicolons; each is kept with its digits."""

    def clean(self, value: Any) -> list[str]:
        """Typed text to the texts of its numbers, or a sentence."""
        words = str(super().clean(value) or "").replace(";", " ").split()
        try:
            return [digits(typed_decimal(word, thousandths=True)) for word in words]
        except ValueError as error:
            raise ValidationError(str(error)) from None


class RowForm(forms.Form):
    """One contribution; a row with nothing in it is none."""

    name = LineField(label="What contributes", max_length=LONGEST_NAME, required=False, width="w-m")
    distribution = forms.ChoiceField(
        label="Distribution", choices=[("", ""), *((one, _KINDS[one]) for one in DISTRIBUTIONS)], required=False
    )
    half_width = DigitsFormField(label="a, U or step", required=False)
    coverage_factor = DigitsFormField(label="k", required=False)
    readings = ReadingsField(
        label="Readings",
        required=False,
        max_length=2000,
        widget=forms.TextInput(attrs={"autocomplete": "off", "class": "w-s"}),
    )
    sensitivity = DigitsFormField(label="Sensitivity c", required=False)
    degrees = DigitsFormField(label="Degrees of freedom ν", required=False)

    def __init__(self, *args: Any, as_read: frozenset[str] = frozenset(), **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        row = f"row {int(str(self.prefix).rpartition('-')[2]) + 1}" if str(self.prefix)[-1:].isdigit() else "new row"
        for field in self.fields.values():
            field.widget.attrs["aria-label"] = f"{field.label}, {row}"
            if isinstance(field, DigitsFormField):
                field.as_read = as_read

    def row(self) -> dict[str, Any]:
        """The row as it is kept: texts, what was left empty left out; empty where nothing was typed."""
        found: dict[str, Any] = {name: self.cleaned_data.get(name) for name in WORDS if name in self.fields}
        return {name: one if name not in NUMBERS else digits(one) for name, one in found.items() if _said(one)}


def _said(one: object) -> bool:
    return one is not None and one not in ("", [])


_Rows = forms.formset_factory(RowForm, extra=ROWS_AT_ONCE, max_num=MOST_ROWS, absolute_max=MOST_ROWS)


class BudgetRows(_Rows):  # type: ignore[misc,valid-type]  # made by a factory
    """The rows of a budget; more of them on request, what was typed stays."""

    def typed(self) -> list[dict[str, Any]]:
        """The rows in which something was typed."""
        return [row for form in self.forms if (row := form.row())]


def shown_rows(rows: Sequence[Mapping[str, Any]]) -> BudgetRows:
    """Boxes with the rows of a version, and a few empty ones."""
    initial = [{**row, "readings": "; ".join(row.get("readings", []))} for row in rows]
    return BudgetRows(prefix="rows", initial=initial)


def more_rows(data: Mapping[str, str]) -> BudgetRows:
    """Boxes with what was typed, unjudged, and a few more empty ones."""
    bound = BudgetRows(data, prefix="rows")
    initial = [{name: data.get(form.add_prefix(name), "") for name in form.fields} for form in bound.forms]
    rows = BudgetRows(prefix="rows", initial=initial)
    rows.extra = min(ROWS_AT_ONCE, MOST_ROWS - len(initial))
    return rows


def shape_words() -> list[tuple[str, str]]:
    """What a budget may be taken for, each with the formula of its factor."""
    return [(_SHAPES[one], FORMULAS[one]) for one in SHAPES]


def distribution_words(kind: str) -> str:
    """A distribution in words."""
    return _KINDS.get(kind, kind).partition(":")[0]
