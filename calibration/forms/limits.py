"""Forms for what is permitted of an instrument."""

from collections.abc import Iterable
from decimal import Decimal
from typing import Any

from django import forms

from calibration.domain.conformity import RULES, ErrorLimit
from calibration.domain.decisions import ALL_RULES, GUARD_FACTORS
from calibration.domain.figures import digits, number_fault
from calibration.domain.units import units_of
from calibration.forms.instruments import words
from labsite.ledger.fields import DigitsFormField
from labsite.ledger.wording import mid_sentence

_RULE_CHOICES = [(rule.key, f"{rule.title}: {rule.note}") for rule in ALL_RULES if rule.key in RULES]
_PERCENT = Decimal(100)


def refuse_impossible_numbers(form: forms.Form, values: dict[str, Any], names: Iterable[str]) -> None:
    """Add an error for each number with more digits than can be computed with exactly."""
    for name in names:
        fault = number_fault(values[name]) if values.get(name) is not None else None
        if fault is not None:
            form.add_error(name, f"{form.fields[name].label}: {fault}.")


class LimitForm(forms.Form):
    """The largest error permitted in one unit, by which rule it is judged, and where that comes from."""

    unit = forms.ChoiceField(label="Of readings in")
    absolute = DigitsFormField(label="Permitted, fixed", required=False, help_text="In K for readings in °C.")
    relative_percent = DigitsFormField(
        label="Permitted, % of the value", required=False, help_text="The larger of both holds where both are given."
    )
    low = DigitsFormField(label="Used from", required=False)
    high = DigitsFormField(
        label="Used up to", required=False, help_text="The limit holds there, and calibrations are to cover it."
    )
    decision_rule = forms.ChoiceField(
        label="Decision rule", choices=_RULE_CHOICES, widget=forms.RadioSelect, initial=RULES[0]
    )
    guard_factor = DigitsFormField(
        label="Factor r of the guard band",
        required=False,
        help_text="; ".join(f"{digits(one.factor)}: {mid_sentence(one.title)}" for one in GUARD_FACTORS if one.factor),
    )
    drift_allowance = DigitsFormField(
        label="Drift allowance",
        required=False,
        help_text="How far the error may wander until the next calibration; it widens a correction’s uncertainty.",
    )
    source = words("Source", 200, "w-full", help_text="The standard, the maker’s data sheet, your own decision.")

    def __init__(self, *args: Any, kind: str, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["unit"].choices = [(unit, unit) for unit in units_of(kind)]  # type: ignore[attr-defined]

    def clean(self) -> dict[str, Any]:
        """What the action takes: the percentage as a share."""
        values = super().clean() or {}
        refuse_impossible_numbers(
            self, values, ("absolute", "relative_percent", "low", "high", "guard_factor", "drift_allowance")
        )
        return values

    def stated(self) -> dict[str, Any]:
        """The values by the names the action knows."""
        values = dict(self.cleaned_data)
        percent = values.pop("relative_percent")
        return values | {"relative": None if percent is None else percent / _PERCENT}


def offered(limit: ErrorLimit, rule: str = RULES[0]) -> dict[str, str]:
    """What the form begins with for a limit that is worth offering or that holds now."""
    figures = {
        "absolute": limit.absolute,
        "relative_percent": None if limit.relative is None else limit.relative * _PERCENT,
        "low": limit.low,
        "high": limit.high,
    }
    texts = {name: digits(value) for name, value in figures.items() if value is not None}
    return texts | {"unit": limit.unit, "source": limit.source, "decision_rule": rule}


class EndLimitForm(forms.Form):
    """Why nothing is stated as permitted any more."""

    reason = words("Reason", 200, "w-full")
